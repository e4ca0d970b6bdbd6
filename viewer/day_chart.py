"""A day as curves over one axis of hours: heads, planes as ribbons of their colours, the card's light, the planes."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from PyQt6.QtCore import QPointF, QRectF, QSize, Qt, pyqtSignal
from PyQt6.QtGui import QColor, QImage, QPainter, QPen
from PyQt6.QtWidgets import QWidget

from sitterlight.shading.day_curves import Curve, Panel
from sitterlight.shading.day_hours import DayHours
from sitterlight.shading.day_panels import clock_hours, clock_span, day_panels, line_style, shown_planes
from sitterlight.viewer.day_readings import hour_reading, plane_reading
from sitterlight.viewer.screen_colour import codes_on_screen, on_screen

LEFT, RIGHT = 172, 14
HEADS, RIBBON, PANEL, BETWEEN, HOURS = 124, 17, 62, 12, 20
NEAR = 7.0
"""Pixels from the pointer within which a curve is meant."""


class DayChart(QWidget):
    """Emits `chosen(place)` of an hour when it is clicked, or taken by Return; `read(words)` of what is pointed at."""

    chosen = pyqtSignal(int)
    read = pyqtSignal(str)

    def __init__(self):
        super().__init__()
        self.day: DayHours | None = None
        self.panels: list[Panel] = []
        self.shown: list[int] = []
        self.at_hand: float | None = None
        self.cursor: int | None = None
        self.pointed: int | None = None
        self._pictures: list[tuple[np.ndarray, QImage]] = []  # of the hours, and what they look like on the screen
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("curves of the day")
        self.setAccessibleDescription("Left and right go through the hours, Return sets the sitting's time.")
        self.setMinimumWidth(560)

    def show_day(self, day: DayHours | None) -> None:
        """Show the hours of a day, or nothing."""
        self.day, self.cursor, self.pointed = day, None, None
        self.shown = [] if day is None else shown_planes(day)
        self.panels = [] if day is None else day_panels(day.hours, self.shown)
        known = {id(picture): (picture, image) for picture, image in self._pictures}
        pictures = [] if day is None else [hour.picture for hour in day.hours]
        # A day comes hour by hour: what has been turned into an image is not turned again.
        self._pictures = [known.get(id(picture)) or (picture, picture_image(picture)) for picture in pictures]
        self.setFixedHeight(self._height)
        self.update()

    def show_time(self, hour: float | None) -> None:
        """Mark the hour of the sitting at hand, in hours since midnight; None where it is another day."""
        self.at_hand = hour
        self.update()

    # ---- places

    @property
    def _height(self) -> int:
        if self.day is None:
            return 40
        return HEADS + len(self.shown) * RIBBON + 12 + len(self.panels) * (PANEL + BETWEEN) + HOURS

    def sizeHint(self) -> QSize:
        return QSize(820, self._height)

    @property
    def _span(self) -> tuple[float, float]:
        return clock_span(self.day)

    def x(self, hour: float) -> float:
        """Place across of an hour of the day."""
        first, last = self._span
        return LEFT + (hour - first) / (last - first) * (self.width() - LEFT - RIGHT)

    def place_at(self, x: float) -> int | None:
        """The hour nearest to a place across, None beside the hours."""
        if self.day is None or not LEFT - 4 <= x <= self.width() - RIGHT + 4:
            return None
        return int(np.argmin([abs(self.x(clock_hours(hour)) - x) for hour in self.day.hours]))

    def _panel_top(self, number: int) -> float:
        return HEADS + len(self.shown) * RIBBON + 12 + number * (PANEL + BETWEEN)

    def _plane_at(self, x: float, y: float) -> int | None:
        """Which of the shown planes is meant: its ribbon, or its curve if that is near."""
        row = int((y - HEADS) // RIBBON)
        if 0 <= row < len(self.shown):
            return row
        place = self.place_at(x)
        if place is None:
            return None
        near = []
        for number, panel in enumerate(self.panels[2:], 2):
            for row, curve in enumerate(panel.curves):
                if curve.values[place] is not None:
                    near.append((abs(self._y(panel, number, curve.values[place]) - y), row))
        distance, row = min(near, default=(99.0, 0))
        return row if distance < NEAR else None

    def _y(self, panel: Panel, number: int, value: float) -> float:
        return self._panel_top(number) + PANEL * (1 - panel.place(value))

    # ---- drawing

    def paintEvent(self, _event) -> None:
        if self.day is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        small = painter.font()
        small.setPointSizeF(small.pointSizeF() * 0.86)
        painter.setFont(small)
        self._heads(painter)
        self._ribbons(painter)
        for number, panel in enumerate(self.panels):
            self._panel(painter, number, panel)
        self._hours(painter)
        self._lines(painter)
        painter.end()

    def _heads(self, painter: QPainter) -> None:
        tall = HEADS - 26.0
        wide = tall * self._pictures[0][1].width() / self._pictures[0][1].height()
        step = self.x(self.day.step.total_seconds() / 3600) - self.x(0)
        every = max(1, int(np.ceil(wide / step)))
        self._gutter(painter, 4, "As seen", bold=True)
        count = len(self.day.times) or len(self.day.hours)
        inside = range(every // 2, count - every // 2) or range(1)
        for place in inside[(len(inside) - 1) % every // 2 :: every]:
            if place >= len(self._pictures):
                break
            hour = self.day.hours[place]
            middle = self.x(clock_hours(hour))
            painter.drawImage(QRectF(middle - wide / 2, 4, wide, tall), self._pictures[place][1])
            painter.setPen(self.palette().placeholderText().color())
            where = QRectF(middle - 30, 5 + tall, 60, 15)
            painter.drawText(where, Qt.AlignmentFlag.AlignCenter, hour.clock)

    def _ribbons(self, painter: QPainter) -> None:
        half = self.day.step.total_seconds() / 7200
        for row, k in enumerate(self.shown):
            top = HEADS + row * RIBBON
            for hour in self.day.hours:
                left, right = (self.x(clock_hours(hour) + side * half) for side in (-1, 1))
                where, colour = QRectF(left, top, right - left + 0.5, RIBBON - 2), QColor(hour.planes[k].srgb)
                painter.fillRect(where, on_screen(colour))
            colour, dashed = line_style(row, self.day.hours[0].planes, self.shown)
            painter.setPen(self._pen(colour, dashed, row))
            painter.drawLine(QPointF(2, top + 7.5), QPointF(24, top + 7.5))
            self._gutter(painter, top, self.day.hours[0].planes[k].label, 30, bold=row == self.pointed)

    def _gutter(self, painter: QPainter, top: float, words: str, left: float = 0, bold: bool = False) -> None:
        font = painter.font()
        font.setBold(bold)
        painter.setFont(font)
        painter.setPen(self.palette().text().color())
        words = painter.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, int(LEFT - left - 8))
        painter.drawText(QRectF(left, top - 2, LEFT - left - 6, 18), Qt.AlignmentFlag.AlignVCenter, words)
        font.setBold(False)
        painter.setFont(font)

    def _panel(self, painter: QPainter, number: int, panel: Panel) -> None:
        top = self._panel_top(number)
        box = QRectF(LEFT, top, self.width() - LEFT - RIGHT, PANEL)
        painter.fillRect(box, self.palette().base())
        self._gutter(painter, top, panel.heading, bold=True)
        named: list[float] = []
        for value, words in sorted(panel.marks, key=lambda mark: mark[0] not in (0.0, panel.low, panel.high)):
            y = self._y(panel, number, value)
            painter.setPen(QPen(self.palette().mid().color(), 1))
            painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
            middle = min(max(y, top + 5), top + PANEL - 5)
            if all(abs(middle - other) > 12 for other in named):
                named.append(middle)
                painter.setPen(self.palette().placeholderText().color())
                where = QRectF(LEFT - 86, middle - 8, 80, 16)
                painter.drawText(where, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, words)
        for row in sorted(range(len(panel.curves)), key=lambda row: row == self.pointed):
            self._curve(painter, number, panel, panel.curves[row], row if number >= 2 else None)

    def _curve(self, painter: QPainter, number: int, panel: Panel, curve: Curve, row: int | None) -> None:
        pen = self._pen(curve.colour, curve.dashed, row)
        points = [
            None if value is None else QPointF(self.x(hour), self._y(panel, number, value))
            for hour, value in zip(curve.hours, curve.values, strict=True)
        ]
        joined = [False] * len(points)
        painter.setPen(pen)
        for k, (one, other) in enumerate(pairwise(points)):
            if one is None or other is None or abs(curve.values[k + 1] - curve.values[k]) > curve.gap:
                continue
            painter.drawLine(one, other)
            joined[k] = joined[k + 1] = True
        painter.setBrush(pen.color())
        for point, is_joined in zip(points, joined, strict=True):
            if point is not None and not is_joined:
                painter.drawEllipse(point, 1.4, 1.4)
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _pen(self, code: str, dashed: bool, row: int | None) -> QPen:
        """A curve's pen: its colour made light on a dark ground; what is not pointed at steps back."""
        colour, text = QColor(code), self.palette().text().color()
        if self.palette().base().color().lightness() < 128:
            hue, saturation, lightness, _ = colour.getHslF()
            colour = QColor.fromHslF(max(hue, 0.0), min(saturation * 1.1, 1.0), 0.62 + 0.25 * lightness)
        if row is None:
            colour = text
        if row is not None and self.pointed is not None and row != self.pointed:
            colour.setAlphaF(0.3)
        width = 2.4 if row is not None and row == self.pointed else 1.5
        return QPen(colour, width, Qt.PenStyle.DashLine if dashed else Qt.PenStyle.SolidLine)

    def _hours(self, painter: QPainter) -> None:
        first, last = self._span
        every = 1 if last - first <= 15 else 2
        top = self._panel_top(len(self.panels)) - BETWEEN + 2
        painter.setPen(self.palette().placeholderText().color())
        for hour in range(int(np.ceil(first)), int(last) + 1):
            if hour % every == 0:
                painter.drawText(QRectF(self.x(hour) - 30, top, 60, 16), Qt.AlignmentFlag.AlignCenter, f"{hour:02d}:00")

    def _lines(self, painter: QPainter) -> None:
        """The sitting's own hour, and the one pointed at."""
        bottom = self._panel_top(len(self.panels)) - BETWEEN
        text = self.palette().text().color()
        if self.at_hand is not None and self._span[0] <= self.at_hand <= self._span[1]:
            painter.setPen(QPen(text, 1.2))
            x = self.x(self.at_hand)
            painter.drawLine(QPointF(x, HEADS - 4), QPointF(x, bottom))
        if self.cursor is not None:
            painter.setPen(QPen(text, 1, Qt.PenStyle.DotLine))
            x = self.x(clock_hours(self.day.hours[self.cursor]))
            painter.drawLine(QPointF(x, 2), QPointF(x, bottom))

    # ---- what is pointed at

    def point(self, place: int | None, row: int | None = None) -> None:
        """Point at an hour and, if `row` is given, one of the shown planes."""
        if (place, row) != (self.cursor, self.pointed):
            self.cursor, self.pointed = place, row
            self.update()
            self.read.emit(self._reading())

    def _reading(self) -> str:
        if self.cursor is None or self.day is None:
            return ""
        hour = self.day.hours[self.cursor]
        words = hour_reading(hour)
        return words if self.pointed is None else f"{words}\n{plane_reading(hour.planes[self.shown[self.pointed]])}"

    def mouseMoveEvent(self, event) -> None:
        if self.day is not None:
            x, y = event.position().x(), event.position().y()
            self.point(self.place_at(x), self._plane_at(x, y))

    def leaveEvent(self, _event) -> None:
        self.point(None)

    def mousePressEvent(self, event) -> None:
        place = self.place_at(event.position().x()) if self.day is not None else None
        if event.button() == Qt.MouseButton.LeftButton and place is not None:
            self.chosen.emit(place)

    def keyPressEvent(self, event) -> None:
        if self.day is None:
            super().keyPressEvent(event)
            return
        last = len(self.day.hours) - 1
        steps = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        rows = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
        if event.key() in steps:
            here = self._nearest() if self.cursor is None else self.cursor + steps[Qt.Key(event.key())]
            self.point(min(max(here, 0), last), self.pointed)
        elif event.key() in rows:
            here = -1 if self.pointed is None else self.pointed
            row = (here + rows[Qt.Key(event.key())]) % len(self.shown)
            self.point(self._nearest() if self.cursor is None else self.cursor, row)
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space) and self.cursor is not None:
            self.chosen.emit(self.cursor)
        else:
            super().keyPressEvent(event)

    def _nearest(self) -> int:
        if self.at_hand is None:
            return len(self.day.hours) // 2
        return int(np.argmin([abs(clock_hours(hour) - self.at_hand) for hour in self.day.hours]))


def picture_image(picture: np.ndarray) -> QImage:
    """Pixels (H,W,3) uint8 as the screen wants them."""
    codes = np.ascontiguousarray(codes_on_screen(picture.reshape(-1, 3)).reshape(picture.shape))
    height, width = codes.shape[:2]
    return QImage(codes.tobytes(), width, height, 3 * width, QImage.Format.Format_RGB888).copy()
