"""The skin's albedo: bounds, and what more of each amount does; the ladder."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading.cam16 import ViewingConditions
from sitterlight.shading.ladder import LADDER, ladder_amounts
from sitterlight.shading.skin import AMOUNTS, LIMITS, SkinAmounts, albedo, albedos, internal_reflectance
from sitterlight.shading.skin_colour import ITA, Lab_of, colour_weights

EVERY_SKIN = np.stack([albedo(ladder_amounts(number)) for number in LADDER])


def at(nm: float) -> int:
    """Place of a wavelength on the grid."""
    return int(np.argmin(np.abs(WAVELENGTHS - nm)))


def more(number: int, **factors: float) -> tuple[np.ndarray, np.ndarray]:
    """Albedo of a skin of the ladder, and of the same skin with some amounts multiplied."""
    amounts = ladder_amounts(number)
    changed = replace(amounts, **{name: getattr(amounts, name) * by for name, by in factors.items()})
    return albedo(amounts), albedo(changed)


def test_every_corner_of_the_limits_gives_an_albedo():
    ends = np.array([LIMITS[name] for name in AMOUNTS])
    corners = np.stack(np.meshgrid(*ends), axis=-1).reshape(-1, len(AMOUNTS))
    spectra = albedos(corners)
    assert spectra.shape == (2 ** len(AMOUNTS), 81)
    assert np.isfinite(spectra).all()
    assert spectra.min() >= 0
    assert spectra.max() < 1


def test_one_albedo_is_one_row_of_many():
    rows = np.stack([ladder_amounts(number).as_array() for number in LADDER])
    np.testing.assert_array_equal(albedos(rows), EVERY_SKIN)


@pytest.mark.parametrize("name", AMOUNTS)
def test_an_amount_out_of_range_is_named(name):
    for value in (LIMITS[name][0] - 0.1, LIMITS[name][1] + 0.1, float("nan")):
        with pytest.raises(ValueError, match=rf"{name} is .*must be from"):
            SkinAmounts(**(ladder_amounts(5).as_dict() | {name: value}))


@pytest.mark.parametrize("number", LADDER)
def test_more_melanin_darkens_every_wavelength_and_turns_ITA_down(number):
    before, after = more(number, melanin=1.2)
    assert (after < before).all()
    assert ITA(Lab_of(after)) < ITA(Lab_of(before))


@pytest.mark.parametrize("number", [4, 5, 6, 7, 8, 9])
def test_more_blood_reddens_where_melanin_lets_it_show(number):
    before, after = more(number, blood=1.5)
    assert (after <= before).all()
    assert Lab_of(after)[1] > Lab_of(before)[1]
    loss = 1 - after / before
    assert loss[at(545)] > 2 * loss[at(650)]


def test_blood_shows_less_the_deeper_the_skin():
    turns = []
    for number in LADDER:
        before, after = more(number, blood=2.0)
        turns.append(Lab_of(after)[1] - Lab_of(before)[1])
    assert (np.diff(turns) > 0).all()


@pytest.mark.parametrize("number", LADDER)
def test_oxygen_brightens_the_red_and_parts_the_two_dips(number):
    amounts = ladder_amounts(number)
    poor, rich = (albedo(replace(amounts, oxygenation=share)) for share in (0.2, 0.9))
    assert rich[at(660)] > poor[at(660)]
    bump = [spectrum[at(560)] - (spectrum[at(540)] + spectrum[at(575)]) / 2 for spectrum in (poor, rich)]
    assert bump[1] > bump[0]


@pytest.mark.parametrize("number", LADDER)
def test_carotene_yellows_and_leaves_the_red_alone(number):
    before, after = more(number, carotene=3.0)
    assert Lab_of(after)[2] > Lab_of(before)[2]
    np.testing.assert_allclose(after[at(600) :], before[at(600) :], rtol=1e-3)


@pytest.mark.parametrize("number", LADDER)
def test_scattering_lightens(number):
    before, after = more(number, scattering=1.3)
    assert (after >= before).all()
    assert Lab_of(after)[0] > Lab_of(before)[0]


@pytest.mark.parametrize("number", LADDER)
def test_the_veil_lightens_and_pales(number):
    before, after = (Lab_of(spectrum) for spectrum in more(number, veil=1.4))
    assert after[0] > before[0]
    assert np.hypot(*after[1:]) < np.hypot(*before[1:])


@pytest.mark.parametrize("number", LADDER)
def test_hair_roots_darken_cool_and_take_the_red_most(number):
    amounts = ladder_amounts(number)
    shaven, rooted = albedo(amounts), albedo(replace(amounts, deep_melanin=0.05))
    assert (rooted < shaven).all()
    loss = 1 - rooted / shaven
    assert loss[at(650)] > 3 * loss[at(450)]
    assert Lab_of(rooted)[1] < Lab_of(shaven)[1]


def test_a_trace_of_roots_is_nearly_none():
    """Two roads through the model, a dermis without end and one in two layers, meet."""
    amounts = ladder_amounts(7)
    traced = albedo(replace(amounts, deep_melanin=1e-9))
    np.testing.assert_allclose(traced, albedo(amounts), atol=1e-6)


def test_light_from_inside_is_turned_back_by_the_diffuse_law():
    """0.596 for n = 1.5 (Saunderson 1942; Duntley 1942); for skin's 1.4 it is less."""
    assert internal_reflectance(1.5) == pytest.approx(0.596, abs=1e-3)
    assert 0.5 < internal_reflectance() < 0.55


def test_ladder_runs_from_22_to_74():
    L = Lab_of(EVERY_SKIN)[:, 0]
    assert L[0] == pytest.approx(22, abs=0.1)
    assert L[-1] == pytest.approx(74, abs=0.1)
    assert (np.diff(L) > 0).all()
    assert (np.diff([ladder_amounts(number).melanin for number in LADDER]) < 0).all()


def test_ladder_steps_are_even_to_the_eye():
    weights, white = colour_weights()
    seen = ViewingConditions(tuple(white), 20.0).ucs(EVERY_SKIN @ weights)
    steps = np.linalg.norm(np.diff(seen, axis=0), axis=1)
    assert steps.max() / steps.min() < 1.03


def test_ladder_keeps_the_hue_and_chroma_of_skin():
    Lab = Lab_of(EVERY_SKIN)
    chroma, hue = np.hypot(Lab[:, 1], Lab[:, 2]), np.degrees(np.arctan2(Lab[:, 2], Lab[:, 1]))
    assert ((hue > 42) & (hue < 68)).all()
    assert ((chroma > 14) & (chroma < 28)).all()
    assert np.abs(np.diff(hue)).max() < 7


@pytest.mark.parametrize("number", [0, 10, 2.5, -1, None, "2"])
def test_numbers_not_on_the_ladder_are_refused(number):
    with pytest.raises(ValueError, match="from 1 to 9"):
        ladder_amounts(number)
