"""The line at the foot of the window: the colour under the pointer, what was done, and long work with its stop."""

from __future__ import annotations

from PyQt6.QtCore import pyqtSignal
from PyQt6.QtWidgets import QLabel, QProgressBar, QStatusBar, QToolButton

WHILE = 6000
"""Milliseconds for which a sentence stands."""


class StatusLine(QStatusBar):
    """Emits `stopped()` when the user wants no more of what is going on."""

    stopped = pyqtSignal()

    def __init__(self):
        super().__init__()
        self.setSizeGripEnabled(False)
        self.reading = QLabel()
        self.reading.setAccessibleName("colour under the pointer")
        self.progress, self.stop = QProgressBar(), QToolButton()
        self.progress.setRange(0, 1000)
        self.progress.setTextVisible(False)
        self.progress.setFixedWidth(140)
        self.progress.setAccessibleName("how far the work is")
        self.stop.setObjectName("quiet")
        self.stop.setText("Stop")
        self.stop.clicked.connect(self.stopped)
        self.busy_words = QLabel()
        self.busy_words.setObjectName("soft")
        self.addWidget(self.reading, 1)
        for widget in (self.busy_words, self.progress, self.stop):
            self.addPermanentWidget(widget)
        self.show_progress(None)

    def say(self, words: str) -> None:
        """One sentence, for a while."""
        self.showMessage(words, WHILE)

    def show_progress(self, share: float | None) -> None:
        """How much of the ray casting is done, from 0 to 1; None when there is none."""
        shown = share is not None and share < 1
        self.progress.setVisible(shown)
        self.stop.setVisible(shown)
        self.busy_words.setText("casting rays for this head, once" if shown else "")
        if shown:
            self.progress.setValue(round(1000 * share))
