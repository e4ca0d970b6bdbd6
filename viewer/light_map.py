"""A round map of the directions around the head, seen from above: the middle is overhead, the rim the horizon.

The sitter faces the bottom of the map, toward whoever looks at it, so a light on the sitter's left is on the right.
What comes from below the horizon lies in the ring outside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from PyQt6.QtCore import QPointF, QRectF, QSize, Qt, pyqtSignal
from PyQt6.QtGui import QColor, QPainter, QPen, QPolygonF
from PyQt6.QtWidgets import QWidget

from sitterlight.viewer.screen_colour import on_screen

HORIZON = 0.74
"""Where the horizon lies, as a share of the map's radius; the rest is for what comes from below."""


@dataclass(frozen=True)
class MapMark:
    """A light on the map: its place in degrees, its colour, whether it is on and whether it is chosen."""

    name: str
    azimuth: float
    elevation: float
    code: str
    on: bool = True
    chosen: bool = False


def to_map(azimuth: float, elevation: float) -> tuple[float, float]:
    """Place on a map of radius one: right is the sitter's left, down is in front."""
    radius = HORIZON * (90 - elevation) / 90 if elevation >= 0 else HORIZON + (1 - HORIZON) * -elevation / 90
    angle = math.radians(azimuth)
    return radius * math.sin(angle), radius * math.cos(angle)


def from_map(x: float, y: float) -> tuple[float, float]:
    """Azimuth and elevation in degrees of a place on the map."""
    radius = min(math.hypot(x, y), 1.0)
    above, below = 90 * (1 - radius / HORIZON), -90 * (radius - HORIZON) / (1 - HORIZON)
    return math.degrees(math.atan2(x, y)), above if radius <= HORIZON else below


class LightMap(QWidget):
    """Emits `moved(name, azimuth, elevation)` while a light is dragged or pushed by the arrow keys, `chosen(name)`,
    and `settled()` when it is let go."""

    moved = pyqtSignal(str, float, float)
    chosen = pyqtSignal(str)
    settled = pyqtSignal()

    def __init__(self):
        super().__init__()
        self.marks: list[MapMark] = []
        self.eye = (0.0, 0.0)
        self.domes: list[str] = []
        self._held: str | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("map of directions")
        self.setAccessibleDescription("Seen from above. Arrow keys move the chosen light.")
        self.setToolTip("Drag a light round the head. Middle: overhead; ring: horizon; outside: from below.")
        self.setMinimumSize(170, 170)

    def sizeHint(self) -> QSize:
        return QSize(210, 196)

    def show_lights(self, marks: list[MapMark], eye: tuple[float, float], domes: list[str]) -> None:
        """Show these lights and where the eye stands; `domes` are colours of lights that come from all the sky."""
        self.marks, self.eye, self.domes = marks, eye, domes
        self.update()

    @property
    def radius(self) -> float:
        return min(self.width(), self.height()) / 2 - 12

    def place(self, azimuth: float, elevation: float) -> QPointF:
        x, y = to_map(azimuth, elevation)
        return QPointF(self.width() / 2 + x * self.radius, self.height() / 2 + y * self.radius)

    def paintEvent(self, _event) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._ground(painter)
        self._head(painter)
        self._eye(painter)
        for mark in self.marks:
            self._light(painter, mark)
        painter.end()

    def _ground(self, painter: QPainter) -> None:
        palette = self.palette()
        middle = QPointF(self.width() / 2, self.height() / 2)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(palette.base())
        painter.drawEllipse(middle, self.radius, self.radius)
        painter.setBrush(palette.button())
        painter.drawEllipse(middle, self.radius * HORIZON, self.radius * HORIZON)
        for place, code in enumerate(self.domes):
            painter.setBrush(Qt.BrushStyle.NoBrush)
            inner = self.radius * HORIZON - 4 * place - 3
            for colour, width in ((palette.placeholderText().color(), 4.5), (on_screen(QColor(code)), 3)):
                painter.setPen(QPen(colour, width))
                painter.drawEllipse(middle, inner, inner)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(palette.mid().color(), 1))
        for elevation in (0, 30, 60):
            radius = self.radius * HORIZON * (90 - elevation) / 90
            painter.drawEllipse(middle, radius, radius)
        painter.setPen(palette.placeholderText().color())
        for words, azimuth in (("front", 0), ("behind", 180)):
            at = self.place(azimuth, -55)
            painter.drawText(QRectF(at.x() - 40, at.y() - 9, 80, 18), Qt.AlignmentFlag.AlignCenter, words)

    def _head(self, painter: QPainter) -> None:
        middle, size = QPointF(self.width() / 2, self.height() / 2), self.radius * 0.13
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self.palette().placeholderText())
        painter.drawEllipse(middle, size * 0.82, size)
        nose = [QPointF(-0.24, 0.85), QPointF(0.24, 0.85), QPointF(0, 1.3)]
        painter.drawPolygon(QPolygonF([middle + point * size for point in nose]))

    def _eye(self, painter: QPainter) -> None:
        at = self.place(*self.eye)
        pen = QPen(self.palette().text().color(), 1.4)
        painter.setPen(pen)
        painter.setBrush(self.palette().base())
        lid = [at + QPointF(-8, 0), at + QPointF(-3, -4.5), at + QPointF(3, -4.5), at + QPointF(8, 0)]
        lid += [at + QPointF(3, 4.5), at + QPointF(-3, 4.5)]
        painter.drawPolygon(QPolygonF(lid))
        painter.setBrush(self.palette().text())
        painter.drawEllipse(at, 2.2, 2.2)

    def _light(self, painter: QPainter, mark: MapMark) -> None:
        at = self.place(mark.azimuth, mark.elevation)
        text = self.palette().text().color()
        if mark.on:
            painter.setPen(QPen(self.palette().placeholderText().color(), 1.2))
            painter.setBrush(on_screen(QColor(mark.code)))
        else:
            painter.setPen(QPen(self.palette().placeholderText().color(), 1.5))
            painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(at, 8.5, 8.5)
        if mark.chosen:
            painter.setPen(QPen(text, 1.8))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(at, 12, 12)

    def mousePressEvent(self, event) -> None:
        near = [(math.dist(_xy(self.place(m.azimuth, m.elevation)), _xy(event.position())), m.name) for m in self.marks]
        distance, name = min(near, default=(99.0, ""))
        self._held = name if distance < 18 else None
        if self._held:
            self.chosen.emit(self._held)

    def mouseMoveEvent(self, event) -> None:
        if self._held:
            x = (event.position().x() - self.width() / 2) / self.radius
            y = (event.position().y() - self.height() / 2) / self.radius
            self.moved.emit(self._held, *from_map(x, y))

    def mouseReleaseEvent(self, _event) -> None:
        if self._held:
            self._held = None
            self.settled.emit()

    def keyPressEvent(self, event) -> None:
        steps = {Qt.Key.Key_Left: (-5, 0), Qt.Key.Key_Right: (5, 0), Qt.Key.Key_Up: (0, 5), Qt.Key.Key_Down: (0, -5)}
        mark = next((mark for mark in self.marks if mark.chosen), None)
        if mark is None or event.key() not in steps:
            super().keyPressEvent(event)
            return
        across, upward = steps[Qt.Key(event.key())]
        azimuth = (mark.azimuth + across + 180) % 360 - 180
        self.moved.emit(mark.name, azimuth, max(-90.0, min(90.0, mark.elevation + upward)))
        self.settled.emit()


def _xy(point: QPointF) -> tuple[float, float]:
    return point.x(), point.y()
