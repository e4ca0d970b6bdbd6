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

AT_THE_HEM = ("shoulder top", "upper back", "chest")
"""Planes that end at the garment: its standing edge shades the row of vertices there for a whole face."""
FOLDED = ("nose underside",)
"""Planes whose vertices are too far apart for the light in them."""


def _free(names, *leave_out) -> np.ndarray:
    return np.array([not name.startswith(tuple(sum(leave_out, ()))) for name in names])


@pytest.mark.slow
@pytest.mark.parametrize("bounces", [0, 1, 8])
def test_grey_bust_under_overcast_sky(bounces):
    result = grey_bust.compare(0.2, bounces, 32768, "display")
    kept = _free(result.names, AT_THE_HEM, FOLDED)
    assert kept.sum() >= 75
    off = np.abs(result.difference)[kept]
    assert np.median(off) < result.tolerance / 2
    assert (off < result.tolerance + 3 * result.noise[kept]).all()


@pytest.mark.slow
@pytest.mark.xfail(reason="planes at the garment's edge and the underside of the nose are not yet within tolerance")
def test_grey_bust_where_it_is_hard():
    result = grey_bust.compare(0.2, 0, 32768, "display")
    hard = ~_free(result.names, AT_THE_HEM, FOLDED)
    assert (np.abs(result.difference)[hard] < result.tolerance).all()


@pytest.mark.slow
@pytest.mark.parametrize("oil", [0.0, 1.0, 2.0])
def test_surface_of_the_referee_keeps_all_light(oil):
    assert furnace.white_furnace(0.35, oil, 512) == pytest.approx(1.0, abs=0.01)


@pytest.mark.slow
def test_lamp_lit_sitting_in_full():
    result = lit_sittings.compare(built_in("evening-lamp"), "evening-lamp", 1024)
    kept = _free(result.names, AT_THE_HEM)
    assert np.quantile(result.delta[kept], 0.9) <= lit_sittings.NINE_IN_TEN
    calm = kept & (result.noise < 0.01)
    assert calm.sum() >= 65
    assert result.delta[calm].max() <= lit_sittings.ALL
