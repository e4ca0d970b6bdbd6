"""What the robot answers where the program asks: dialogs of files, messages, menus that wait."""

from __future__ import annotations

import random
import time
from pathlib import Path

from PyQt6.QtCore import QEvent, Qt, QTimer
from PyQt6.QtGui import QColor, QKeyEvent
from PyQt6.QtTest import QTest
from PyQt6.QtWidgets import (
    QApplication,
    QColorDialog,
    QDialog,
    QFileDialog,
    QInputDialog,
    QMenu,
    QMessageBox,
    QWidget,
)

from . import hands
from .files import place_to_write

_OFTEN = 60
"""Milliseconds between two looks whether something waits for an answer."""

_MOST_TOUCHES = 6

_DRAG = 3.0
"""Seconds after which what is being dragged is let go."""


class Answers:
    """Stands in for dialogs of the system, and answers those of our own. `asked` counts them."""

    def __init__(self, chance: random.Random, files: list[Path], folder: Path, note):
        self.chance, self.files, self.folder, self.note = chance, files, folder, note
        self.asked, self._touches = 0, 0
        self._answering: list[QWidget] = []
        self.since: float | None = None
        self._stand_in()
        QTimer.singleShot(_OFTEN, self._look)

    def _stand_in(self) -> None:
        from sitterlight.viewer import printing

        QFileDialog.getOpenFileName = self._counted(lambda *_a, **_n: (self._file(), ""))
        QFileDialog.getSaveFileName = self._counted(lambda *a, **_n: (self._place(*a), ""))
        QFileDialog.getExistingDirectory = self._counted(lambda *_a, **_n: self.chance.choice(["", str(self.folder)]))
        QInputDialog.getText = self._counted(
            lambda *_a, **_n: (self.chance.choice(hands.TYPED), self.chance.random() < 0.7)
        )
        QColorDialog.getColor = self._counted(
            lambda *_a, **_n: (
                QColor(*(self.chance.randrange(256) for _ in range(3))) if self.chance.random() < 0.8 else QColor()
            )
        )
        QMessageBox.question = self._counted(self._question)
        folder = self.folder

        class Printing(printing.QPrintDialog):
            """Prints into a file."""

            def __init__(self, printer, parent):
                printer.setOutputFileName(str(folder / "printed.pdf"))
                super().__init__(printer, parent)

            def exec(self):
                return self.DialogCode.Accepted

        printing.QPrintDialog = Printing

    def _counted(self, answer):
        def given(*words, **named):
            self.asked += 1
            return answer(*words, **named)

        return given

    def _file(self) -> str:
        if self.chance.random() < 0.1:
            return ""
        return str(self.chance.choice(self.files))

    def _place(self, _parent=None, _title="", proposed="", *_rest) -> str:
        return place_to_write(self.folder, Path(proposed).suffix or ".toml", self.chance)

    def _question(self, _parent, _title, words, buttons=None, *_rest) -> QMessageBox.StandardButton:
        offered = [one for one in QMessageBox.StandardButton if buttons is not None and one.value and one in buttons]
        single = [one for one in offered if one.value & (one.value - 1) == 0]
        chosen = self.chance.choice(single or [QMessageBox.StandardButton.Cancel])
        self.note(f"  asked {words!r}, answered {chosen.name}")
        return chosen

    @property
    def waits(self) -> bool:
        """Whether a dialog or a menu holds up everything else."""
        return QApplication.activeModalWidget() is not None or QApplication.activePopupWidget() is not None

    def _look(self) -> None:
        # First, for what is done here may ask in a loop of its own, in which a timer that is at work tells no more.
        QTimer.singleShot(_OFTEN, self._look)
        popup, modal = QApplication.activePopupWidget(), QApplication.activeModalWidget()
        one = popup or modal
        if one is None:
            self._touches = 0
            self._end_drag()
        elif one not in self._answering:  # an answer may itself open what has to be answered
            self._answering.append(one)
            try:
                (self._answer_modal if popup is None else self._answer_popup)(one)
            finally:
                self._answering.remove(one)

    def _end_drag(self) -> None:
        """Dragging something out of a list waits for a mouse that the robot doesn't have."""
        if self.since is not None and time.monotonic() - self.since > _DRAG:
            self.since = None
            for top in QApplication.topLevelWindows():
                QApplication.sendEvent(top, QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Escape, hands.NONE))

    def _answer_popup(self, popup: QWidget) -> None:
        self.asked += 1
        if isinstance(popup, QMenu):
            actions = [one for one in popup.actions() if one.isEnabled() and one.isVisible() and not one.isSeparator()]
            if actions and self.chance.random() < 0.85:
                action = self.chance.choice(actions)
                self.note(f"  menu: {action.text()!r}")
                popup.setActiveAction(action)
                QTest.keyClick(popup, Qt.Key.Key_Return)
                return
        elif self.chance.random() < 0.5:
            QTest.keyClick(popup, self.chance.choice((Qt.Key.Key_Down, Qt.Key.Key_Return, Qt.Key.Key_Right)))
            return
        popup.close()

    def _answer_modal(self, modal: QWidget) -> None:
        self.asked += 1
        self._touches += 1
        found = hands.controls(modal)
        if found and self._touches <= _MOST_TOUCHES:
            name, control = self.chance.choice(found)
            self.note(f"  in {type(modal).__name__}: {name}: {hands.use(control, self.chance)}")
        elif isinstance(modal, QDialog):
            self._touches = 0
            modal.reject()
        else:
            modal.close()
