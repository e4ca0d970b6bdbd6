"""The choice among built-in sittings at the top of the left side, each with what lights it."""

from __future__ import annotations

from pathlib import Path

from PyQt6.QtCore import pyqtSignal
from PyQt6.QtWidgets import QVBoxLayout, QWidget

from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sittings import built_in, built_in_names
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import hinted


class SittingChoice(QWidget):
    """Emits `chosen(name)` of a built-in sitting."""

    chosen = pyqtSignal(str)

    def __init__(self):
        super().__init__()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        self.box = Choice("sitting", [(name, built_in(name).title) for name in built_in_names()], worded=True)
        hinted(self.box, "a sitting to begin with: who sits, in what light, seen from where")
        self.box.chosen.connect(self._take)
        layout.addWidget(self.box)
        self._own = -1
        self._shown: tuple = ()

    def show_sitting(self, sitting: Sitting, path: Path | None) -> None:
        """Show which sitting is at hand; one that is not built in is listed by its title."""
        if (sitting.title, path) == self._shown:
            return
        self._shown = (sitting.title, path)
        titles = {built_in(name).title: name for name in built_in_names()}
        if self._own >= 0:
            self.box.removeItem(self._own)
            self._own = -1
        if path is None and sitting.title in titles:
            self.box.set_value(titles[sitting.title])
            return
        self._own = self.box.count()
        self.box.addItem(sitting.title, "")
        self.box.setCurrentIndex(self._own)

    def _take(self, name: str) -> None:
        if name:
            self.chosen.emit(name)
