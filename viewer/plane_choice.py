"""A button that opens a list of planes to tick."""

from __future__ import annotations

from collections.abc import Sequence

from PyQt6.QtCore import QSignalBlocker, Qt, pyqtSignal
from PyQt6.QtWidgets import QListWidget, QListWidgetItem, QMenu, QPushButton, QWidgetAction


class PlaneChoice(QPushButton):
    """Emits `changed()` when the user ticks or unticks a plane."""

    changed = pyqtSignal()

    def __init__(self, chosen: Sequence[str]):
        super().__init__()
        self.setAccessibleName("planes to follow")
        self.setToolTip("planes to follow through the day, both sides of each")
        self._chosen = list(chosen)
        self.list = QListWidget()
        self.list.setAccessibleName("planes to follow")
        self.list.setMinimumSize(230, 320)
        self.list.itemChanged.connect(self._taken)
        menu = QMenu(self)
        action = QWidgetAction(menu)
        action.setDefaultWidget(self.list)
        menu.addAction(action)
        self.setMenu(menu)
        self._tell()

    @property
    def chosen(self) -> tuple[str, ...]:
        """The names of the ticked planes, in the order of the head."""
        return tuple(self._chosen)

    def show_planes(self, names: Sequence[str]) -> None:
        """Offer the planes of a head; those that were ticked and are among them stay so."""
        if names == [self.list.item(k).text() for k in range(self.list.count())]:
            return
        with QSignalBlocker(self.list):
            self.list.clear()
            for name in names:
                item = QListWidgetItem(name, self.list)
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
                item.setCheckState(Qt.CheckState.Checked if name in self._chosen else Qt.CheckState.Unchecked)

    def tick(self, name: str, on: bool = True) -> None:
        """Tick a plane or not, as the user does."""
        for item in self.list.findItems(name, Qt.MatchFlag.MatchExactly):
            item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)

    def _taken(self, _item) -> None:
        items = [self.list.item(k) for k in range(self.list.count())]
        self._chosen = [item.text() for item in items if item.checkState() == Qt.CheckState.Checked]
        self._tell()
        self.changed.emit()

    def _tell(self) -> None:
        count = len(self._chosen)
        self.setText(f"{count} plane{'s' if count != 1 else ''}")
