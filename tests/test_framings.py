"""How heads of a stage are framed, and found again."""

from __future__ import annotations

from dataclasses import replace

import pytest

pytest.importorskip("PyQt6.QtWidgets")


@pytest.fixture
def framed():
    """Framings whose heads fill a window of the centre and half height that they are told last."""
    from sitterlight.viewer.camera import Framing
    from sitterlight.viewer.framings import Framings

    told = {"centre": (0.0, 0.0), "half_height": 0.1}
    return Framings(lambda gaze=None: Framing(**told, seen_from=gaze)), told


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


def test_after_a_change_of_size_a_window_is_fitted_once_and_keeps_its_zoom_and_shift(framed):
    framings, told = framed
    for head in ("one", "other"):
        framings.turn_to(head)
        framings.window = left = framings._fit().zoomed(2.0).moved(0.5, -0.25)
    framings.outgrow()
    told.update(centre=(0.01, 0.02), half_height=0.2)
    for head in ("one", "other"):
        framings.turn_to(head)
        assert framings.window == replace(left, **told)
    told["half_height"] = 0.3
    assert framings.window.half_height == 0.2, "fitted already"


def test_a_window_is_fitted_anew_from_where_it_was_fitted_before(framed):
    """Else an eye that has come near, and goes back after a change of size, would find the head small."""
    framings, _ = framed
    framings.turn_to("one")
    framings.window = framings._fit("afar")
    framings.outgrow()
    assert framings.window.seen_from == "afar"


def test_only_so_many_heads_are_remembered_those_that_were_shown_last(framed):
    from sitterlight.viewer.framings import MOST

    framings, _ = framed

    def show(head):
        framings.turn_to(head)
        if framings.window is None:
            framings.window = framings._fit()

    heads = [str(number) for number in range(MOST + 2)]
    for head in (*heads[:MOST], "0", *heads[MOST:]):
        show(head)
    framings.turn_to("at hand")
    assert [head for head in heads if framings.turn_to(head) or framings.window is None] == ["1", "2"]
