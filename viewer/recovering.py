"""Keeps what is unsaved while the window is open, and quietly offers what an earlier one left."""

from __future__ import annotations

import time
from concurrent.futures import ThreadPoolExecutor

from PyQt6.QtCore import QObject, QTimer
from PyQt6.QtWidgets import QHBoxLayout, QLabel, QMenu, QPushButton, QSizePolicy, QWidget

from sitterlight.viewer.recovery import Recovery, Unsaved, left_unsaved

SOON = 400
"""Milliseconds from a change until it is kept; further changes meanwhile don't put it off."""


class Recovering(QObject):
    """Writes beside the window's own thread. `offer` is the strip that says what there is to bring back."""

    def __init__(self, window):
        super().__init__(window)
        self.window, self.model = window, window.model
        self.recovery = Recovery()
        self._ended = False
        self._writer = ThreadPoolExecutor(1, thread_name_prefix="keeping")
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(SOON)
        self._timer.timeout.connect(self.keep)
        self.offer = Offer(self.bring_back)
        window.stages.layout().insertWidget(0, self.offer)
        self.model.on("state", self._changed)
        self.model.on("file", self._changed)
        if self.model.changed:  # while the window was being made
            self._changed()

    def look(self) -> None:
        """Offer what was left unsaved."""
        self.offer.show_left(left_unsaved())

    def _changed(self) -> None:
        if not self._timer.isActive() and not self._ended:
            self._timer.start()

    def keep(self) -> None:
        """Have the sitting and the one beside it written as they stand, or taken away where they are saved."""
        model = self.model
        beside = model.state.held
        if model.changed or beside not in (None, model.saved):
            self._writer.submit(self.recovery.keep, model.sitting, model.path, self.window.files.digest, beside)
        else:
            self._writer.submit(self.recovery.forget)

    def bring_back(self, unsaved: Unsaved) -> bool:
        """Show what was left, as it was, unsaved; whether the sitting at hand could be given up for it."""
        if not self.window.files.may_leave():
            return False
        self.model.bring_back(unsaved.sitting, unsaved.path, unsaved.beside)
        self.window.files.digest = unsaved.digest
        self.keep()
        self._writer.submit(unsaved.throw_away)
        return True

    def end(self) -> None:
        """The window closes as it should: nothing of it is to come back."""
        self._ended = True
        self._timer.stop()
        self._writer.shutdown(wait=True)
        self.recovery.end()
        self.offer.end()


class Offer(QWidget):
    """One sentence and two buttons; several sittings are listed by a menu. Hidden where there is nothing to say."""

    def __init__(self, bring_back):
        super().__init__()
        self._bring_back, self.left = bring_back, []
        self.words = QLabel()
        self.words.setObjectName("soft")
        self.words.setWordWrap(True)
        self.words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.bring, self.leave = QPushButton("Bring it back"), QPushButton("Leave it")
        for button in (self.bring, self.leave):
            button.setObjectName("quiet")
        self.bring.setToolTip("go on with it, unsaved as it was")
        self.menu = QMenu(self)
        self.bring.clicked.connect(self._brought)
        self.leave.clicked.connect(self._let_go)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(12, 2, 8, 3)
        layout.setSpacing(4)
        layout.addWidget(self.words, 1)
        layout.addWidget(self.bring)
        layout.addWidget(self.leave)
        self.hide()

    def show_left(self, left: list[Unsaved]) -> None:
        """Offer these."""
        self.left = list(left)
        several = len(left) > 1
        named = "; ".join(_named(one) for one in left)
        self.words.setText(f"Left unsaved when Sitterlight was broken off: {named}.")
        self.bring.setText("Bring back" if several else "Bring it back")
        self.leave.setText("Leave them" if several else "Leave it")
        self.leave.setToolTip("throw them away" if several else "throw it away")
        self.menu.clear()
        for one in left if several else ():
            self.menu.addAction(_named(one), lambda one=one: self._take(one))
        self.bring.setMenu(self.menu if several else None)
        self.setVisible(bool(left))

    def _brought(self) -> None:
        if len(self.left) == 1:
            self._take(self.left[0])

    def _take(self, one: Unsaved) -> None:
        if one in self.left and self._bring_back(one):
            self.show_left([other for other in self.left if other is not one])

    def _let_go(self) -> None:
        for one in self.left:
            one.throw_away()
        self.show_left([])

    def end(self) -> None:
        """Leave for the next time what nobody has decided about."""
        for one in self.left:
            one.leave()
        self.left = []


def _named(one: Unsaved) -> str:
    clock = time.localtime(one.when)
    today = clock[:3] == time.localtime()[:3]
    when = time.strftime("%H:%M" if today else "%Y-%m-%d %H:%M", clock)
    where = f" ({one.path.name})" if one.path is not None else ""
    beside = f" with “{one.beside.title[:60]}” beside it" if one.beside is not None else ""
    return f"“{one.sitting.title[:60]}”{where}{beside}, {when}"
