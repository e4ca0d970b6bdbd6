"""In what two sittings differ, in words; without a window."""

from __future__ import annotations

from dataclasses import replace

import pytest
from window_driver import BALL, BUST

from sitterlight.shading.sitting import with_eye, with_light, with_skin
from sitterlight.viewer.apart import apart_from


@pytest.mark.parametrize(
    "change, words, back",
    [
        (lambda one: one, [], []),
        (lambda one: with_skin(one, ladder=9), ["skin 9"], ["skin 4"]),
        (lambda one: with_skin(one, oil=0.0), ["powdered"], ["oil 1"]),
        (lambda one: with_light(one, "sky", on=False), ["lamp"], ["lamp and sky"]),
        (lambda one: with_light(one, "lamp", azimuth=20), ["another lamp"], ["another lamp"]),
        (lambda one: with_eye(one, adaptation=0.5), ["adaptation 0.50"], ["adaptation auto"]),
        (lambda one: replace(one, title="Other"), [], []),
    ],
)
def test_what_one_sitting_has_that_the_other_has_not(change, words, back):
    changed = change(BALL)
    assert apart_from(changed, BALL) == words
    assert apart_from(BALL, changed) == back


def test_at_most_three_things_are_told_and_nothing_of_different_heads():
    other = with_eye(with_skin(BALL, ladder=1, oil=0.0, roughness=0.7), adaptation=0.1)
    assert apart_from(other, BALL) == ["skin 1", "powdered", "roughness 0.70"]
    assert apart_from(BUST, other) == []
