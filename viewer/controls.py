"""Small controls that several panels share: a slider with its name and number, a section that folds, a chip."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from PyQt6.QtCore import QEvent, QSignalBlocker, Qt, pyqtSignal
from PyQt6.QtGui import QPainter
from PyQt6.QtWidgets import (
    QAbstractSpinBox,
    QComboBox,
    QFormLayout,
    QFrame,
    QGridLayout,
    QLabel,
    QScrollArea,
    QSizePolicy,
    QSlider,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

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


def hinted(widget: QWidget, hint: str) -> QWidget:
    """The same widget, which says what it is for when pointed at, and to those who do not see it."""
    widget.setToolTip(hint)
    widget.setAccessibleDescription(hint)
    return widget


def add_row(form: QFormLayout, words: str, field: QWidget, hint: str) -> None:
    """A row of a form whose words and field say the same when pointed at."""
    form.addRow(words, hinted(field, hint))
    form.labelForField(field).setToolTip(hint)


def rule() -> QFrame:
    line = QFrame()
    line.setObjectName("rule")
    line.setFixedHeight(1)
    return line


class Scrolling(QScrollArea):
    """A widget that scrolls up and down where it is longer than its place; never narrower than the widget needs.

    With a name the keyboard comes to it, so that arrow keys can scroll what has nothing to be focused in it.
    """

    def __init__(self, widget: QWidget, least: int = 0, name: str = ""):
        super().__init__()
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if name else Qt.FocusPolicy.NoFocus)
        self._least = least
        self.setWidget(widget)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        widget.installEventFilter(self)
        self._fit()

    def eventFilter(self, watched, event) -> bool:
        if event.type() == QEvent.Type.LayoutRequest and watched is self.widget():
            self._fit()
        return super().eventFilter(watched, event)

    def _fit(self) -> None:
        needed = self.widget().minimumSizeHint().width() + self.verticalScrollBar().sizeHint().width()
        self.setMinimumWidth(max(self._least, needed))


def tab_before(place: QWidget, made: Iterable[QWidget]) -> None:
    """Let Tab come by what is newly `made` where it stands, before or at `place`: else it would come there last."""
    window, before = place.window(), place.previousInFocusChain()
    while before is not place and not (_takes_tab(before) and before.isVisibleTo(window)):
        before = before.previousInFocusChain()
    if before is place:
        return
    for part in (part for widget in made for part in (widget, *widget.findChildren(QWidget))):
        # A list that pops up is a window of its own.
        inside = part.window() is window and not isinstance(part.parent(), QAbstractSpinBox | QComboBox)
        if inside and _takes_tab(part):
            QWidget.setTabOrder(before, part)
            before = part


def _takes_tab(widget: QWidget) -> bool:
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)


def scrolling(widget: QWidget, least: int = 0, name: str = "") -> Scrolling:
    """A widget that scrolls up and down, in a place at least `least` pixels wide."""
    return Scrolling(widget, least, name)


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


class Elided(QLabel):
    """A line that loses its end where there is no room, and tells all of itself when pointed at."""

    def __init__(self):
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def setText(self, text: str) -> None:
        super().setText(text)
        self.setToolTip(text)

    def paintEvent(self, _event) -> None:
        painter = QPainter(self)
        box = self.contentsRect()
        shown = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, box.width())
        painter.drawText(box, self.alignment(), shown)
        painter.end()
