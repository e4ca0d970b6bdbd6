"""The library of paints to add tubes from: a list to search by name, Colour Index name, family or kind."""

from __future__ import annotations

from PyQt6.QtCore import Qt, pyqtSignal
from PyQt6.QtWidgets import QDialog, QHBoxLayout, QLineEdit, QPushButton, QVBoxLayout, QWidget

from sitterlight.shading.mixing import ViewingLight
from sitterlight.shading.paint_words import GROUPS, matches, tube_words
from sitterlight.shading.paints import library
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import soft
from sitterlight.viewer.tube_list import TubeList


class PaintLibrary(QDialog):
    """Stays open while tubes are added one after the other: `added(id)` for each."""

    added = pyqtSignal(str)

    def __init__(self, parent: QWidget):
        super().__init__(parent)
        self.setWindowTitle("Add a tube")
        self.resize(420, 560)
        self._light: ViewingLight | None = None
        self._here: frozenset[str] = frozenset()
        layout = QVBoxLayout(self)
        self.search = QLineEdit()
        self.search.setPlaceholderText("umber, PR101, transparent red …")
        self.search.setAccessibleName("search paints")
        self.search.setClearButtonEnabled(True)
        self.search.textChanged.connect(self._fill)
        self.search.returnPressed.connect(self._add)
        families = [("all", "all families"), *((g, words) for g, words in GROUPS.items() if g != "own")]
        self.family = Choice("family of paints", families, worded=True)
        self.family.chosen.connect(self._fill)
        row = QHBoxLayout()
        row.addWidget(self.search, 2)
        row.addWidget(self.family, 1)
        layout.addLayout(row)
        self.list = TubeList("paints of the library")
        self.list.taken.connect(lambda _name: self._add())
        self.list.currentItemChanged.connect(self._tell)
        layout.addWidget(self.list, 1)
        self.words = soft()
        layout.addWidget(self.words)
        self.add, self.done = QPushButton("Add"), QPushButton("Close")
        self.add.setDefault(True)
        self.add.setAutoDefault(False)
        self.done.setAutoDefault(False)
        self.add.clicked.connect(self._add)
        self.done.clicked.connect(self.close)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.add)
        row.addWidget(self.done)
        layout.addLayout(row)

    def show_library(self, here: frozenset[str], light: ViewingLight) -> None:
        """Offer the library, its chips as seen under a light; what is `here` already, by id, is marked."""
        self._here, self._light = here, light
        self._fill()

    def keyPressEvent(self, event) -> None:
        if event.key() == Qt.Key.Key_Down and self.search.hasFocus():
            self.list.setFocus()
        else:
            super().keyPressEvent(event)

    def _fill(self, *_changed) -> None:
        family, words = self.family.currentData(), self.search.text()
        found = [p for p in library() if family in ("all", p.group) and matches(p, words)]
        self.list.show_tubes([(p.id, p) for p in found], self._light, self._here)
        self._tell()

    def _tell(self, *_changed) -> None:
        name = self.list.current_name
        self.add.setEnabled(name is not None and name not in self._here)
        self.words.setText(tube_words(name) if name else "No paint of the library fits.")

    def _add(self) -> None:
        if self.add.isEnabled():
            self.added.emit(self.list.current_name)
