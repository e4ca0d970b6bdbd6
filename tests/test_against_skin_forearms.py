"""The skin model against measured forearms: C. C. Cooksey, D. W. Allen, B. K. Tsai, Reference Data Set of Human Skin
Reflectance, Journal of Research of NIST 122:26 (2017), doi 10.6028/jres.122.026.

The spectra are no part of the project. They are looked for where SITTERLIGHT_REFERENCE says, or in shared/reference
beside the project's folder; figures derived from them are checked without.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

import numpy as np
import pytest

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading import fit_skin
from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.from_colour import amounts_from_reflectance
from sitterlight.shading.ladder import ladder_amounts
from sitterlight.shading.skin import DATA, albedo, albedos, constants, fitted
from sitterlight.shading.skin_amounts import constants_as_array, to_unknowns, trend
from sitterlight.shading.skin_colour import Lab_of
from sitterlight.shading.skin_regions import region_albedos
from sitterlight.shading.skin_spectra import BAND
from sitterlight.shading.surface import directional_albedo

BESIDE = Path(__file__).resolve().parents[1].parent / "shared" / "reference"
FOREARMS = Path(os.environ.get("SITTERLIGHT_REFERENCE", BESIDE)) / "skin_forearm_nist.csv"
with_forearms = pytest.mark.skipif(not FOREARMS.is_file(), reason=f"measured forearms are not at {FOREARMS}")

# What is asked of people whom the fit has not seen: median and worst ΔE00 (D65, 2°), mean RMSE over 400 to 720 nm.
MEDIAN, WORST, RMSE = 0.4, 1.5, 0.0065

MIRROR = float(directional_albedo(0.35, np.cos(np.radians(8))))


@pytest.fixture(scope="module")
def forearms() -> np.ndarray:
    return fit_skin.read(str(FOREARMS))


def printed(what: str) -> tuple[float, float, float]:
    """Mean RMSE, median and worst ΔE00 of a line of what the fit printed."""
    text = (DATA / "fit_skin.txt").read_text(encoding="utf-8")
    (line,) = [each for each in text.splitlines() if each.startswith(what + " ") and "people" in each]
    rmse, _, median, worst = (float(value) for value in re.findall(r"(?:mean|worst|median) ([\d.]+)", line))
    return rmse, median, worst


@pytest.mark.parametrize("what", ["not in the fit", "all, each left out once"])
def test_printed_figures_of_the_unseen_are_in_bounds(what):
    rmse, median, worst = printed(what)
    assert rmse <= RMSE
    assert median <= MEDIAN
    assert worst <= WORST


def test_constants_in_use_are_those_printed():
    text = (DATA / "fit_skin.txt").read_text(encoding="utf-8")
    for name, value in fitted()["constants"].items():
        assert float(re.search(rf"'{name}': ([\d.]+)", text)[1]) == pytest.approx(value, abs=6e-5)


def test_middle_skin_has_the_means_of_the_set():
    """Means over all 100 people, mirror part included: L* a* b* 66.1, 9.6, 15.4; reflectance at 450, 550, 650 and
    700 nm 0.252, 0.320, 0.557, 0.602. The middle is that of 50 of them, so a little may be left."""
    amounts = np.array(list(fitted()["middle of all 50"].values()))
    reflectance = MIRROR + (1 - MIRROR) * albedos(amounts)
    assert delta_E00(Lab_of(reflectance), np.array([66.1, 9.6, 15.4])) < 1.0
    for nm, mean in ((450, 0.252), (550, 0.320), (650, 0.557), (700, 0.602)):
        assert reflectance[list(WAVELENGTHS).index(nm)] == pytest.approx(mean, abs=0.015)


def test_deepest_faces_that_are_published():
    """The deepest of five clusters of nose tip and upper lip at 45°/0°: 26.7, 14.6, 14.7 ("Proposed Shade Guide for
    Human Facial Skin", IADR General Session, Miami 2009, abstract 120461). The ladder's nose as deep is near it."""
    noses = np.stack([Lab_of(region_albedos(ladder_amounts(number)))[3] for number in (1, 2)])
    nose = [np.interp(26.7, noses[:, 0], column) for column in noses.T]
    assert delta_E00(np.array(nose), np.array([26.7, 14.6, 14.7])) < 3


@with_forearms
def test_people_not_in_the_fit_are_met(forearms):
    error, difference, _ = fit_skin.judge(fit_skin.halves(forearms)[1], trend(), constants())
    assert np.median(difference) <= MEDIAN
    assert difference.max() <= WORST
    assert error.mean() <= RMSE
    assert (error.mean(), np.median(difference), difference.max()) == pytest.approx(
        printed("not in the fit"), abs=0.006
    )


@with_forearms
def test_people_are_met_as_the_program_meets_a_spectrum_of_ones_own(forearms):
    rmse, difference = [], []
    for body in fit_skin.halves(forearms)[1]:
        amounts, left = amounts_from_reflectance(body)
        rmse.append(left)
        difference.append(delta_E00(Lab_of(albedo(amounts)), Lab_of(body)))
    assert np.median(difference) <= MEDIAN
    assert max(difference) <= WORST
    assert np.mean(rmse) <= RMSE


@with_forearms
def test_the_fit_gives_the_constants_again(forearms):
    of, sought = fit_skin.fit(fit_skin.halves(forearms)[0])
    np.testing.assert_allclose(constants_as_array(of), constants_as_array(constants()), rtol=0.02)
    np.testing.assert_allclose(sought.means, trend().means, atol=0.05)


@with_forearms
def test_the_other_half_gives_much_the_same_model(forearms):
    others, another = fit_skin.halves(forearms)
    of, sought = fit_skin.fit(another)
    error, difference, _ = fit_skin.judge(others, sought, of)
    assert np.median(difference) <= MEDIAN
    assert difference.max() <= WORST
    assert error.mean() <= RMSE
    deepest = albedos(ladder_amounts(1).as_array(), of)
    assert delta_E00(Lab_of(deepest), Lab_of(albedo(ladder_amounts(1)))) < 3


@with_forearms
def test_the_reference_holds_the_people_it_says(forearms):
    assert forearms.shape == (50, 81)
    reflectance = MIRROR + (1 - MIRROR) * forearms
    np.testing.assert_allclose(Lab_of(reflectance).mean(axis=0), [66.1, 9.6, 15.4], atol=0.5)
    assert np.isfinite(reflectance[:, BAND]).all()


@with_forearms
def test_no_one_is_far_from_the_trend(forearms):
    """Amounts found stay likely ones: within five spreads of the main trend."""
    unknowns = fit_skin.fit_amounts(forearms, trend(), constants())
    assert np.abs(trend().residual(unknowns)).max() < 5
    assert np.isfinite(to_unknowns(ladder_amounts(1).as_array())).all()
