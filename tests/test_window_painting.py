"""Painting in the window: what is begun is ended, whatever else looks at the running program meanwhile."""

import sys

import pytest

pytestmark = pytest.mark.screen


def test_every_painter_is_ended_before_its_picture_goes_to_the_screen(shown):
    """A painter that ends only when its function's variables are let go lives on while a debugger, a profiler or a
    fault's report holds them, and Qt complains that the picture is still being painted."""
    from PyQt6.QtGui import QPainter
    from PyQt6.QtWidgets import QWidget

    window = shown(until="rest")
    window.model.choose(0)
    painted, left = set(), set()

    def watch(frame, event, _result):
        if event == "return" and frame.f_code.co_name == "paintEvent":
            name = type(frame.f_locals["self"]).__name__
            painted.add(name)
            left.update(name for each in frame.f_locals.values() if isinstance(each, QPainter) and each.isActive())

    rooms, page = window.rooms, window.rooms.currentIndex()
    sys.setprofile(watch)
    try:
        for room in ("why", "strings", "plan"):
            rooms.show_room(room)
            for widget in window.findChildren(QWidget):
                widget.grab() if widget.isVisible() and type(widget).paintEvent is not QWidget.paintEvent else None
    finally:
        sys.setprofile(None)
        rooms.setCurrentIndex(page)
        window.model.choose(None)
    assert {"Choice", "Chip", "LightMap", "ShareBars", "SpectrumPlot", "StringRows", "StringPlot"} <= painted
    assert not left
