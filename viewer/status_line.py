"""The line at the foot of the window: the colour under the pointer, what was done, and long work with its stop."""

from __future__ import annotations

from PyQt6.QtCore import Qt, pyqtSignal
from PyQt6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QStatusBar, QToolButton, QWidget

from sitterlight.viewer.controls import Elided

WHILE = 6000
"""Milliseconds for which a sentence stands."""

WIDEST, SHARE = 210, 0.3
"""For the words of a work: so many pixels in any window, this share of a wider one."""


class WorkLine(QWidget):
    """A long work in a line: its words, how far it is, and a button that stops it. Hidden while there is none.

    Emits `stopped()` when the user wants no more of it.
    """

    stopped = pyqtSignal()

    def __init__(self, name: str):
        super().__init__()
        self.words, self.share, self.progress, self.stop = Elided(), QLabel(), QProgressBar(), QToolButton()
        for label in (self.words, self.share):
            label.setObjectName("soft")
        self.share.setFixedWidth(self.share.fontMetrics().horizontalAdvance("100 %") + 4)
        self.share.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.progress.setRange(0, 1000)
        self.progress.setTextVisible(False)
        self.progress.setFixedWidth(120)
        self.progress.setAccessibleName(f"how far {name} is")
        self.stop.setObjectName("quiet")
        self.stop.setText("Stop")
        self.stop.setAccessibleName(f"stop {name}")
        self.stop.setToolTip(f"stop {name}")
        self.stop.clicked.connect(self.stopped)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(6, 0, 0, 0)
        layout.setSpacing(6)
        for widget in (self.words, self.share, self.progress, self.stop):
            layout.addWidget(widget)
        self.hide()

    def show_work(self, words: str, share: float | None) -> None:
        """How much of the work is done, from 0 to 1; None when there is none."""
        self.setVisible(share is not None)
        if share is not None:
            self._say(words)
            self.share.setText(f"{100 * share:.0f} %")
            self.progress.setValue(round(1000 * share))

    def show_stopping(self) -> None:
        """The user wants no more of it, and it has not ended yet."""
        self.stop.setEnabled(False)
        self.share.setText("")
        self._say("Stopping …")

    def _say(self, words: str) -> None:
        self.words.setText(words)
        widest = max(WIDEST, round(SHARE * self.window().width()))
        self.words.setFixedWidth(min(widest, self.words.fontMetrics().horizontalAdvance(words) + 4))


class StatusLine(QStatusBar):
    """Emits `stopped()` when the user wants no more rays cast, `writing.stopped()` where nothing is to be written."""

    stopped = pyqtSignal()

    def __init__(self):
        super().__init__()
        self.setSizeGripEnabled(False)
        self.reading = QLabel()
        self.reading.setContentsMargins(8, 0, 0, 0)
        self.reading.setAccessibleName("colour under the pointer")
        self.rays, self.writing = WorkLine("the casting of rays"), WorkLine("the writing")
        self.rays.stopped.connect(self.stopped)
        self.addWidget(self.reading, 1)
        for line in (self.writing, self.rays):
            self.addPermanentWidget(line)

    def say(self, words: str) -> None:
        """One sentence, for a while."""
        self.showMessage(words, WHILE)

    def show_progress(self, share: float | None) -> None:
        """How much of the ray casting is done, from 0 to 1; None when there is none."""
        self.rays.show_work("casting rays for this head, once", share if share is not None and share < 1 else None)
