"""The real window: reached by keyboard, named for those who do not see it, never still for long, at any size."""

from __future__ import annotations

import time
from dataclasses import replace
from itertools import pairwise

import pytest
from window_driver import BALL, BUST

from sitterlight.shading.sitting import with_skin
from sitterlight.shading.sittings import built_in

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")


def test_the_last_of_many_requests_counts(shown):
    window = shown(BALL)
    for ladder in (1, 2, 3, 5, 6, 7, 8, 9):
        window.model.change(with_skin(BALL, ladder=ladder), "skin", key="skin")
    shown()
    assert window.lit.sitting.skin.ladder == 9


def test_every_control_has_a_name(shown):
    """Walks all widgets: what can be focused or pressed says what it is."""
    from PyQt6.QtCore import Qt
    from PyQt6.QtWidgets import (
        QAbstractButton,
        QAbstractSpinBox,
        QComboBox,
        QLineEdit,
        QScrollArea,
        QSlider,
        QTabBar,
        QTreeView,
        QWidget,
    )

    from sitterlight.viewer.chip import Chip

    window = shown(BALL)
    nameless = []
    for widget in window.findChildren(QWidget):
        name = widget.accessibleName()
        if isinstance(widget, QSlider | QComboBox | QAbstractSpinBox | QTreeView):
            nameless += [] if name else [widget]
        elif isinstance(widget, QLineEdit):
            owner = widget.parent()
            nameless += [] if name or isinstance(owner, QAbstractSpinBox | QComboBox) else [widget]
        elif isinstance(widget, QAbstractButton):
            own = widget.metaObject().className().startswith("Qt") or widget.parent().__class__.__module__ == "PyQt6"
            inner = widget.objectName().startswith(("qt_", "ScrollLeft", "ScrollRight")) or own
            nameless += [] if name or widget.text() or inner or not _lasting(widget) else [widget]
        elif isinstance(widget, QScrollArea | QTabBar) and widget.focusPolicy() & Qt.FocusPolicy.TabFocus:
            nameless += [] if name or widget.parent() is window else [widget]
        elif isinstance(widget, Chip) and widget.focusPolicy() and not name:
            nameless.append(widget)
    assert not nameless, [(type(w).__name__, w.objectName(), type(w.parent()).__name__) for w in nameless]


@pytest.mark.parametrize("name", ["afternoon-terrace", "north-studio", "lamp-and-dusk"])
def test_every_box_says_what_it_is_for(shown, name):
    """In the panels, with a light of each kind chosen: pointed at, and to those who do not see it."""
    from PyQt6.QtWidgets import QAbstractSpinBox, QComboBox, QDockWidget, QLineEdit, QPushButton

    window = shown(BALL)
    window.model.open(replace(built_in(name), head=BALL.head))
    for light in window.model.sitting.lights:
        window.lights.choose(light.name)
        untold = [
            widget.accessibleName() or widget.text()
            for dock in window.findChildren(QDockWidget)
            for kind in (QComboBox, QAbstractSpinBox, QLineEdit, QPushButton)
            for widget in dock.findChildren(kind)
            if not widget.toolTip() and not isinstance(widget.parent(), QAbstractSpinBox | QComboBox)
        ]
        assert not untold, (name, light.name)


def _lasting(button) -> bool:
    """Not one of Qt's own little buttons inside a line of text or a bar."""
    from PyQt6.QtWidgets import QLineEdit, QMenuBar, QTabBar

    return not isinstance(button.parent(), QLineEdit | QMenuBar | QTabBar)


def test_the_keyboard_reaches_every_control_in_order(shown, qtlog):
    """Tab from control to control comes by all that are shown and back to the first, from left to right."""
    from PyQt6.QtCore import Qt
    from PyQt6.QtWidgets import QAbstractSpinBox, QCheckBox, QComboBox, QPushButton, QSlider, QWidget

    shown(replace(BALL, lights=BALL.lights[:1]))
    window = shown(BALL)  # whose lights are listed anew
    tabbed = {
        widget
        for kind in (QSlider, QComboBox, QAbstractSpinBox, QCheckBox, QPushButton)
        for widget in window.findChildren(kind)
        if widget.isVisible() and widget.isEnabled()
    }
    assert len(tabbed) > 15
    assert all(widget.focusPolicy() & Qt.FocusPolicy.TabFocus for widget in tabbed)
    reached, widget, sides = [], window.sitter.chips[0], []
    for _ in range(2000):
        widget = widget.nextInFocusChain()
        if widget is window.sitter.chips[0]:
            break
        if widget in tabbed:
            reached.append(widget)
            sides.append(_side(window, widget))
    assert tabbed <= set(reached), [w.accessibleName() for w in tabbed - set(reached)]
    assert isinstance(reached[0], QWidget)
    changes = sum(one != other for one, other in pairwise(sides))
    assert changes <= 3, "Tab jumps to and fro between the sides"
    assert not [record.message for record in qtlog.records if "TabOrder" in record.message]


def _side(window, widget) -> str:
    from PyQt6.QtWidgets import QDockWidget

    while widget is not None and not isinstance(widget, QDockWidget):
        widget = widget.parentWidget()
    return widget.objectName() if widget is not None else "middle"


