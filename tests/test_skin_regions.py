"""Regions change amounts: what that does to colour and sheen over the head."""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.ladder import LADDER, ladder_amounts
from sitterlight.shading.skin import albedo
from sitterlight.shading.skin_colour import Lab_of
from sitterlight.shading.skin_regions import CHANGES, region_albedos, region_amounts, region_sheen

ROW = {name: row for row, name in enumerate(REGIONS)}
NOT_SKIN = [ROW[name] for name in ("eye white", "iris", "pupil", "clothes")]


def colours(number: int) -> dict[str, np.ndarray]:
    return dict(zip(REGIONS, Lab_of(region_albedos(ladder_amounts(number))), strict=True))


@pytest.mark.parametrize("number", LADDER)
def test_rows_are_albedos_and_the_plain_one_is_the_skin(number):
    rows = region_albedos(ladder_amounts(number))
    assert rows.shape == (15, 81)
    assert ((rows > 0) & (rows < 1)).all()
    np.testing.assert_allclose(rows[ROW["skin"]], albedo(ladder_amounts(number)))


def test_every_region_is_either_skin_eye_or_clothes():
    assert {REGIONS[row] for row in NOT_SKIN} | set(CHANGES) == set(REGIONS)


@pytest.mark.parametrize("number", [5, 6, 7, 8, 9])
def test_middle_of_the_face_is_ruddier_and_the_jaw_cooler(number):
    Lab = colours(number)
    plain = Lab["skin"]
    for name in ("cheek", "nose", "ear", "lips", "forehead"):
        assert Lab[name][1] > plain[1] + 0.4, name
    assert Lab["lips"][1] == max(Lab[name][1] for name in CHANGES)
    assert Lab["jaw"][1] < plain[1] - 0.5
    assert Lab["jaw"][2] < plain[2] - 1


@pytest.mark.parametrize("number", LADDER)
def test_round_the_eye_and_above_the_lip_is_darker(number):
    Lab = colours(number)
    assert Lab["eyelid"][0] < Lab["skin"][0] - 2
    assert Lab["muzzle"][0] < Lab["skin"][0] - 1.5


@pytest.mark.parametrize("number", LADDER)
def test_lips_are_redder_than_the_skin_in_every_skin(number):
    Lab = colours(number)
    assert Lab["lips"][1] > Lab["skin"][1] + 2.5
    assert region_amounts(ladder_amounts(number), "lips").melanin < ladder_amounts(number).melanin


def test_lips_of_deep_skins_keep_melanin():
    assert Lab_of(region_albedos(ladder_amounts(1)))[ROW["lips"], 0] < 30
    assert Lab_of(region_albedos(ladder_amounts(9)))[ROW["lips"], 0] > 55


def test_without_regions_all_skin_is_plain():
    rows = region_albedos(ladder_amounts(6), regions=False)
    skin = [ROW[name] for name in CHANGES]
    np.testing.assert_array_equal(rows[skin], np.broadcast_to(rows[ROW["skin"]], (len(skin), 81)))


def test_ones_own_reflectance_is_scaled_and_kept_in_bounds():
    amounts = ladder_amounts(6)
    model = region_albedos(amounts)
    mine = 0.9 * albedo(amounts)
    rows = region_albedos(amounts, base_albedo=mine)
    skin = [ROW[name] for name in CHANGES]
    np.testing.assert_allclose(rows[skin], 0.9 * model[skin])
    np.testing.assert_array_equal(rows[NOT_SKIN], model[NOT_SKIN])
    np.testing.assert_allclose(region_albedos(amounts, base_albedo=albedo(amounts)), model)
    bright = region_albedos(amounts, base_albedo=np.full(81, 0.99))
    assert bright.max() <= 1


@pytest.mark.parametrize("number", LADDER)
def test_the_white_of_the_eye_is_lighter_than_any_skin_and_no_white(number):
    Lab = colours(number)
    assert max(Lab[name][0] for name in CHANGES) < Lab["eye white"][0] < 85
    assert Lab["iris"][0] < 35
    assert Lab["pupil"][0] < 8


def test_sheen_by_region():
    roughness, oil = region_sheen(0.35, 1.0)
    assert roughness.shape == oil.shape == (15,)
    assert roughness[ROW["skin"]] == 0.35
    assert roughness[ROW["nose"]] < roughness[ROW["forehead"]] < 0.35 < roughness[ROW["cheek"]]
    assert oil[ROW["nose"]] > oil[ROW["forehead"]] > 1 > oil[ROW["cheek"]]
    for name in ("eye white", "iris", "pupil"):
        assert roughness[ROW[name]] <= 0.1
    assert oil[ROW["clothes"]] == 0


def test_powder_leaves_only_the_eyes_wet():
    _, oil = region_sheen(0.35, 0.0)
    assert {REGIONS[row] for row in np.flatnonzero(oil)} == {"eye white", "iris", "pupil"}


def test_sheen_without_regions_is_the_sittings_own():
    roughness, oil = region_sheen(0.5, 0.7, regions=False)
    skin = [ROW[name] for name in CHANGES]
    assert set(roughness[skin]) == {0.5}
    assert set(oil[skin]) == {0.7}
