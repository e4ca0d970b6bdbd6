"""How heads of a stage are framed, and found again."""

from __future__ import annotations

import pytest

pytest.importorskip("PyQt6.QtWidgets")


@pytest.fixture
def framed():
    """Framings whose heads fill a window of the half height that they are told last."""
    from sitterlight.viewer.camera import Framing
    from sitterlight.viewer.framings import Framings

    told = {"half": 0.1}
    return Framings(lambda: Framing((0.0, 0.0), told["half"])), told


def test_each_head_keeps_its_window(framed):
    framings, _ = framed
    assert framings.window is None
    framings.turn_to("one")
    assert framings.window is None
    framings.window = one = framings._fit().zoomed(2.0)
    framings.turn_to("other")
    assert framings.window is None
    framings.window = other = framings._fit()
    framings.turn_to("one")
    assert framings.window == one
    framings.turn_to("other")
    assert framings.window == other


def test_after_a_change_of_size_a_window_is_fitted_once_and_keeps_its_zoom(framed):
    framings, told = framed
    for head in ("one", "other"):
        framings.turn_to(head)
        framings.window = framings._fit().zoomed(2.0)
    framings.outgrow()
    told["half"] = 0.2
    for head in ("one", "other"):
        framings.turn_to(head)
        assert (framings.window.half_height, framings.window.zoom) == (0.2, 2.0)
    told["half"] = 0.3
    assert framings.window.half_height == 0.2, "fitted already"


def test_only_so_many_heads_are_remembered(framed):
    from sitterlight.viewer.framings import MOST

    framings, _ = framed
    for number in range(MOST + 2):
        framings.turn_to(str(number))
        framings.window = framings._fit()
    framings.turn_to("0")
    assert framings.window is None
    framings.turn_to("2")
    assert framings.window is not None
