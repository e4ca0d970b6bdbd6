"""Small controls that several panels share: a slider with its name and number, a section that folds, a chip."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtCore import QSignalBlocker, QSize, Qt, pyqtSignal
from PyQt6.QtGui import QColor, QPainter
from PyQt6.QtWidgets import QFrame, QGridLayout, QLabel, QSlider, QToolButton, QVBoxLayout, QWidget

STEPS = 1000


class NamedSlider(QWidget):
    """A slider with its name above on the left and its number with unit on the right.

    `moved(value)` while it moves, `settled()` when it is let go or a key has moved it. `to_place` and `to_value` bend
    the scale: place runs from 0 to 1.
    """

    moved = pyqtSignal(float)
    settled = pyqtSignal()

    def __init__(
        self,
        name: str,
        low: float,
        high: float,
        shown: Callable[[float], str],
        to_place: Callable[[float], float] | None = None,
        to_value: Callable[[float], float] | None = None,
        hint: str = "",
    ):
        super().__init__()
        self._shown = shown
        self._to_place = to_place or (lambda value: (value - low) / (high - low))
        self._to_value = to_value or (lambda place: low + place * (high - low))
        self._name, self._number = QLabel(name), QLabel()
        self._name.setObjectName("soft")
        self._number.setObjectName("value")
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setRange(0, STEPS)
        self.slider.setPageStep(STEPS // 20)
        self.slider.setSingleStep(STEPS // 100)
        self.slider.setAccessibleName(name)
        self._name.setBuddy(self.slider)
        if hint:
            self.setToolTip(hint)
            self.slider.setAccessibleDescription(hint)
        layout = QGridLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setVerticalSpacing(1)
        layout.addWidget(self._name, 0, 0)
        layout.addWidget(self._number, 0, 1, Qt.AlignmentFlag.AlignRight)
        layout.addWidget(self.slider, 1, 0, 1, 2)
        self.slider.valueChanged.connect(self._changed)
        self.slider.sliderReleased.connect(self.settled)
        self.value = low

    def set_value(self, value: float) -> None:
        """Show a value without telling anyone."""
        self.value = value
        self._number.setText(self._shown(value))
        if not self.slider.isSliderDown():
            with QSignalBlocker(self.slider):
                self.slider.setValue(round(self._to_place(value) * STEPS))

    def _changed(self, step: int) -> None:
        self.value = self._to_value(step / STEPS)
        self._number.setText(self._shown(self.value))
        self.moved.emit(self.value)
        if not self.slider.isSliderDown():
            self.settled.emit()

    def wheelEvent(self, event) -> None:
        event.ignore()


class Section(QWidget):
    """A part of a panel under a heading that folds it away."""

    def __init__(self, title: str, body: QWidget, opened: bool = True, line: bool = True):
        super().__init__()
        self.heading = QToolButton()
        self.heading.setObjectName("heading")
        self.heading.setText(title)
        self.heading.setCheckable(True)
        self.heading.setChecked(opened)
        self.heading.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.heading.toggled.connect(self._fold)
        self.body = body
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 2, 0, 4)
        layout.setSpacing(3)
        if line:
            layout.addWidget(rule())
        layout.addWidget(self.heading)
        layout.addWidget(body)
        self._fold(opened)

    def _fold(self, opened: bool) -> None:
        self.body.setVisible(opened)
        self.heading.setArrowType(Qt.ArrowType.DownArrow if opened else Qt.ArrowType.RightArrow)


class Chip(QFrame):
    """A flat field of one colour, which can be named, clicked and focused."""

    clicked = pyqtSignal()

    def __init__(self, name: str = "", size: QSize | None = None):
        super().__init__()
        self.setAccessibleName(name)
        self._colour: QColor | None = None
        self._chosen = False
        self.setMinimumSize(size or QSize(22, 22))
        if name:
            self.setToolTip(name)

    def set_colour(self, code: str | None) -> None:
        """An sRGB code such as "#8a5a3c", or None for an empty chip."""
        self._colour = QColor(code) if code else None
        self.update()

    def set_chosen(self, chosen: bool) -> None:
        self._chosen = chosen
        self.update()

    @property
    def code(self) -> str | None:
        return self._colour.name() if self._colour else None

    def paintEvent(self, _event) -> None:
        from sitterlight.viewer.screen_colour import on_screen

        painter = QPainter(self)
        box = self.rect()
        if self._chosen or self.hasFocus():
            painter.setPen(self.palette().text().color())
            painter.drawRect(box.adjusted(0, 0, -1, -1))
            if self._chosen:
                painter.drawRect(box.adjusted(1, 1, -2, -2))
            box = box.adjusted(3, 3, -3, -3)
        if self._colour:
            painter.fillRect(box, on_screen(self._colour))
        else:
            painter.setPen(self.palette().mid().color())
            painter.drawRect(box.adjusted(0, 0, -1, -1))

    def mousePressEvent(self, event) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self.setFocus()
            self.clicked.emit()

    def keyPressEvent(self, event) -> None:
        if event.key() in (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.clicked.emit()
        else:
            super().keyPressEvent(event)


def rule() -> QFrame:
    line = QFrame()
    line.setObjectName("rule")
    line.setFixedHeight(1)
    return line


def soft(text: str = "", wrap: bool = True) -> QLabel:
    """A label in the softer grey."""
    label = QLabel(text)
    label.setObjectName("soft")
    label.setWordWrap(wrap)
    return label


def titled(text: str) -> QLabel:
    label = QLabel(text)
    label.setObjectName("title")
    return label
