"""A box to choose one word from, which may also hold a word that was not offered."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import PurePath

from PyQt6.QtCore import QPointF, QSignalBlocker, Qt, pyqtSignal
from PyQt6.QtGui import QPainter, QPen, QPolygonF
from PyQt6.QtWidgets import QComboBox, QStyle


class Choice(QComboBox):
    """Emits `chosen(value)` only when the user chooses. `offers`: (value, words) pairs.

    A value stands there as it is, with `worded` by its words, or as `told` tells it, where that has words for it.
    """

    chosen = pyqtSignal(str)

    def __init__(self, name: str, offers: Sequence[tuple[str, str]], worded: bool = False, told=lambda value: ""):
        super().__init__()
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumContentsLength(8)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self._worded, self._told = worded, told
        for value, words in offers:
            self._offer(value, words)
        self.activated.connect(lambda place: self.chosen.emit(self.itemData(place)))

    def _offer(self, value: str, words: str) -> None:
        self.addItem(words if self._worded else self._told(value) or value, value)
        self.setItemData(self.count() - 1, words, Qt.ItemDataRole.ToolTipRole)

    def set_value(self, value: object) -> None:
        """Show a value, adding it where it was not offered."""
        text = str(value)
        with QSignalBlocker(self):
            place = self.findData(text)
            if place < 0:
                # Of a file its name; where it lies is told when pointed at.
                shown = self._told(text) or PurePath(text).name or text
                self.addItem(shown if len(shown) < 34 else "…" + shown[-32:], text)
                place = self.count() - 1
                self.setItemData(place, text, Qt.ItemDataRole.ToolTipRole)
            self.setCurrentIndex(place)

    def initStyleOption(self, option) -> None:
        """Words longer than the box end in dots; Qt would cut them."""
        super().initStyleOption(option)
        box, field = QStyle.ComplexControl.CC_ComboBox, QStyle.SubControl.SC_ComboBoxEditField
        room = self.style().subControlRect(box, option, field, self).width() - 2
        option.currentText = self.fontMetrics().elidedText(self.currentText(), Qt.TextElideMode.ElideRight, room)

    def paintEvent(self, event) -> None:
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.palette().placeholderText().color(), 1.5))
        x, y = self.width() - 12, self.height() / 2
        painter.drawPolyline(QPolygonF([QPointF(x - 4, y - 2), QPointF(x, y + 2), QPointF(x + 4, y - 2)]))
        painter.end()

    def wheelEvent(self, event) -> None:
        event.ignore()
