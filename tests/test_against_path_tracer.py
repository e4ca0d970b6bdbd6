"""The light on the bust against Mitsuba 3 (Jakob and others, mitsuba-renderer.org), a path tracer that shares nothing
with the calculation but the scene. The long form is `python -m tests.referees`."""

from __future__ import annotations

import numpy as np
import pytest

pytest.importorskip("mitsuba", reason="the test extra is not installed")

from referees import furnace, grey_bust, lit_sittings
from referees.renderer import mitsuba

from sitterlight.shading.sittings import built_in

try:
    mitsuba()
except ImportError as problem:  # pragma: no cover
    pytest.skip(str(problem), allow_module_level=True)


@pytest.mark.slow
@pytest.mark.parametrize("bounces", [0, 1, 8])
def test_grey_bust_under_overcast_sky(bounces):
    result = grey_bust.compare(0.2, bounces, 16384, "display")
    off = np.abs(result.difference)
    assert np.median(off) < result.tolerance / 2
    assert (off < result.tolerance + 2.5 * result.noise).all()


@pytest.mark.slow
def test_grey_bust_without_ground():
    # Direct light alone is left to the long form: planes that see a strip of sky only need more paths than a test has.
    result = grey_bust.compare(0.0, 8, 16384, "display")
    assert (np.abs(result.difference) < result.tolerance + 2.5 * result.noise).all()


@pytest.mark.slow
@pytest.mark.parametrize("oil", [0.0, 2.0])
def test_surface_of_the_referee_keeps_all_light(oil):
    assert furnace.white_furnace(0.35, oil, 256) == pytest.approx(1.0, abs=0.01)


@pytest.mark.slow
def test_lamp_lit_sitting_in_full():
    result = lit_sittings.compare(built_in("evening-lamp"), "evening-lamp", 576, rounds=1)
    assert np.abs(np.subtract(*result.visible)).max() < 0.01
    assert np.quantile(result.delta, 0.9) <= lit_sittings.NINE_IN_TEN
    calm = result.noise < 0.01
    assert calm.sum() >= 65
    assert result.delta[calm].max() <= lit_sittings.ALL
