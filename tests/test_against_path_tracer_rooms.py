"""Near lamps and a window on the bust against Mitsuba 3 (Jakob and others, mitsuba-renderer.org): direct light on every
plane within 2 %. The long form, with fewer paths' noise, is `python -m tests.referees`."""

from __future__ import annotations

import numpy as np
import pytest

pytest.importorskip("mitsuba", reason="the test extra is not installed")

from referees import rooms
from referees.renderer import mitsuba

try:
    mitsuba()
except ImportError as problem:  # pragma: no cover
    pytest.skip(str(problem), allow_module_level=True)


@pytest.mark.slow
@pytest.mark.parametrize("name", rooms.ROOMS)
def test_direct_light_of_a_lamp_or_window_on_every_plane(name):
    result = rooms.compare(name, 8192)
    assert result.beyond == []
    assert result.lit.sum() > 40
    assert np.median(np.abs(result.difference[result.lit])) < 0.006


@pytest.mark.slow
def test_the_referee_would_notice_a_lamp_of_another_place():
    """The same comparison with our lamp a hand's breadth nearer must fail."""
    disc = rooms.ROOMS["near disc"]
    moved = rooms.compare("near disc", 2048, ours=rooms.replace(disc, distance=disc.distance - 100))
    assert len(moved.beyond) > 5
