"""The blood in the skin against S. Prahl, Tabulated Molar Extinction Coefficient for Hemoglobin in Water (1998)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading.ladder import LADDER, ladder_amounts
from sitterlight.shading.skin import albedo, pigment_table

NM, _COLUMNS = pigment_table()
OXYGENATED, DEOXYGENATED = _COLUMNS[:, 0], _COLUMNS[:, 1]

# Wavelengths at which oxygen makes no difference, and the bands of oxygenated blood, nm: Prahl's tabulation, as the
# issue gives them.
ISOSBESTIC = (500, 529, 545, 570, 584)
BANDS = (542, 576)


def crossings(nm: np.ndarray, difference: np.ndarray) -> np.ndarray:
    """Wavelengths at which `difference` changes its sign."""
    turn = np.flatnonzero(np.sign(difference[1:]) != np.sign(difference[:-1]))
    share = difference[turn] / (difference[turn] - difference[turn + 1])
    return nm[turn] + share * (nm[turn + 1] - nm[turn])


def test_tabulated_figures():
    """Prahl 1998, cm⁻¹ per mol/l: 450, 542, 600, 700 nm."""
    for nm, oxygenated, deoxygenated in (
        (450, 62816, 103292),
        (542, 53236, 48148),
        (600, 3200, 14677.2),
        (700, 290, 1794.28),
    ):
        place = int(np.flatnonzero(nm == NM)[0])
        assert OXYGENATED[place] == pytest.approx(oxygenated, rel=0.005)
        assert DEOXYGENATED[place] == pytest.approx(deoxygenated, rel=0.02)


@pytest.mark.parametrize("nm", ISOSBESTIC)
def test_isosbestic_points_of_the_table(nm):
    assert np.abs(crossings(NM, OXYGENATED - DEOXYGENATED) - nm).min() < 2.5


@pytest.mark.parametrize("nm", BANDS)
def test_bands_of_oxygenated_blood(nm):
    near = np.abs(NM - nm) <= 10
    assert abs(NM[near][np.argmax(OXYGENATED[near])] - nm) <= 2


@pytest.mark.parametrize("number", LADDER)
def test_oxygen_changes_the_skin_one_way_then_the_other(number):
    """Its albedo stays put where the table says, to within the band by which the model widens the table."""
    amounts = ladder_amounts(number)
    change = albedo(replace(amounts, oxygenation=0.9)) - albedo(replace(amounts, oxygenation=0.3))
    band = (WAVELENGTHS >= 490) & (WAVELENGTHS <= 600)
    found = crossings(WAVELENGTHS[band], change[band])
    for nm in ISOSBESTIC:
        assert np.abs(found - nm).min() < 5, nm
    assert len(found) == len(ISOSBESTIC)


@pytest.mark.parametrize("number", [4, 5, 6, 7, 8, 9])
def test_dips_of_oxygenated_blood_in_the_skin(number):
    """At 542 and 576 nm oxygenated blood takes most: relative to the same skin with little blood, local minima.

    In the deepest three the slope of melanin outweighs them."""
    amounts = replace(ladder_amounts(number), oxygenation=1.0)
    taken = albedo(amounts) / albedo(replace(amounts, blood=amounts.blood / 4))
    inner = np.flatnonzero((taken[1:-1] < taken[:-2]) & (taken[1:-1] < taken[2:])) + 1
    for nm in BANDS:
        assert np.abs(WAVELENGTHS[inner] - nm).min() <= 5, nm
