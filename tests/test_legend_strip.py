"""The legend under the stage says what a view shows: its words, its colours at their numbers, and no room wasted."""

from __future__ import annotations

import numpy as np
import pytest

pytest.importorskip("PyQt6.QtWidgets")

from PyQt6.QtGui import QPainter
from PyQt6.QtWidgets import QVBoxLayout, QWidget

from sitterlight.shading.colour_spaces import encode_sRGB
from sitterlight.shading.legend_words import Legend, legend
from sitterlight.shading.maps import Scale, greying_scale
from sitterlight.viewer import legend_strip, screen_colour

STEPS = Scale((20.0, 80.0), ("#202020", "#707070", "#c0c0c0"), ((20.0, "dark"), (50.0, ""), (80.0, "light")))
EDGE = 26
"""Pixels to the left and right of the bar, where the outer numbers stand."""


@pytest.fixture
def strip(qapp):
    """A legend in a window of its own, 700 pixels wide."""
    place, strip = QWidget(), legend_strip.LegendStrip()
    QVBoxLayout(place).addWidget(strip)
    place.resize(700, 300)
    place.show()
    yield strip
    place.close()


def bar_of(scale: Scale, stepped: bool):
    bar = legend_strip.ScaleBar()
    bar.resize(400 + 2 * EDGE, 50)
    bar.show_scale(scale, stepped)
    return bar


def colours_of(bar) -> np.ndarray:
    """sRGB codes (W,3) from left to right along the middle of the bar."""
    image = bar.grab().toImage()
    places = range(EDGE, image.width() - EDGE)
    return np.array([image.pixelColor(x, 10).getRgb()[:3] for x in places])


def test_the_words_of_a_view_are_shown(strip):
    strip.show_legend(Legend("Greying", "How grey.", greying_scale(), "share of the chroma", "hatched: none"))
    assert strip.line.text() == "How grey."
    assert strip.unit.text() == strip.toolTip() == "share of the chroma\nhatched: none"
    assert not strip.bar.isHidden() and "neutral" in strip.bar.accessibleDescription()
    strip.show_legend(legend("as seen"))
    assert strip.line.text() == legend("as seen").line and not strip.unit.text() and strip.bar.isHidden()


def test_a_scale_passes_through_the_colours_of_its_numbers(qapp):
    scale = greying_scale()
    numbers = np.linspace(*scale.ends, 401)[:-1] + (scale.ends[1] - scale.ends[0]) / 800
    told = colours_of(bar_of(scale, False))
    assert np.abs(told - 255 * encode_sRGB(scale.linear(numbers))).max() < 4


def test_a_stepped_scale_has_flat_colours(strip):
    strip.show_legend(Legend("Values", "How light.", STEPS), stepped=True)
    strip.window().layout().activate()
    told = colours_of(strip.bar)
    for place, code in enumerate((0x20, 0x70, 0xC0)):
        assert np.all(told[place * len(told) // 3 + 2 : (place + 1) * len(told) // 3 - 1] == code)


def test_colours_are_those_of_the_screen(qapp):
    """A wide screen is given other codes for the same colour."""
    told = colours_of(bar_of(greying_scale(), False)).astype(int)
    screen_colour.set_screen("Display P3")
    try:
        wide = colours_of(bar_of(greying_scale(), False)).astype(int)
    finally:
        screen_colour.set_screen("sRGB")
    assert 5 < np.abs(wide - told).max() < 60


@pytest.mark.parametrize("stepped", [False, True])
def test_numbers_stand_under_their_colours_and_words_under_their_numbers(qapp, monkeypatch, stepped):
    """Under the middle of a step, where no number is an end that others lie beyond."""
    written = []

    class Told(QPainter):
        def drawText(self, box, align, words):
            written.append((words, round(box.center().x()) - EDGE, box.top(), box.height()))
            super().drawText(box, align, words)

    monkeypatch.setattr(legend_strip, "QPainter", Told)
    bar_of(STEPS, stepped).grab()
    numbers, words = written[::2], written[1::2]
    assert [each[0] for each in numbers] == (["20", "50", "80"] if stepped else ["≤ 20", "50", "≥ 80"])
    assert (
        [each[1] for each in numbers] == [each[1] for each in words] == ([67, 200, 333] if stepped else [0, 200, 400])
    )
    assert [each[0] for each in words] == ["dark", "", "light"]
    for (_, _, top, height), (_, _, below, _) in zip(numbers, words, strict=True):
        assert top >= 16 and below == top + height


def test_another_scale_is_drawn_at_once(strip, qtbot):
    strip.show_legend(legend("greying", greying_scale()))
    bar, drawn = strip.bar, []
    qtbot.waitExposed(strip.window())
    qtbot.waitUntil(lambda: bar.height() > 0)
    bar.paintEvent = lambda event: drawn.append(bar.scale)
    qtbot.wait(50)
    drawn.clear()
    bar.show_scale(STEPS, True)
    qtbot.waitUntil(lambda: STEPS in drawn)


def test_the_head_keeps_its_size_from_view_to_view(strip):
    """Only in a low window is a legend as low as its view allows; the scale can be read whole in each."""
    views, high = (legend("as seen"), legend("greying", greying_scale())), {}
    for short in (False, True):
        strip.set_short(short)
        for crowded in (False, True):
            strip.set_crowded(crowded)
            for view in views:
                strip.show_legend(view)
                strip.window().layout().activate()
                high[short, crowded, view.scale is not None] = strip.height()
                assert strip.unit.isHidden() == short and strip.line.isHidden() == crowded
                bar, line = strip.bar, strip.fontMetrics().height()
                assert view.scale is None or bar.height() >= 18 + 2 * line
                assert view.scale is None or bar.mapTo(strip, bar.rect().bottomLeft()).y() < strip.height()
    assert high[False, False, False] == high[False, False, True]
    assert high[True, False, False] < high[True, True, True] < high[True, False, True]
    strip.set_crowded(False)
    strip.set_short(False)
    assert strip.height() == high[False, False, True]


def test_where_all_is_of_one_value_the_scale_says_which(strip):
    """As on a card that one distant light strikes evenly."""
    from sitterlight.shading.maps import value_steps
    from sitterlight.viewer.appearance import value_scale

    scale = value_scale(*value_steps(np.full(50, 43.2), 5))
    assert scale.ends[0] < 43.2 < scale.ends[1] and scale.marks == ((43.0, "all"),)
    strip.show_legend(Legend("Values", "Light and dark alone.", scale), stepped=True)
    strip.grab()
