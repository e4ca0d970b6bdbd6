"""targets.json and targets.csv: strict, complete, and saying the same."""

import csv
import json
import math
from dataclasses import replace
from io import StringIO
from itertools import pairwise

import numpy as np
import pytest

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading import results
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import LampLight, Sitting, SkyLight, with_head, with_lights
from sitterlight.shading.sitting_file import from_dict
from sitterlight.shading.targets import plane_rows

LAMP = LampLight(name="lamp, warm", illuminance=500.0)


@pytest.fixture(scope="module")
def table():
    sitting = with_head(with_lights(Sitting(title="A – “table”"), SkyLight(illuminance=900.0), LAMP), mesh="sphere")
    scene = light_scene(sitting)
    return results.targets_table(scene, plane_rows(scene))


def refuse(constant):
    raise AssertionError(f"{constant} is no JSON")


def test_json_is_strict_and_keeps_every_number(table):
    text = results.json_text(table)
    assert json.loads(text, parse_constant=refuse) == table
    assert text.isascii() is False  # a title stays as it was written


def test_the_keys_of_the_contract(table):
    assert table["format"] == "sitterlight-targets/1"
    top = ("format", "sitting", "white_card", "skin", "lights", "key_to_fill_stops", "open_horizontal_lux", "planes")
    assert tuple(table) == top
    assert set(table["white_card"]) == {"XYZ", "xy", "cct", "duv", "lux"}
    assert {"Lab", "munsell", "ITA", "albedo"} <= set(table["skin"])
    for light in table["lights"]:
        assert {"name", "kind", "card_lux", "cct", "duv", "azimuth", "elevation", "compass"} <= set(light)
    told = "name side region normal area_mm2 visible illuminance XYZ Lab munsell srgb in_srgb own_Lab family"
    told += " skylight_note greying shares sheen_by_light bounce_by_light targets"
    for plane in table["planes"]:
        assert set(told.split()) <= set(plane)
        assert set(plane["illuminance"]) == {"direct", "ground", "bounced"}
        for target in plane["targets"]:
            assert {"part", "share_of_area", "Lab", "munsell", "srgb", "recipe"} <= set(target)


def test_the_sitting_within_reads_back_equal(table):
    sitting = from_dict(table["sitting"])
    assert sitting.title == "A – “table”"
    assert [light.name for light in sitting.lights] == ["sky", "lamp, warm"]
    assert sitting.head.mesh == "sphere"


def test_shares_are_of_one_whole(table):
    for plane in table["planes"]:
        assert math.fsum(plane["shares"].values()) == pytest.approx(1, abs=1e-6)
        assert math.fsum(plane["sheen_by_light"].values()) == pytest.approx(plane["shares"]["sheen"], abs=1e-6)
        assert math.fsum(plane["bounce_by_light"].values()) == pytest.approx(plane["shares"]["bounce"], abs=1e-6)
        assert math.fsum(t["share_of_area"] for t in plane["targets"]) == pytest.approx(1, abs=1e-6)


def test_card_and_skin(table):
    card, skin = table["white_card"], table["skin"]
    assert card["XYZ"][1] == pytest.approx(card["lux"] / math.pi, rel=1e-4)
    assert card["xy"] == pytest.approx(np.array(card["XYZ"][:2]) / sum(card["XYZ"]), rel=1e-6)
    assert skin["albedo"]["wavelength"] == WAVELENGTHS.tolist()
    assert len(skin["albedo"]["value"]) == len(WAVELENGTHS)
    L, _, b = skin["Lab"]
    assert skin["ITA"] == pytest.approx(math.degrees(math.atan2(L - 50, b)), abs=1e-4)


def test_csv_says_what_json_says(table):
    text = results.csv_text(table)
    rows = list(csv.DictReader(StringIO(text)))
    assert len(rows) == len(table["planes"])
    assert not {"nan", "NaN", "None", "inf"} & {cell for row in rows for cell in row.values()}
    for row, plane in zip(rows, table["planes"], strict=True):
        assert row["name"] == plane["name"]
        assert row["munsell"] == (plane["munsell"] or "")
        assert float(row["Lab.L"]) == plane["Lab"][0]
        assert float(row["normal.y"]) == plane["normal"][1]
        assert float(row["illuminance.ground"]) == plane["illuminance"]["ground"]
        assert float(row["shares.lamp, warm"]) == plane["shares"]["lamp, warm"]
        assert row["targets.1.srgb"] == plane["targets"][0]["srgb"]
        assert row["in_srgb"] == str(plane["in_srgb"])


def test_csv_columns_stand_together_and_once(table):
    names = next(csv.reader(StringIO(results.csv_text(table))))
    assert len(names) == len(set(names))
    stems = [name.split(".")[0] for name in names]
    assert sum(a != b for a, b in pairwise(stems)) + 1 == len(set(stems))


def test_recipes_in_csv(table):
    recipe = {"parts": [{"paint": "PW6", "parts": 3.0}, {"paint": "PB29", "parts": 0.5}], "delta_e": 1.25}
    planes = json.loads(json.dumps(table["planes"]))
    planes[0]["targets"][0]["recipe"] = {**recipe, "Lab": [50.0, 1.0, 2.0]}
    rows = list(csv.DictReader(StringIO(results.csv_text({"planes": planes}))))
    assert rows[0]["targets.1.recipe.parts"] == "3 PW6 + 0.5 PB29"
    assert rows[0]["targets.1.recipe.Lab.a"] == "1.0"
    assert rows[1]["targets.1.recipe.parts"] == ""
    assert "targets.1.recipe" not in rows[0]


def test_nothing_unfinite_gets_through():
    value = {"a": math.nan, "b": [np.inf, np.float32(1.5), np.int16(3), np.bool_(True)], "c": np.array([1.0, np.nan])}
    assert results.plain(value) == {"a": None, "b": [None, 1.5, 3, True], "c": [1.0, None]}


def test_no_planes_no_trouble(table):
    assert results.csv_text({**table, "planes": []}) == "\n"


def test_a_coloured_light_has_no_temperature(table):
    sitting = with_head(with_lights(Sitting(), replace(LAMP, spectrum="A")), mesh="sphere")
    scene = light_scene(sitting)
    green = replace(scene, card_XYZ=np.array([20.0, 100.0, 15.0]))
    assert results.white_card(green)["cct"] is None
    assert results.plain(results.white_card(scene))["cct"] == pytest.approx(2856, abs=60)


def test_what_each_light_gives_and_adds_makes_the_whole(table):
    """Light adds up: shares to one, what each light adds to a plane to the plane's XYZ."""
    lights = table["lights"]
    assert sum(light["card_share"] for light in lights) == pytest.approx(1)
    assert sum(light["head_share"] for light in lights) == pytest.approx(1)
    assert min(light["stops_below_key"] for light in lights) == 0
    names = {light["name"] for light in lights}
    for plane in table["planes"]:
        added = plane["added_XYZ"]
        assert names <= set(added) <= names | {"ground", "walls", "bounce"}
        assert np.sum(list(added.values()), axis=0) == pytest.approx(plane["XYZ"], rel=1e-4, abs=1e-5)


def test_the_table_of_planes_has_no_columns_of_single_lights(table):
    assert not any(name.startswith("added") for name in results.csv_text(table).splitlines()[0].split(","))
