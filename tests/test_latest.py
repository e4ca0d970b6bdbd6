"""The last few results of something, as the window's own thread keeps them."""

from __future__ import annotations

import pytest

from sitterlight.viewer.latest import Latest


def test_what_was_asked_for_last_is_known_and_the_oldest_goes_first():
    known, asked = Latest(2), []

    def result(key):
        return known.of(key, lambda: asked.append(key) or f"result of {key}")

    for key in ("a", "b", "a", "c", "a", "b"):
        assert result(key) == f"result of {key}"
    assert asked == ["a", "b", "c", "b"]


def test_what_failed_is_tried_again_and_what_is_known_stays():
    known = Latest(2)
    known.of("a", lambda: "known")
    with pytest.raises(ZeroDivisionError):
        known.of("b", lambda: 1 / 0)
    assert known.of("b", lambda: "now") == "now"
    assert known.of("a", lambda: pytest.fail("it was known")) == "known"
