"""The strings of the chosen plane: rows of mixes to light by one lightener or another, and how to calm."""

from __future__ import annotations

from PyQt6.QtCore import QPointF, QRectF, QSize, Qt
from PyQt6.QtGui import QColor, QPainter, QPen, QPolygonF
from PyQt6.QtWidgets import QFormLayout, QVBoxLayout, QWidget

from sitterlight.shading.cautions import cautions_and_general
from sitterlight.shading.paint_chips import code_of
from sitterlight.shading.plane_recipes import MixedHead
from sitterlight.shading.plane_strings import PlaneStrings, plane_strings
from sitterlight.shading.sheet_strings import how_much, plot_frame, short_name, way_of
from sitterlight.shading.strings import CalmingChoice, LightenerChoice
from sitterlight.shading.targets import PlaneRow, Target
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import soft, titled
from sitterlight.viewer.plane_words import plane_name
from sitterlight.viewer.screen_colour import on_screen

CHIPS = 13
MOST_ROWS = 6


class StringsPanel(QWidget):
    """Shows one stroke of one plane; what to start from can be chosen."""

    def __init__(self):
        super().__init__()
        self.strings: PlaneStrings | None = None
        self._asked: tuple | None = None
        self._wanted: str | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 8, 6)
        layout.setSpacing(6)
        self.name = titled("")
        self.name.setWordWrap(True)
        layout.addWidget(self.name)
        form = QFormLayout()
        form.setContentsMargins(0, 0, 0, 0)
        self.base = Choice("what to start from", (), worded=True)
        self.base.setToolTip("the mix, or the tube, that is lightened toward the plane")
        self.base.chosen.connect(self._take_base)
        form.addRow("start from", self.base)
        self._form = QWidget()
        self._form.setLayout(form)
        layout.addWidget(self._form)
        self.recipe, self.words, self.calm_words = soft(), soft(), soft()
        for label in (self.words, self.calm_words):
            label.setObjectName("value")
        self.lighter, self.calmer = StringRows("rows to light"), StringRows("rows that calm")
        self.chroma, self.hue = StringPlot("chroma along the rows", 1), StringPlot("hue along the rows", 2)
        self._titles = titled("To light"), titled("To calm")
        for widget in (self.recipe, self._titles[0], self.words, self.lighter, self.chroma, self.hue):
            layout.addWidget(widget)
        self.cautions = soft()
        for widget in (self._titles[1], self.calm_words, self.calmer, self.cautions):
            layout.addWidget(widget)
        layout.addStretch(1)
        self.show_nothing()

    def show_nothing(self, words: str = "Choose a plane: here is what lightening and calming do to its mix.") -> None:
        """Nothing is chosen, its recipes are still being looked for, or there are none, as the words say."""
        self.strings = self._asked = None
        self.name.setText("Strings")
        self.recipe.setText(words)
        self._show_parts(None)

    def show_plane(self, mixed: MixedHead, row: PlaneRow, target: Target) -> None:
        """Show the strings of a stroke of a plane."""
        self._asked = (mixed, row, target)
        self.strings = found = plane_strings(row, target, mixed, self._wanted)
        part = "" if target.part == "whole" else f": {target.part}"
        self.name.setText(plane_name(row).capitalize() + part)
        self.base.clear()
        for base in found.bases:
            self.base.addItem(f"{base.name}, L* {base.Lab[0]:.0f}", base.name)
        if found.base is not None:
            self.base.set_value(found.base.name)
        self.recipe.setText(found.base.recipe if found.base is not None else found.words)
        self.words.setText(found.words)
        self.calm_words.setText(found.calm_words)
        self.lighter.show_rows(found.lighteners[:MOST_ROWS], found)
        self.calmer.show_rows(found.calmers, found)
        self.chroma.show_rows(found.lighteners[:MOST_ROWS], found)
        self.hue.show_rows(found.lighteners[:MOST_ROWS], found)
        shown = *found.lighteners[:MOST_ROWS], *found.calmers
        self.cautions.setText(" ".join(cautions_and_general(choice.string.added for choice in shown)))
        self._show_parts(found)

    def _show_parts(self, found: PlaneStrings | None) -> None:
        based = found is not None and found.base is not None
        for widget in (self._form, self.words, self.lighter, self.chroma, self.hue, *self._titles, self.calm_words):
            widget.setVisible(based)
        self.recipe.setVisible(bool(self.recipe.text()))
        self.calmer.setVisible(based and bool(found.calmers))
        self.cautions.setVisible(based and bool(self.cautions.text()))

    def _take_base(self, name: str) -> None:
        self._wanted = name
        if self._asked is not None:
            self.show_plane(*self._asked)


