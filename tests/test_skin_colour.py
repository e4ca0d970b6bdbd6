"""A skin's colour in numbers, and a skin from its colour or spectrum."""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading.colour_spaces import hex_from_XYZ
from sitterlight.shading.from_colour import REACHED, amounts_from_Lab, amounts_from_reflectance
from sitterlight.shading.ladder import LADDER, ladder_amounts
from sitterlight.shading.resolve_skin import resolve_skin
from sitterlight.shading.sitting import SkinColour, SkinSetting
from sitterlight.shading.skin import albedo
from sitterlight.shading.skin_colour import ITA, ITA_class, Lab_of, colour_weights, describe
from sitterlight.shading.surface import directional_albedo


def test_white_and_grey_have_no_colour():
    np.testing.assert_allclose(Lab_of(np.ones(81)), [100, 0, 0], atol=1e-6)
    grey = describe(np.full(81, 0.184187))
    np.testing.assert_allclose(grey.Lab, [50, 0, 0], atol=1e-3)


@pytest.mark.parametrize("number", LADDER)
@pytest.mark.parametrize("light", ["D65", "A"])
def test_a_colour_of_the_ladder_gives_its_amounts_back(number, light):
    asked = ladder_amounts(number)
    found, distance = amounts_from_Lab(Lab_of(albedo(asked), light), light)
    assert distance < 0.05
    np.testing.assert_allclose(found.as_array(), asked.as_array(), rtol=0.02)


# Within a few units of the trend, from deep to fair, redder, yellower and greyer.
@pytest.mark.parametrize(
    "Lab",
    [(42, 12, 20), (42, 12, 17), (35, 11, 15), (26.7, 14.6, 14.7), (37.7, 17.2, 14.7), (60, 15, 10), (65, 5, 20)],
)
def test_colours_of_skin_are_met(Lab):
    amounts, distance = amounts_from_Lab(np.array(Lab, dtype=float))
    assert distance <= REACHED
    assert np.linalg.norm(Lab_of(albedo(amounts)) - Lab) < 0.4


def test_the_answer_is_the_same_each_time_and_moves_little():
    first, again = (amounts_from_Lab(np.array([50.0, 14.0, 18.0])).amounts for _ in range(2))
    assert first == again
    near = amounts_from_Lab(np.array([50.1, 14.0, 18.0])).amounts
    np.testing.assert_allclose(near.as_array(), first.as_array(), rtol=0.05)


@pytest.mark.parametrize("Lab", [(50, -20, -20), (60, 60, 60), (5, 0, 0)])
def test_what_is_no_skin_says_how_far_the_nearest_is(Lab):
    resolved = resolve_skin(SkinSetting(ladder=None, colour=SkinColour(Lab=Lab)))
    assert resolved.distance > REACHED
    assert "nearest" in resolved.note
    assert f"{resolved.distance:.1f}" in resolved.note
    assert np.isfinite(resolved.albedo).all()


@pytest.mark.parametrize("Lab", [(float("nan"), 0, 0), (120, 0, 0), (1, 2)])
def test_what_is_no_colour_is_refused(Lab):
    with pytest.raises(ValueError, match="three finite numbers"):
        amounts_from_Lab(np.array(Lab, dtype=float))


def test_a_screen_code_gives_a_skin_of_that_code():
    resolved = resolve_skin(SkinSetting(ladder=None, colour=SkinColour(srgb="#8a5a3c")))
    assert resolved.distance <= REACHED
    weights, white = colour_weights()
    code = hex_from_XYZ(resolved.albedo @ weights / white * [0.950456, 1, 1.089058])
    difference = [int(code[i : i + 2], 16) - int("8a5a3c"[i - 1 : i + 1], 16) for i in (1, 3, 5)]
    assert max(map(abs, difference)) <= 2


@pytest.mark.parametrize("number", LADDER)
def test_a_spectrum_gives_its_amounts_back(number):
    asked = ladder_amounts(number)
    found, rmse = amounts_from_reflectance(albedo(asked))
    assert rmse < 5e-4
    np.testing.assert_allclose(found.as_array(), asked.as_array(), rtol=0.02)


def test_named_amounts_stand_and_the_rest_is_from_the_middle():
    resolved = resolve_skin(SkinSetting(ladder=None, amounts=(("melanin", 0.5), ("blood", 2.0))))
    assert (resolved.amounts.melanin, resolved.amounts.blood) == (0.5, 2.0)
    assert resolved.amounts.scattering == ladder_amounts(5).scattering
    with pytest.raises(ValueError, match="'melatonin' is not known"):
        resolve_skin(SkinSetting(ladder=None, amounts=(("melatonin", 0.5),)))


def test_a_reflectance_of_ones_own_loses_its_mirror_part(tmp_path):
    """What a sphere instrument would say of a skin of the ladder comes back as that skin's body."""
    body, mirror = albedo(ladder_amounts(3)), float(directional_albedo(0.35, np.cos(np.radians(8))))
    rows = zip(WAVELENGTHS, mirror + (1 - mirror) * body, strict=True)
    (tmp_path / "mine.csv").write_text("\n".join(f"{nm:g},{value:.6f}" for nm, value in rows))
    setting = SkinSetting(ladder=None, reflectance="mine.csv")
    resolved = resolve_skin(setting, tmp_path)
    assert resolved.measured is not None
    np.testing.assert_allclose(resolved.albedo, body, atol=1e-5)
    np.testing.assert_allclose(resolved.amounts.melanin, ladder_amounts(3).melanin, rtol=0.02)
    without = resolve_skin(SkinSetting(ladder=None, reflectance="mine.csv", sheen_included=False), tmp_path)
    assert (without.albedo > resolved.albedo).all()


def test_ITA_and_its_classes():
    """arctan((L* − 50) / b*) in degrees, and limits 55, 41, 28, 10, −30 (Chardon 1991; Del Bino & Bernerd 2013)."""
    assert ITA(np.array([70.0, 8.0, 20.0])) == pytest.approx(45.0)
    assert ITA(np.array([30.0, 8.0, 20.0])) == pytest.approx(-45.0)
    assert ITA(np.array([50.0, 8.0, 20.0])) == pytest.approx(0.0)
    assert ITA(np.array([60.0, 8.0, 17.3205])) == pytest.approx(30.0, abs=1e-3)
    edges = {"I": (56,), "II": (55, 42), "III": (41, 29), "IV": (28, 11), "V": (10, -29), "VI": (-30, -60)}
    for name, angles in edges.items():
        assert {ITA_class(angle) for angle in angles} == {name}


def test_the_ladder_spans_all_classes_of_ITA():
    angles = [describe(albedo(ladder_amounts(number))).ITA for number in LADDER]
    assert (np.diff(angles) > 0).all()
    assert {ITA_class(angle) for angle in angles} == {"I", "II", "III", "IV", "V", "VI"}
