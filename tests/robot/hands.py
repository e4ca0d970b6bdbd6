"""What a hand can do to a control, by its kind, and what a control is called."""

from __future__ import annotations

import random
import re

from PyQt6.QtCore import QDate, QEvent, QPoint, QPointF, Qt
from PyQt6.QtGui import QKeyEvent, QMouseEvent, QWheelEvent
from PyQt6.QtTest import QTest
from PyQt6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSlider,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QDateEdit,
    QLineEdit,
    QPlainTextEdit,
    QScrollBar,
    QSplitterHandle,
    QTabBar,
    QWidget,
)

LEFT, RIGHT = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton
NONE, SHIFT = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ShiftModifier
TYPED = ("7", "-3", "nose", "1e9", "ä Ω 鼻", '"', "0.5", "umber", "12:30", "PB29", "D65", "5600 K", "nan", "x" * 300)
_KEYS = """
    Left Right Up Down PageUp PageDown Home End Space Return Escape Delete Tab Backtab Backspace Plus Minus
    A M X D G H F T P B K 1 2 3 4 5
"""
KEYS = [getattr(Qt.Key, f"Key_{name}") for name in _KEYS.split()]


def controls(top: QWidget) -> list[tuple[str, QWidget]]:
    """Everything under `top` that answers to a hand, by name, in a fixed order."""
    found = [top, *top.findChildren(QWidget)]
    named = [(name_of(one), one) for one in found if one.isVisible() and one.isEnabled() and kind_of(one)]
    return sorted(named, key=lambda pair: (pair[0], _place(pair[1], top)))


def _place(widget: QWidget, top: QWidget) -> tuple[int, int]:
    place = widget.mapTo(top, QPoint(0, 0)) if widget is not top else QPoint(0, 0)
    return place.y(), place.x()


def kind_of(widget: QWidget) -> str | None:
    """What sort of control a widget is; None where it is none."""
    if isinstance(widget, QLineEdit) and isinstance(widget.parent(), QAbstractSpinBox | QComboBox):
        return None
    for kind, sort in _KINDS.items():
        if isinstance(widget, sort):
            return kind
    ours = type(widget).__module__.startswith("sitterlight.")
    return (
        "field" if ours and type(widget).mousePressEvent is not QWidget.mousePressEvent and _is_field(widget) else None
    )


def _is_field(widget: QWidget) -> bool:
    return any("mousePressEvent" in vars(sort) for sort in type(widget).__mro__ if sort.__module__.startswith("sitter"))


def name_of(widget: QWidget) -> str:
    """Kind, panel and words of a control; numbers are left out, so that it keeps its name."""
    panel, words = widget, ""
    while panel is not None and not type(panel).__module__.startswith("sitterlight."):
        panel = panel.parentWidget()
    text = getattr(widget, "text", None)
    for given in (widget.accessibleName(), text() if isinstance(widget, QAbstractButton) else "", widget.objectName()):
        words = words or given
    if isinstance(widget, QAbstractButton) and not words:
        words = widget.toolTip()
    panel_name = type(panel).__name__ if panel is not None else type(widget.window()).__name__
    return re.sub(r"[-−\d.,:%]+", "…", f"{kind_of(widget)} {panel_name}/{type(widget).__name__} {words[:50]!r}")


def use(widget: QWidget, chance: random.Random) -> str:
    """Do something to a control; what was done, in words."""
    return _USES[kind_of(widget)](widget, chance)


def somewhere(widget: QWidget, chance: random.Random) -> QPoint:
    return QPoint(chance.randrange(max(widget.width(), 1)), chance.randrange(max(widget.height(), 1)))


def drag(widget: QWidget, chance: random.Random, button=LEFT, modifier=NONE, here: QPoint | None = None) -> str:
    """Press, move in a few steps, let go; at times outside of the widget."""
    here, there = here or somewhere(widget, chance), somewhere(widget, chance)
    if chance.random() < 0.1:
        there = QPoint(there.x() - 2 * widget.width(), there.y() + 3 * widget.height())
    QTest.mousePress(widget, button, modifier, here)
    steps = chance.randint(1, 8)
    for step in range(1, steps + 1):
        _move(widget, here + (there - here) * step / steps, button, modifier)
    QTest.mouseRelease(widget, button, modifier, there)
    return f"drag {here.x()},{here.y()} → {there.x()},{there.y()}"


def _move(widget: QWidget, place: QPoint, button, modifier) -> None:
    at = QPointF(place)
    event = QMouseEvent(QEvent.Type.MouseMove, at, widget.mapToGlobal(at), Qt.MouseButton.NoButton, button, modifier)
    QApplication.sendEvent(widget, event)


def wheel(widget: QWidget, chance: random.Random) -> str:
    at, turn = QPointF(somewhere(widget, chance)), QPoint(0, chance.choice((-480, -120, 120, 480)))
    where = widget.mapToGlobal(at)
    none, phase = Qt.MouseButton.NoButton, Qt.ScrollPhase.NoScrollPhase
    QApplication.sendEvent(widget, QWheelEvent(at, where, QPoint(), turn, none, NONE, phase, False))
    return f"wheel {turn.y()}"