def test_everything_in_the_menus_is_named_and_keys_are_given_once(shown):
    window = shown(BALL)
    keys: dict[str, str] = {}
    for name, action in window.actions_by_name.items():
        assert action.text()
        for shortcut in action.shortcuts():
            key = shortcut.toString()
            assert keys.setdefault(key, name) == name, f"{key} is given to {keys[key]} and {name}"
    for wanted in ("open", "save", "undo", "redo", "copy", "search", "sheet", "print", "hold", "quit", "from front"):
        assert window.actions_by_name[wanted].shortcuts(), wanted


def test_a_slider_is_moved_by_keys_and_undone_in_steps(shown, qtbot):
    from PyQt6.QtCore import Qt

    window = shown(BALL)
    slider = window.sitter.oil.slider
    qtbot.keyClick(slider, Qt.Key.Key_Right)
    first = window.model.sitting
    qtbot.keyClick(slider, Qt.Key.Key_PageUp)
    assert window.model.sitting.skin.oil > first.skin.oil > BALL.skin.oil
    window.model.undo()
    assert window.model.sitting == first
    window.model.undo()
    assert window.model.sitting == BALL


@pytest.mark.parametrize("size", [(640, 400), (960, 540), (1280, 800), (1920, 1080)])
def test_nothing_is_cut_off_at_any_size(shown, qtbot, size):
    """640 × 400 is what 1280 × 800 leaves at twofold scaling, 960 × 540 what 1920 × 1080 does."""
    from PyQt6.QtWidgets import QScrollArea

    window = shown(BUST)
    window.resize(*size)
    qtbot.wait(60)
    try:
        assert (window.width(), window.height()) == size
        stage = window.stages.first
        assert stage.width() >= 150 and stage.height() >= 150
        assert window.stages.legend.line.isVisible()
        window.model.hold(BUST)
        _assert_heads_are_whole(window, qtbot, 2)
        window.stages.difference.setChecked(True)
        _assert_heads_are_whole(window, qtbot, 3)
        for area in window.findChildren(QScrollArea):
            if area.isVisible() and area.widget().minimumSizeHint().width() > area.viewport().width():
                names = [type(w).__name__ for w in area.widget().children() if hasattr(w, "minimumSizeHint")]
                raise AssertionError((size, area.viewport().width(), area.widget().minimumSizeHint().width(), names))
    finally:
        window.model.hold(None)
        window.resize(1280, 800)
        qtbot.wait(60)


def _assert_heads_are_whole(window, qtbot, count: int) -> None:
    """Each of so many stages has room in its box, and all of them in the window."""
    qtbot.wait(60)
    stages = [stage for stage in window.stages.all if stage.isVisible()]
    assert len(stages) == count
    for stage in stages:
        box = stage.parentWidget()
        assert stage.width() <= box.width() and stage.height() <= box.height(), (stage.size(), box.size())
        assert stage.mapTo(window, stage.rect().topLeft()).x() >= 0
        assert stage.mapTo(window, stage.rect().bottomRight()).x() < window.width()


def test_nothing_is_cut_off_with_every_section_unfolded(shown, qtbot):
    from PyQt6.QtWidgets import QDockWidget, QScrollArea

    from sitterlight.viewer.controls import Section

    window = shown(BALL)
    folded = [section for section in window.findChildren(Section) if not section.heading.isChecked()]
    was_hidden = window.planes_of_head.isHidden()
    for section in folded:
        section.heading.setChecked(True)
    window.planes_of_head.show()  # as for a head of one's own
    window.resize(640, 480)
    qtbot.wait(60)
    try:
        for area in window.findChildren(QScrollArea):
            if area.isVisible():
                assert area.widget().minimumSizeHint().width() <= area.viewport().width()
        assert window.stages.first.width() >= 150
        window.findChild(QDockWidget, "Planes").raise_()
        qtbot.wait(60)
        assert window.table.tree.viewport().height() >= 4 * window.fontMetrics().lineSpacing()
    finally:
        window.findChild(QDockWidget, "Sitting").raise_()
        window.planes_of_head.setHidden(was_hidden)
        for section in folded:
            section.heading.setChecked(False)
        window.resize(1280, 800)
        qtbot.wait(60)


def test_a_narrow_window_folds_its_sides_together_and_parts_them_again(shown, qtbot):
    from PyQt6.QtWidgets import QDockWidget

    window = shown(BALL)
    sitting = window.findChild(QDockWidget, "Sitting")
    window.resize(640, 400)
    qtbot.wait(60)
    assert [dock.objectName() for dock in window.tabifiedDockWidgets(sitting)] == ["Planes"]
    assert window.stages.bar.box.isVisible() and not window.stages.bar.buttons["values"].isVisible()
    window.resize(1280, 800)
    qtbot.wait(60)
    assert not window.tabifiedDockWidgets(sitting) and window.stages.bar.buttons["values"].isVisible()


def test_the_event_loop_goes_on_while_a_slider_is_dragged(shown, qtbot, record_property):
    """The tool for the tenth of a second is window_gaps; here no piece of the window's own work is a large part of all
    that thirty steps of a slider give it to do."""
    from PyQt6.QtCore import QTimer

    window = shown(BALL)
    worked, longest = [time.thread_time()], [0.0]
    begun = worked[0]

    def tick() -> None:
        now = time.thread_time()
        longest[0] = max(longest[0], now - worked[0])
        worked[0] = now

    timer = QTimer()
    timer.timeout.connect(tick)
    timer.start(0)
    for step in range(30):
        window.sitter.oil.slider.setValue(300 + 10 * step)
        qtbot.wait(10)
    timer.stop()
    record_property("longest work between two turns of the event loop, seconds", longest[0])
    assert longest[0] < (time.thread_time() - begun) / 4
    shown()
