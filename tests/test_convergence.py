"""Numbers of directions and bounces are large enough: doubling them changes no plane by ΔE00 0.2. The long form, all
sittings and the vertices too, is `python -m tests.referees`."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from referees import convergence

from sitterlight.shading.sittings import built_in


def _worst(sitting, what: str) -> float:
    return max(change.delta.max() for change in convergence.changes(sitting, (what,)))


def test_twice_the_bounces_on_the_fairest_skin():
    sitting = built_in("garden-overcast")
    fair = replace(sitting, skin=replace(sitting.skin, ladder=9))
    assert 0 < _worst(fair, "bounces") < convergence.LARGEST_CHANGE


@pytest.mark.slow
@pytest.mark.parametrize("name", ["open-shade", "evening-lamp"])
def test_directions_twice_as_fine(name):
    assert 0 < _worst(built_in(name), "directions") < convergence.LARGEST_CHANGE


@pytest.mark.slow
def test_twice_the_vertices():
    (change,) = convergence.changes(built_in("open-shade"), ("vertices",))
    assert np.quantile(change.delta, 0.9) < convergence.LARGEST_CHANGE / 2
    assert 0 < change.delta.max() < convergence.LARGEST_CHANGE
