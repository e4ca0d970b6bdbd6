"""The planes from light to dark by family, with their strokes, to search, to sort and to choose from."""

from __future__ import annotations

from PyQt6.QtCore import QPoint, QSignalBlocker, Qt, pyqtSignal
from PyQt6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QBoxLayout,
    QHBoxLayout,
    QLineEdit,
    QMenu,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from sitterlight.shading.targets import PlaneRow, Seen
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import hinted, soft
from sitterlight.viewer.plane_tree import NUMBER, SEEN, PlaneTree, plane_item, tell
from sitterlight.viewer.plane_words import GROUPS, NOTATIONS, in_order, notation, note_words, plane_name, short_name

_ORDERS = (("value", "light to dark"), ("name", "by name"), ("note", "bluest first"), ("greying", "greyest first"))
_SHOWN = (("all", "all planes"), ("seen", "seen from here"), ("noted", "with a note"), ("greyed", "greyed by a third"))


ONE_ROW = 330
"""Width from which search and choices stand in one row."""


class PlanesTable(QWidget):
    """Emits `chosen(number)` of a plane, −1 for none, when the user chooses."""

    chosen = pyqtSignal(int)

    def __init__(self):
        super().__init__()
        self.rows: list[PlaneRow] = []
        self._items: dict[int, QTreeWidgetItem] = {}
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addLayout(self._tools())
        self.tree = PlaneTree()
        hinted(self.tree, "click a plane to learn why; its chip can be dragged out, a right click copies its colour")
        self.tree.currentItemChanged.connect(self._taken)
        self.tree.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.tree.customContextMenuRequested.connect(self._offer_copy)
        layout.addWidget(self.tree, 1)
        self.count = soft("", wrap=False)

    def _tools(self) -> QBoxLayout:
        row = self._tool_row = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        row.setSpacing(4)
        self.search = QLineEdit()
        self.search.setPlaceholderText("Search planes")
        self.search.setAccessibleName("search planes")
        hinted(self.search, "part of a plane's name, of its notation or of its note: nose, 7.5YR, blue")
        self.search.setClearButtonEnabled(True)
        self.search.textChanged.connect(self._filter)
        self.order = Choice("order of the planes", _ORDERS, worded=True)
        self.shown = Choice("which planes", _SHOWN, worded=True)
        hinted(self.order, "in which order the planes stand below")
        hinted(self.shown, "which planes stand below")
        self.order.chosen.connect(self._rebuild)
        self.shown.chosen.connect(self._filter)
        choices = QHBoxLayout()
        choices.setSpacing(4)
        choices.addWidget(self.order)
        choices.addWidget(self.shown)
        row.addWidget(self.search, 1)
        row.addLayout(choices, 1)
        return row

    def resizeEvent(self, event) -> None:
        super().resizeEvent(event)
        directions, narrow = QBoxLayout.Direction, self.width() < ONE_ROW
        self._tool_row.setDirection(directions.TopToBottom if narrow else directions.LeftToRight)
        self.count.setVisible(not narrow)

    def show_rows(self, rows: list[PlaneRow]) -> None:
        """Show these planes; what was chosen and unfolded stays so."""
        known = [(row.XYZ, row.Lab, row.hidden) for row in self.rows] if self._items else None
        self.rows = rows
        if known == [(row.XYZ, row.Lab, row.hidden) for row in rows]:
            self._refill()
        else:
            self._rebuild()

    def _refill(self) -> None:
        """The same planes, of which more is known, their recipes: what is shown stays."""
        with QSignalBlocker(self.tree):
            for number, item in self._items.items():
                row = self.rows[number]
                tell(item, row)
                for place, target in enumerate(row.targets[: item.childCount()]):
                    tell(item.child(place), target)

    def choose(self, number: int | None) -> None:
        """Show a plane as chosen without telling anyone; a stroke of it that is chosen already stays so."""
        if number is not None and self.current is not None and self.current[0] == number:
            return
        with QSignalBlocker(self.tree):
            item = self._items.get(-1 if number is None else number)
            self.tree.setCurrentItem(item)
            seen = self.tree.viewport().rect()
            if item is not None and not seen.contains(self.tree.visualItemRect(item)):
                self.tree.scrollToItem(item, QAbstractItemView.ScrollHint.PositionAtCenter)

    @property
    def current(self) -> tuple[int, Seen] | None:
        """The chosen plane's number and what is chosen of it, the plane or one stroke."""
        item = self.tree.currentItem()
        return None if item is None or item.data(0, SEEN) is None else (item.data(0, NUMBER), item.data(0, SEEN))

    def _rebuild(self, *_order) -> None:
        tree, held = self.tree, self.current
        opened = {number for number, item in self._items.items() if item.isExpanded()}
        scroll = tree.verticalScrollBar().value()
        with QSignalBlocker(tree):
            tree.setUpdatesEnabled(False)
            tree.clear()
            self._items = {}
            for group, numbers in in_order(self.rows, self.order.currentData()).items():
                if numbers:
                    self._add_group(group, numbers, opened)
            if held is not None and held[0] in self._items:
                tree.setCurrentItem(self._items[held[0]])
            tree.setUpdatesEnabled(True)
        tree.verticalScrollBar().setValue(scroll)
        self._filter()

    def _add_group(self, group: str, numbers: list[int], opened: set[int]) -> None:
        head = QTreeWidgetItem([GROUPS[group]])
        head.setFlags(Qt.ItemFlag.ItemIsEnabled)
        font = head.font(0)
        font.setBold(True)
        head.setFont(0, font)
        self.tree.addTopLevelItem(head)
        head.setFirstColumnSpanned(True)
        for number in numbers:
            row = self.rows[number]
            item = plane_item(number, row, short_name(row), plane_name(row))
            head.addChild(item)
            self._items[number] = item
            if len(row.targets) > 1:
                for target in row.targets:
                    words = f"{target.part}, {100 * target.share_of_area:.0f} % of it"
                    item.addChild(plane_item(number, target, words, f"{plane_name(row)}: {words}"))
                item.setExpanded(number in opened)
        head.setExpanded(True)

    def _filter(self, *_changed) -> None:
        words, kind = self.search.text().strip().lower(), self.shown.currentData()
        kept = 0
        for number, item in self._items.items():
            row = self.rows[number]
            text = f"{plane_name(row)} {row.munsell} {row.region} {note_words(row)}".lower()
            fits = all(word in text for word in words.split()) and _fits(row, kind)
            item.setHidden(not fits)
            kept += fits
        for place in range(self.tree.topLevelItemCount()):
            head = self.tree.topLevelItem(place)
            head.setHidden(all(head.child(k).isHidden() for k in range(head.childCount())))
        self.count.setText(f"{kept} of {len(self.rows)} planes")

    def _taken(self, item: QTreeWidgetItem | None, _before) -> None:
        number = None if item is None else item.data(0, NUMBER)
        self.chosen.emit(-1 if number is None else number)

    def _offer_copy(self, place: QPoint) -> None:
        item = self.tree.itemAt(place)
        if item is None or item.data(0, SEEN) is None:
            return
        menu = QMenu(self)
        for kind in NOTATIONS:
            text = notation(item.data(0, SEEN), kind)
            menu.addAction(f"Copy {kind}: {text}", lambda text=text: QApplication.clipboard().setText(text))
        menu.exec(self.tree.viewport().mapToGlobal(place))


def _fits(row: PlaneRow, kind: str) -> bool:
    return {
        "all": True,
        "seen": not row.hidden,
        "noted": bool(note_words(row)) and not row.hidden,
        "greyed": (row.greying or 0.0) >= 1 / 3 and not row.hidden,
    }[kind]