def press_key(widget: QWidget, chance: random.Random) -> str:
    key = chance.choice(KEYS)
    QTest.keyClick(widget, key, chance.choice((NONE, NONE, NONE, SHIFT)))
    return f"key {key.name}"


def _click(button: QAbstractButton, chance: random.Random) -> str:
    QTest.mouseClick(button, LEFT, NONE, button.rect().center())
    return "click"


def _slide(slider: QAbstractSlider, chance: random.Random) -> str:
    way = chance.random()
    if way < 0.3:
        for _ in range(chance.randint(1, 5)):
            QTest.keyClick(slider, chance.choice(KEYS[:8]))
        return "keys"
    low, high = slider.minimum(), slider.maximum()
    slider.setSliderDown(True)
    value = chance.choice((low, high, chance.randint(low, high)))
    for _ in range(chance.randint(1, 6)):
        value = chance.choice((low, high)) if chance.random() < 0.2 else chance.randint(low, high)
        slider.setSliderPosition(value)
    slider.setSliderDown(False)
    return f"slide to {value}"


def _spin(box: QAbstractSpinBox, chance: random.Random) -> str:
    if isinstance(box, QDateEdit) and chance.random() < 0.5:
        box.setDate(QDate(chance.randint(1950, 2099), chance.randint(1, 12), chance.randint(1, 28)))
        return "another day"
    if chance.random() < 0.5:
        steps = chance.choice((-10, -1, 1, 10))
        box.stepBy(steps)
        return f"step {steps}"
    edit = box.findChild(QLineEdit)
    return _type(edit, chance) if edit is not None else "nothing"


def _type(edit: QWidget, chance: random.Random) -> str:
    words = chance.choice(TYPED) if chance.random() < 0.6 else str(chance.randint(0, 9999))
    edit.setFocus()
    if chance.random() < 0.8 and hasattr(edit, "selectAll"):
        edit.selectAll()
    for sign in words:
        _type_sign(edit, sign)
    QTest.keyClick(edit, chance.choice((Qt.Key.Key_Return, Qt.Key.Key_Tab)))
    return f"type {words[:20]!r}"


def _type_sign(edit: QWidget, sign: str) -> None:
    """A key press with that text; Qt's own for tests knows Latin letters alone."""
    for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
        QApplication.sendEvent(edit, QKeyEvent(kind, Qt.Key.Key_unknown, NONE, sign))


def _choose(box: QComboBox, chance: random.Random) -> str:
    if not box.count():
        return "nothing to choose"
    if box.isEditable() and chance.random() < 0.3 and box.lineEdit() is not None:
        return _type(box.lineEdit(), chance)
    if chance.random() < 0.3:
        QTest.keyClick(box, chance.choice(KEYS[:8]))
        return "key"
    number = chance.randrange(box.count())
    if not box.model().flags(box.model().index(number, 0)) & Qt.ItemFlag.ItemIsEnabled:
        return "not to be chosen"
    box.setCurrentIndex(number)
    box.textActivated.emit(box.itemText(number))
    box.activated.emit(number)
    return f"choose {box.itemText(number)[:40]!r}"


def _pick(view: QAbstractItemView, chance: random.Random) -> str:
    way = chance.random()
    port = view.viewport()
    if way < 0.15:
        return press_key(view, chance)
    if way < 0.25:
        return drag(port, chance)
    place = somewhere(port, chance)
    if way < 0.32:
        view.customContextMenuRequested.emit(place)
        return "menu of a row"
    if way < 0.4:
        QTest.mouseDClick(port, LEFT, NONE, place)
        return "double click"
    QTest.mouseClick(port, LEFT, chance.choice((NONE, NONE, SHIFT)), place)
    return f"click {place.x()},{place.y()}"


def _turn_tab(bar: QTabBar, chance: random.Random) -> str:
    number = chance.randrange(max(bar.count(), 1))
    QTest.mouseClick(bar, LEFT, NONE, bar.tabRect(number).center())
    return f"tab {number}"


def _touch(field: QWidget, chance: random.Random) -> str:
    way = chance.random()
    if hasattr(field, "marks") and field.marks and way < 0.6:  # the map: take hold of a light
        mark = chance.choice(field.marks)
        return drag(field, chance, here=field.place(mark.azimuth, mark.elevation).toPoint())
    if way < 0.5:
        QTest.mouseClick(field, LEFT, NONE, somewhere(field, chance))
        return "click"
    if way < 0.8:
        return drag(field, chance)
    if way < 0.9:
        return wheel(field, chance)
    return press_key(field, chance)


_KINDS = {
    "button": QAbstractButton,
    "scroll": QScrollBar,
    "slider": QAbstractSlider,
    "box": QAbstractSpinBox,
    "choice": QComboBox,
    "line": QLineEdit | QPlainTextEdit,
    "list": QAbstractItemView,
    "tabs": QTabBar,
    "split": QSplitterHandle,
}
_USES = {
    "button": _click,
    "scroll": _slide,
    "slider": _slide,
    "box": _spin,
    "choice": _choose,
    "line": _type,
    "list": _pick,
    "tabs": _turn_tab,
    "split": drag,
    "field": _touch,
}
