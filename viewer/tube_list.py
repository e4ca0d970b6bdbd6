"""Tubes of paint as a list: chips of each as it is, thin over white and mixed with white, and its name."""

from __future__ import annotations

from collections.abc import Sequence

from PyQt6.QtCore import QRect, QSignalBlocker, QSize, Qt, QTimer, pyqtSignal
from PyQt6.QtGui import QColor, QFontMetrics
from PyQt6.QtWidgets import QAbstractItemView, QListWidget, QListWidgetItem, QStyle, QStyledItemDelegate

from sitterlight.shading.mixing import ViewingLight
from sitterlight.shading.paint_chips import chip_codes, code_of, undertone_Lab
from sitterlight.shading.paint_words import paint_words
from sitterlight.shading.paints import Paint
from sitterlight.viewer.screen_colour import on_screen

NAME, CODES, SIDE = Qt.ItemDataRole.UserRole, Qt.ItemDataRole.UserRole + 1, Qt.ItemDataRole.UserRole + 2
ROW_HEIGHT, CHIP_WIDTH = 25, 18


class TubeList(QListWidget):
    """`ordered(names)` when the user has moved a tube, `removed(name)` for Delete, `taken(name)` for Return.

    Alt with an arrow key moves the chosen tube; it can be dragged, too.
    """

    ordered = pyqtSignal(list)
    removed = pyqtSignal(str)
    taken = pyqtSignal(str)

    def __init__(self, name: str, movable: bool = False):
        super().__init__()
        self.setAccessibleName(name)
        self.setItemDelegate(_TubeDelegate(self))
        self.setUniformItemSizes(True)
        self.setMinimumWidth(120)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self._movable = movable
        if movable:
            self.setDragDropMode(QAbstractItemView.DragDropMode.InternalMove)
            self.model().rowsMoved.connect(lambda *_: QTimer.singleShot(0, self._tell_order))
        self.itemDoubleClicked.connect(lambda item: self.taken.emit(item.data(NAME)))

    def show_tubes(
        self, tubes: Sequence[tuple[str, Paint]], light: ViewingLight, taken: frozenset[str] = frozenset()
    ) -> None:
        """Show these tubes, each by its name in the sitting; the chosen one stays chosen. `taken` are ids of tubes that
        are on the palette already."""
        held, row = self.current_name, self.currentRow()
        with QSignalBlocker(self):
            self.clear()
            for name, one in tubes:
                self.addItem(_item(name, one, light, one.id in taken))
        names = self.names
        if names:
            self.setCurrentRow(names.index(held) if held in names else min(max(row, 0), len(names) - 1))

    @property
    def names(self) -> list[str]:
        """The names of the tubes in the order shown."""
        return [self.item(row).data(NAME) for row in range(self.count())]

    @property
    def current_name(self) -> str | None:
        item = self.currentItem()
        return None if item is None else item.data(NAME)

    def choose(self, name: str) -> None:
        """Choose the tube of that name."""
        self.setCurrentRow(self.names.index(name))

    def move(self, step: int) -> None:
        """Ask for the chosen tube to be moved up (−1) or down (+1)."""
        names, row = self.names, self.currentRow()
        if 0 <= row < len(names) and 0 <= row + step < len(names):
            names.insert(row + step, names.pop(row))
            self.ordered.emit(names)

    def _tell_order(self) -> None:
        self.ordered.emit(self.names)

    def keyPressEvent(self, event) -> None:
        key, alt = event.key(), bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        if self._movable and alt and key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.move(-1 if key == Qt.Key.Key_Up else 1)
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace) and self.current_name:
            self.removed.emit(self.current_name)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.current_name:
            self.taken.emit(self.current_name)
        else:
            super().keyPressEvent(event)


def _item(name: str, one: Paint, light: ViewingLight, taken: bool) -> QListWidgetItem:
    item = QListWidgetItem(one.label)
    item.setData(NAME, name)
    as_is, with_white = chip_codes(one, light)
    item.setData(CODES, (as_is, code_of(undertone_Lab(one, light)), with_white))
    caution = one.caution if len(one.caution) < 12 else "caution" if one.caution else ""
    item.setData(SIDE, "on the palette" if taken else caution)
    told = ", ".join(filter(None, (one.label, paint_words(one), one.caution, "on the palette" if taken else "")))
    item.setData(Qt.ItemDataRole.AccessibleTextRole, told)
    item.setToolTip(f"{told}\nfrom the left: as it is, a thin film over white, mixed with white")
    item.setSizeHint(QSize(120, ROW_HEIGHT))
    return item


def shortened(label: str, letters: QFontMetrics, width: int) -> str:
    """A tube's label in a width of pixels: its name loses its end, its Colour Index name stays."""
    name, _, code = label.rpartition(" ")
    room = width - letters.horizontalAdvance(f" {code}")
    if letters.horizontalAdvance(label) <= width or not (name and any(sign.isdigit() for sign in code)) or room <= 0:
        return letters.elidedText(label, Qt.TextElideMode.ElideRight, width)
    return f"{letters.elidedText(name, Qt.TextElideMode.ElideRight, room)} {code}"


class _TubeDelegate(QStyledItemDelegate):
    """Three chips that fill the height of the row, the name, and what the tube contains in softer words."""

    def paint(self, painter, option, index) -> None:
        self.initStyleOption(option, index)
        name = index.data()
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(option.rect, option.palette.button())
        box = option.rect
        for place, code in enumerate(index.data(CODES)):
            chip = QRect(box.left() + 2 + CHIP_WIDTH * place, box.top(), CHIP_WIDTH, box.height())
            painter.fillRect(chip, on_screen(QColor(code)))
        side = index.data(SIDE)
        right = option.fontMetrics.horizontalAdvance(side) + 12 if side else 4
        words = box.adjusted(3 * CHIP_WIDTH + 9, 0, -right, 0)
        painter.setPen(option.palette.text().color())
        painter.drawText(words, Qt.AlignmentFlag.AlignVCenter, shortened(name, option.fontMetrics, words.width()))
        if side:
            painter.setPen(option.palette.placeholderText().color())
            painter.drawText(
                box.adjusted(0, 0, -6, 0), Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight, side
            )
