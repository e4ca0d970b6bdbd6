"""One or two spectra as thin curves over the wavelengths, on grey."""

from __future__ import annotations

import numpy as np
from PyQt6.QtCore import QPointF, QRectF, QSize, Qt
from PyQt6.QtGui import QPainter, QPen, QPolygonF
from PyQt6.QtWidgets import QWidget

from sitterlight.illuminants.grid import WAVELENGTHS


class SpectrumPlot(QWidget):
    """Curves (81,) with their names, each scaled to its own highest value unless `together`."""

    def __init__(self, name: str, height: int = 64):
        super().__init__()
        self.setAccessibleName(name)
        self._curves: list[tuple[str, np.ndarray]] = []
        self._height = height
        self.setMinimumHeight(height)

    def sizeHint(self) -> QSize:
        return QSize(200, self._height)

    def show_curves(self, curves: list[tuple[str, np.ndarray]]) -> None:
        self._curves = curves
        self.setAccessibleDescription(", ".join(name for name, _ in curves))
        self.update()

    def paintEvent(self, _event) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(4, 4, self.width() - 8, self.height() - 20)
        painter.fillRect(box, self.palette().base())
        small = painter.font()
        small.setPointSizeF(small.pointSizeF() * 0.82)
        painter.setFont(small)
        for nm in (400, 500, 600, 700):
            x = box.left() + (nm - WAVELENGTHS[0]) / np.ptp(WAVELENGTHS) * box.width()
            painter.setPen(self.palette().mid().color())
            painter.drawLine(QPointF(x, box.top()), QPointF(x, box.bottom()))
            painter.setPen(self.palette().placeholderText().color())
            label = f"{nm} nm" if nm == 700 else str(nm)
            painter.drawText(QRectF(x - 30, box.bottom() + 1, 60, 15), Qt.AlignmentFlag.AlignCenter, label)
        highest = max((float(curve.max()) for _, curve in self._curves), default=0.0)
        styles = (Qt.PenStyle.SolidLine, Qt.PenStyle.DashLine)
        for (_, curve), style in zip(self._curves, styles, strict=False):
            if highest > 0:
                painter.setPen(QPen(self.palette().text().color(), 1.5, style))
                painter.drawPolyline(self._line(curve / highest, box))
        painter.end()

    def _line(self, curve: np.ndarray, box: QRectF) -> QPolygonF:
        x = np.linspace(box.left(), box.right(), len(curve))
        y = box.bottom() - np.clip(curve, 0, 1) * (box.height() - 3)
        return QPolygonF([QPointF(float(a), float(b)) for a, b in zip(x, y, strict=True)])
