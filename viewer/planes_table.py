"""The planes from light to dark by family, with their strokes, to search, to sort and to choose from."""

from __future__ import annotations

from PyQt6.QtCore import QPoint, QRect, QSignalBlocker, QSize, Qt, pyqtSignal
from PyQt6.QtGui import QColor
from PyQt6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QBoxLayout,
    QHBoxLayout,
    QHeaderView,
    QLineEdit,
    QMenu,
    QStyledItemDelegate,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from sitterlight.shading.targets import PlaneRow, Seen
from sitterlight.viewer.chip import drag_colour
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import soft
from sitterlight.viewer.mixes import recipe_of
from sitterlight.viewer.plane_words import (
    GROUPS,
    NOTATIONS,
    greying_code,
    greying_words,
    in_order,
    notation,
    note_code,
    note_words,
    plane_name,
    short_name,
)
from sitterlight.viewer.screen_colour import on_screen

CHIP, NAME, MUNSELL, VALUE, NOTE, GREYING = range(6)
NUMBER, SEEN, CODE, FULL_NAME = (Qt.ItemDataRole.UserRole + place for place in range(4))
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
        self.tree = _Tree()
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
        self.search.setClearButtonEnabled(True)
        self.search.textChanged.connect(self._filter)
        self.order = Choice("order of the planes", _ORDERS, worded=True)
        self.shown = Choice("which planes", _SHOWN, worded=True)
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
                _tell(item, row)
                for place, target in enumerate(row.targets[: item.childCount()]):
                    _tell(item.child(place), target)

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
            item = _item(number, row, short_name(row), plane_name(row))
            head.addChild(item)
            self._items[number] = item
            if len(row.targets) > 1:
                for target in row.targets:
                    words = f"{target.part}, {target.share_of_area:.0%} of it"
                    item.addChild(_item(number, target, words, f"{plane_name(row)}: {words}"))
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


def _item(number: int, seen: Seen, name: str, full_name: str) -> QTreeWidgetItem:
    texts = ["", name, seen.munsell or "above white", f"{seen.Lab[0]:.0f}", note_words(seen), greying_words(seen)]
    item = QTreeWidgetItem(texts)
    item.setData(0, NUMBER, number)
    item.setData(0, FULL_NAME, full_name)
    item.setData(CHIP, CODE, seen.srgb)
    item.setData(NOTE, CODE, note_code(seen))
    item.setData(GREYING, CODE, greying_code(seen))
    item.setTextAlignment(VALUE, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
    _tell(item, seen)
    if not seen.in_srgb:
        item.setToolTip(CHIP, "the screen cannot show this colour; the chip is the nearest it can")
        item.setText(MUNSELL, texts[MUNSELL] + " ◦")
    return item


def _tell(item: QTreeWidgetItem, seen: Seen) -> None:
    """Let an item know what it shows, and tell its mix where there is one yet."""
    item.setData(0, SEEN, seen)
    name, recipe = item.data(0, FULL_NAME), recipe_of(seen)
    told = f"{name}, {seen.munsell}, L* {seen.Lab[0]:.0f}"
    item.setData(0, Qt.ItemDataRole.AccessibleTextRole, f"{told}; mix {recipe}" if recipe else told)
    item.setToolTip(NAME, f"{name}\n{recipe}" if recipe else name)


class _Tree(QTreeWidget):
    """The list itself; chips can be dragged out of it as colours."""

    def __init__(self):
        super().__init__()
        self.setColumnCount(6)
        self.setHeaderLabels(["", "plane", "Munsell", "L*", "note", "greyed"])
        self.setAccessibleName("planes from light to dark")
        self.setRootIsDecorated(False)
        self.setIndentation(10)
        self.setUniformRowHeights(True)
        self.setItemDelegateForColumn(CHIP, _ChipDelegate(self))
        marks = _MarkDelegate(self)
        self.setItemDelegateForColumn(NOTE, marks)
        self.setItemDelegateForColumn(GREYING, marks)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setDragEnabled(True)
        header = self.header()
        header.setStretchLastSection(False)
        header.setMinimumSectionSize(20)
        header.setSectionResizeMode(NAME, QHeaderView.ResizeMode.Stretch)
        letters = self.fontMetrics()
        words = {CHIP: "MM", MUNSELL: "10YR 3.2/2.1", VALUE: "L*", NOTE: "warm 10", GREYING: "130 %"}
        widths = {column: letters.horizontalAdvance(text) + 16 for column, text in words.items()}
        widths[MUNSELL] += 4
        self._widths, self._name_width = widths, letters.horizontalAdvance("scalp front side R") + 14
        for column, width in widths.items():
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
            header.resizeSection(column, width)

    def resizeEvent(self, event) -> None:
        """Leave out columns that can be read elsewhere before names lose their ends."""
        super().resizeEvent(event)
        room = self.viewport().width() - sum(self._widths.values()) - self._name_width
        for column in (GREYING, VALUE, NOTE):
            self.setColumnHidden(column, room < 0)
            if room < 0:
                room += self._widths[column]

    def startDrag(self, _actions) -> None:
        item = self.currentItem()
        if item is None or item.data(0, SEEN) is None:
            return
        drag_colour(self, item.data(0, SEEN).srgb)


class _ChipDelegate(QStyledItemDelegate):
    """Fills the whole of its place with the colour, so that neighbours touch as paint on a palette."""

    def paint(self, painter, option, index) -> None:
        code = index.data(CODE)
        if code is None:
            super().paint(painter, option, index)
            return
        painter.fillRect(option.rect.adjusted(2, 0, -4, 0), on_screen(QColor(code)))

    def sizeHint(self, option, index) -> QSize:
        return QSize(40, max(24, super().sizeHint(option, index).height()))


class _MarkDelegate(QStyledItemDelegate):
    """A small field in the colour of the map before the words."""

    def paint(self, painter, option, index) -> None:
        self.initStyleOption(option, index)
        words, option.text = index.data() or "", ""
        style = option.widget.style()
        style.drawControl(style.ControlElement.CE_ItemViewItem, option, painter, option.widget)
        code = index.data(CODE)
        if code:
            middle = option.rect.center().y()
            painter.fillRect(QRect(option.rect.left() + 2, middle - 5, 6, 11), on_screen(QColor(code)))
        painter.setPen(option.palette.text().color())
        painter.drawText(option.rect.adjusted(13, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, words)
