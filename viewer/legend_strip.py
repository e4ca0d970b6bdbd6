"""What the view on the stage shows: its one line, its scale in words and numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PyQt6.QtCore import QRectF, QSize, Qt
from PyQt6.QtGui import QColor, QLinearGradient, QPainter
from PyQt6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from sitterlight.shading.legend_words import Legend, mark_places
from sitterlight.viewer.controls import soft
from sitterlight.viewer.screen_colour import on_screen

if TYPE_CHECKING:
    from sitterlight.shading.maps import Scale


class LegendStrip(QWidget):
    """The legend of one view under the stage."""

    def __init__(self):
        super().__init__()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 5, 12, 2)
        layout.setSpacing(2)
        self.line, self.unit = soft(), soft()
        self.line.setObjectName("value")
        self.bar = ScaleBar()
        row = QHBoxLayout()
        row.addWidget(self.bar, 3)
        row.addWidget(self.unit, 2)
        row.setAlignment(Qt.AlignmentFlag.AlignTop)
        layout.addWidget(self.line)
        layout.addLayout(row)
        layout.addStretch(1)
        self._crowded = False
        self.set_short(False)

    def set_short(self, short: bool) -> None:
        """Leave out all but the line and the scale in a low window."""
        self._short = short
        self.unit.setVisible(not short)
        self._fit()

    def set_crowded(self, crowded: bool) -> None:
        """Leave the scale alone where something else says what is shown; nothing where there is none."""
        self._crowded = crowded
        self.line.setVisible(not crowded)
        self._make_room()

    def _make_room(self) -> None:
        self.setVisible(not self._crowded or self.bar.scale is not None)
        self._fit()

    def _fit(self) -> None:
        """As high for one view as for another, so that the head keeps its size; in a low window no higher than need
        be."""
        if not self._short:
            lines = 5.6
        else:
            lines = (0.0 if self.line.isHidden() else 2.2) + (3.5 if self.bar.scale is not None else 0.0)
        self.setFixedHeight(round(self.fontMetrics().height() * lines) + 6)

    def show_legend(self, words: Legend, stepped: bool = False) -> None:
        """Show the legend of a view; `stepped` where its scale has steps instead of passing from one to the next."""
        self.line.setText(words.line)
        self.unit.setText("\n".join(part for part in (words.unit, words.note) if part))
        self.setToolTip(self.unit.text())
        self.bar.show_scale(words.scale, stepped)
        self._make_room()


class ScaleBar(QWidget):
    """A scale's colours with its marks."""

    def __init__(self):
        super().__init__()
        self.scale: Scale | None = None
        self._stepped = False
        self.setAccessibleName("scale")

    def sizeHint(self) -> QSize:
        return QSize(300, 50)

    def show_scale(self, scale: Scale | None, stepped: bool) -> None:
        self.scale, self._stepped = scale, stepped
        self.setVisible(scale is not None)
        if scale is not None:
            self.setAccessibleDescription(", ".join(f"{n} {w}" for _, n, w in mark_places(scale)))
        self.update()

    def paintEvent(self, _event) -> None:
        if self.scale is None:
            return
        painter = QPainter(self)
        box = QRectF(26, 4, self.width() - 52, 12)
        codes = [on_screen(QColor(code)) for code in self.scale.codes]
        if self._stepped:
            width = box.width() / len(codes)
            for place, colour in enumerate(codes):
                painter.fillRect(QRectF(box.left() + place * width, box.top(), width + 0.5, box.height()), colour)
        else:
            passing = QLinearGradient(box.topLeft(), box.topRight())
            for place, colour in enumerate(codes):
                passing.setColorAt(place / (len(codes) - 1), colour)
            painter.fillRect(box, passing)
        line = self.fontMetrics().height()
        for place, (where, number, words) in enumerate(mark_places(self.scale)):
            if self._stepped:
                number, where = number.lstrip("≤≥ "), (place + 0.5) / len(codes)
            x = box.left() + where * box.width()
            painter.setPen(self.palette().text().color())
            painter.drawText(QRectF(x - 60, box.bottom() + 2, 120, line), Qt.AlignmentFlag.AlignHCenter, number)
            painter.setPen(self.palette().placeholderText().color())
            painter.drawText(QRectF(x - 60, box.bottom() + 2 + line, 120, line), Qt.AlignmentFlag.AlignHCenter, words)
        painter.end()
