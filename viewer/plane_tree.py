"""The list of the planes' table: its columns, one item for a plane or a stroke, chips and marks as they are painted."""

from __future__ import annotations

from PyQt6.QtCore import QRect, QRectF, QSize, Qt
from PyQt6.QtGui import QColor, QPainter
from PyQt6.QtWidgets import QAbstractItemView, QHeaderView, QStyledItemDelegate, QTreeWidget, QTreeWidgetItem

from sitterlight.shading.targets import Seen
from sitterlight.viewer.chip import drag_colour
from sitterlight.viewer.mixes import recipe_of
from sitterlight.viewer.plane_words import greying_code, greying_words, note_code, note_words
from sitterlight.viewer.screen_colour import on_screen

CHIP, NAME, MUNSELL, VALUE, NOTE, GREYING = range(6)
NUMBER, SEEN, CODE, FULL_NAME = (Qt.ItemDataRole.UserRole + place for place in range(4))


class PlaneTree(QTreeWidget):
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
        words = {CHIP: "MM", MUNSELL: "9.9YR 9.5/14.4", VALUE: "L*", NOTE: "warm 10", GREYING: "130 %"}
        widths = {column: letters.horizontalAdvance(text) + 16 for column, text in words.items()}
        widths[MUNSELL] -= 8  # names need the room
        self._widths, self._name_width = widths, letters.horizontalAdvance("upper eye socket R") + 14
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
    """Fills the whole of its place with the colour, so that neighbours touch as paint on a palette; a ring on it says
    that the screen cannot show it."""

    def paint(self, painter, option, index) -> None:
        code, seen = index.data(CODE), index.data(SEEN)
        if code is None:
            super().paint(painter, option, index)
            return
        chip = option.rect.adjusted(2, 0, -4, 0)
        painter.fillRect(chip, on_screen(QColor(code)))
        if seen is not None and not seen.in_srgb:
            painter.save()
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QColor("black" if seen.Lab[0] > 50 else "white"))
            painter.drawEllipse(QRectF(chip.right() - 8.5, chip.top() + 3.5, 5, 5))
            painter.restore()

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


def plane_item(number: int, seen: Seen, name: str, full_name: str) -> QTreeWidgetItem:
    texts = ["", name, seen.munsell or "above white", f"{seen.Lab[0]:.0f}", note_words(seen), greying_words(seen)]
    item = QTreeWidgetItem(texts)
    item.setData(0, NUMBER, number)
    item.setData(0, FULL_NAME, full_name)
    item.setData(CHIP, CODE, seen.srgb)
    item.setData(NOTE, CODE, note_code(seen))
    item.setData(GREYING, CODE, greying_code(seen))
    item.setTextAlignment(VALUE, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
    tell(item, seen)
    if not seen.in_srgb:
        item.setToolTip(CHIP, "the screen cannot show this colour; the chip is the nearest it can")
    return item


def tell(item: QTreeWidgetItem, seen: Seen) -> None:
    """Let an item know what it shows, and tell its mix where there is one yet."""
    item.setData(0, SEEN, seen)
    name, recipe = item.data(0, FULL_NAME), recipe_of(seen)
    told = f"{name}, {seen.munsell}, L* {seen.Lab[0]:.0f}"
    item.setData(0, Qt.ItemDataRole.AccessibleTextRole, f"{told}; mix {recipe}" if recipe else told)
    item.setToolTip(NAME, f"{name}\n{recipe}" if recipe else name)