class StringRows(QWidget):
    """Rows of chips, each under its paint's name; a mark where the row comes to the plane, the plane's chip beside."""

    def __init__(self, name: str):
        super().__init__()
        self.setAccessibleName(name)
        self.rows: tuple[LightenerChoice | CalmingChoice, ...] = ()
        self._strings: PlaneStrings | None = None

    def show_rows(self, rows, strings: PlaneStrings) -> None:
        self.rows, self._strings = tuple(rows), strings
        self.setAccessibleDescription("; ".join(f"{c.string.added.name}: {how_much(c)}" for c in self.rows))
        self.setFixedHeight(max(len(self.rows), 1) * self._row + 2)
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(240, max(len(self.rows), 1) * self._row + 2)

    @property
    def _row(self) -> int:
        return self.fontMetrics().height() + 34

    def paintEvent(self, _event) -> None:
        painter = QPainter(self)
        for place, choice in enumerate(self.rows):
            self._paint_row(painter, choice, place * self._row)
        painter.end()

    def _paint_row(self, painter: QPainter, choice, top: int) -> None:
        words, strings = self.fontMetrics().height(), self._strings
        font = painter.font()
        font.setBold(choice is strings.pick)
        painter.setFont(font)
        line = QRectF(0, top, self.width(), words)
        told = f"{how_much(choice)}, ΔE {choice.delta_e:.1f}"
        room = self.width() - self.fontMetrics().horizontalAdvance(told) - 10
        name = painter.fontMetrics().elidedText(short_name(choice.string.added), Qt.TextElideMode.ElideRight, room)
        painter.setPen(self.palette().text().color())
        painter.drawText(line, Qt.AlignmentFlag.AlignLeft, name)
        font.setBold(False)
        painter.setFont(font)
        painter.setPen(self.palette().placeholderText().color())
        painter.drawText(line, Qt.AlignmentFlag.AlignRight, told)
        y, height = top + words + 5, 20
        pair = self.width() - 52
        each = (pair - 10) / CHIPS
        for k, Lab in enumerate(choice.string.even(CHIPS)):
            painter.fillRect(QRectF(k * each, y, each + 0.6, height), on_screen(QColor(code_of(Lab))))
        for k, Lab in enumerate((choice.Lab, strings.target_Lab)):
            painter.fillRect(QRectF(pair + 26 * k, y, 26, height), on_screen(QColor(code_of(Lab))))
        way = way_of(choice, strings)
        if way is not None:
            x = (way * (CHIPS - 1) + 0.5) * each
            painter.setPen(QPen(self.palette().text().color(), 2))
            painter.drawLine(QPointF(x, y - 4), QPointF(x, y))
            painter.drawLine(QPointF(x, y + height), QPointF(x, y + height + 4))


class StringPlot(QWidget):
    """Chroma (1) or hue angle (2) of the rows over lightness, each with its number; the plane as a square."""

    def __init__(self, name: str, which: int):
        super().__init__()
        self.setAccessibleName(name)
        self.setMinimumHeight(92)
        self._which, self._rows, self._strings = which, (), None

    def sizeHint(self) -> QSize:
        return QSize(240, 92)

    def show_rows(self, rows, strings: PlaneStrings) -> None:
        self._rows, self._strings = tuple(rows), strings
        self.setAccessibleDescription(", ".join(c.string.added.name for c in self._rows))
        self.update()

    def paintEvent(self, _event) -> None:
        if not self._rows:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        small = painter.font()
        small.setPointSizeF(small.pointSizeF() * 0.82)
        painter.setFont(small)
        box = QRectF(30, 4, self.width() - 34, self.height() - 22)
        painter.fillRect(box, self.palette().base())
        (L0, L1), (v0, v1) = plot_frame([c.string for c in self._rows], self._strings.target_Lab, self._which)

        def place(L: float, value: float) -> QPointF:
            return QPointF(
                box.left() + (L - L0) / (L1 - L0) * box.width(), box.bottom() - (value - v0) / (v1 - v0) * box.height()
            )

        self._paint_axes(painter, box, (L0, L1), (v0, v1), place)
        for choice in self._rows:
            self._paint_curve(painter, choice, place)
        L, C, h = _LCh(self._strings.target_Lab)
        spot = place(L, (C, h)[self._which - 1])
        painter.setPen(QPen(self.palette().text().color(), 1.4))
        painter.setBrush(on_screen(QColor(code_of(self._strings.target_Lab))))
        painter.drawRect(QRectF(spot.x() - 4.5, spot.y() - 4.5, 9, 9))
        painter.end()

    def _paint_axes(self, painter: QPainter, box: QRectF, lightness, values, place) -> None:
        painter.setPen(self.palette().placeholderText().color())
        title = ("chroma", "hue angle")[self._which - 1]
        for L in range(10 * (int(lightness[0] + 9.99) // 10), int(lightness[1]) + 1, 10):
            x = place(L, values[0]).x()
            painter.drawText(QRectF(x - 20, box.bottom() + 1, 40, 15), Qt.AlignmentFlag.AlignCenter, str(L))
        for value, side in ((values[0], Qt.AlignmentFlag.AlignBottom), (values[1], Qt.AlignmentFlag.AlignTop)):
            rect = QRectF(0, box.top(), 26, box.height())
            painter.drawText(rect, Qt.AlignmentFlag.AlignRight | side, f"{value:.0f}")
        painter.drawText(box.adjusted(5, 1, -5, 0), Qt.AlignmentFlag.AlignLeft, f"{title} over L*")

    def _paint_curve(self, painter: QPainter, choice, place) -> None:
        LCh = choice.string.LCh
        shown = [k for k in range(len(LCh)) if self._which == 1 or LCh[k, 1] > 3.0]
        line = QPolygonF([place(LCh[k, 0], LCh[k, self._which]) for k in shown])
        picked = choice is self._strings.pick
        painter.setPen(QPen(self.palette().text().color(), 2.0 if picked else 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolyline(line)
        if shown:
            code = code_of(choice.string.Lab[shown[-1]])
            painter.setBrush(on_screen(QColor(code)))
            painter.setPen(QPen(self.palette().text().color(), 0.8))
            painter.drawEllipse(line[line.count() - 1], 4.0, 4.0)


def _LCh(Lab) -> tuple[float, float, float]:
    from sitterlight.shading.colour_spaces import LCh_from_Lab

    return tuple(float(v) for v in LCh_from_Lab(Lab))
