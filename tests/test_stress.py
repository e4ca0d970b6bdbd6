"""Numbers under stress: finite, in range, and null where there is no answer, whatever light and skin are asked for."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("hypothesis", reason="the test extra is not installed")

import trimesh
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from sitterlight.shading.keying import resolve_eye
from sitterlight.shading.results import csv_text, json_text, targets_table
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import (
    EyeSetting,
    HeadSetting,
    LampLight,
    Sitting,
    SkinColour,
    SkinSetting,
    SkyLight,
    SurroundSetting,
    WindowLight,
    with_eye,
    with_head,
    with_lights,
    with_skin,
    with_surround,
)
from sitterlight.shading.study import study, study_of
from sitterlight.shading.targets import plane_rows

CUBE = Sitting(head=HeadSetting(mesh="cube"))
LAMP = LampLight(name="lamp")
MAY_BE_NULL = (
    "munsell", "cct", "duv", "greying", "skylight_note", "recipe", "azimuth", "elevation", "compass",
    "stops_below_key", "key_to_fill_stops", "ITA",
)  # fmt: skip
SPECTRA = {
    "black.csv": "380,0\n780,0\n",
    "white.csv": "380,1\n780,1\n",
    "yellow-line.csv": "380,0\n588.5,0\n589,1\n589.5,0\n780,0\n",
    "violet-line.csv": "380,0\n399,0\n400,1\n401,0\n780,0\n",
    "red-line.csv": "380,0\n769,0\n770,1\n771,0\n780,0\n",
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    made = tmp_path_factory.mktemp("spectra")
    for name, text in SPECTRA.items():
        (made / name).write_text(text)
    return made


def table_of(sitting: Sitting) -> dict:
    """Everything `targets.json` would hold, but for recipes, read back as strict JSON."""
    scene = light_scene(sitting)
    for array in (scene.part_XYZ, scene.part_XYZ_neutral, scene.own_XYZ, scene.irradiance_by_light):
        assert np.isfinite(array).all()
        assert array.min() >= -1e-5 * max(float(np.abs(array).max()), 1e-300)
    table = targets_table(scene, plane_rows(scene, resolve_eye(scene)))
    assert csv_text(table)
    return json.loads(json_text(table), parse_constant=lambda word: pytest.fail(f"{word} in targets.json"))


def hold(table: dict) -> None:
    """What is true of any answer."""
    for path, value in leaves({name: value for name, value in table.items() if name != "sitting"}):
        if value is None:
            dark = any("shares" in part or "_by_light" in part for part in path)
            assert path[-1] in MAY_BE_NULL or dark, path
        elif isinstance(value, float):
            assert math.isfinite(value)
    for plane in table["planes"]:
        assert 0 <= plane["visible"] <= 1 + 1e-6
        assert plane["Lab"][0] >= -1e-6
        assert all(lux >= 0 for lux in plane["illuminance"].values())
        assert plane["family"] in ("light", "halftone", "shadow")
        assert len(plane["srgb"]) == 7
        shares = list(plane["shares"].values())
        if None in shares:
            assert set(shares) == {None}
            assert plane["XYZ"][1] <= 1e-6 * table["white_card"]["XYZ"][1]
        else:
            assert sum(shares) == pytest.approx(1, abs=1e-4)
            assert min(shares) >= -1e-6
        if plane["greying"] is not None:
            assert abs(plane["greying"]) < 100
        if plane["skylight_note"] is not None:
            assert abs(plane["skylight_note"]) < 200
        assert sum(target["share_of_area"] for target in plane["targets"]) <= 1 + 1e-6


def leaves(value: object, path: tuple[str, ...] = ()):
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list):
        for inner in value:
            yield from leaves(inner, path)
    else:
        yield path, value


def in_no_room(sitting: Sitting) -> Sitting:
    """Nothing that returns light."""
    return with_surround(sitting, ground=0.0, walls=0.0)


CASES = {
    "a millionth of a lux": with_lights(CUBE, replace(LAMP, illuminance=1e-6)),
    "next to nothing": with_lights(CUBE, replace(LAMP, illuminance=1e-30)),
    "a million lux": with_lights(CUBE, replace(LAMP, illuminance=1e6)),
    "a million beside a millionth": with_lights(
        CUBE, replace(LAMP, illuminance=1e6), replace(LAMP, name="other", azimuth=60.0, illuminance=1e-6)
    ),
    "grazing": in_no_room(with_lights(CUBE, replace(LAMP, azimuth=89.99, elevation=0.0, size=0.05))),
    "from straight below": in_no_room(with_lights(CUBE, replace(LAMP, elevation=-90.0, size=90.0))),
    "a black skin": with_skin(CUBE, reflectance="black.csv", sheen_included=False),
    "a black skin without sheen": with_skin(CUBE, reflectance="black.csv", sheen_included=False, oil=0.0),
    "a black skin in a key": with_eye(
        with_skin(CUBE, reflectance="black.csv", sheen_included=False, oil=0.0), key=9.0
    ),
    "a white skin in a white world": with_surround(
        with_skin(CUBE, reflectance="white.csv", sheen_included=False, oil=5.0), ground=1.0, walls=1.0
    ),
    "a yellow line": with_lights(CUBE, replace(LAMP, spectrum="yellow-line.csv")),
    "a violet line": with_lights(CUBE, replace(LAMP, spectrum="violet-line.csv")),
    "a red line for ten degrees": with_eye(with_lights(CUBE, replace(LAMP, spectrum="red-line.csv")), observer=10),
    "a black skin in a line": with_skin(
        with_lights(CUBE, replace(LAMP, spectrum="violet-line.csv")), reflectance="black.csv", oil=0.0
    ),
    "a skin of no colour": with_skin(CUBE, colour=SkinColour(srgb="#000000")),
    "a skin no one has": with_skin(CUBE, colour=SkinColour(Lab=(50.0, -150.0, 150.0))),
    "a mirror": with_skin(with_lights(CUBE, replace(LAMP, size=0.05)), roughness=0.05, oil=5.0),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_numbers_hold(name, folder):
    hold(table_of(replace(CASES[name], folder=folder)))


@pytest.mark.parametrize("name", ["a black skin in a key", "a violet line", "next to nothing"])
def test_a_whole_study_holds_too(name, folder, tmp_path):
    """With recipes, pictures and the sheet."""
    sitting = replace(CASES[name], folder=folder)
    written = study(sitting, tmp_path / "out")
    assert all(path.stat().st_size > 0 for path in written.values())
    hold(without_recipes(json.loads((tmp_path / "out" / "targets.json").read_text(encoding="utf-8"))))


def without_recipes(table: dict) -> dict:
    """Recipes have nulls of their own, and are tested elsewhere."""
    planes = [
        plane | {"targets": [target | {"recipe": None} for target in plane["targets"]]} for plane in table["planes"]
    ]
    return {name: table[name] for name in ("white_card", "skin", "lights", "open_horizontal_lux")} | {"planes": planes}


@pytest.mark.parametrize(
    "sitting",
    [
        with_lights(CUBE, SkyLight(illuminance=0.0)),
        with_lights(CUBE, replace(LAMP, illuminance=0.0)),
        with_lights(CUBE, replace(LAMP, on=False)),
        with_lights(CUBE),
        in_no_room(with_lights(CUBE, replace(LAMP, azimuth=180.0, elevation=0.0))),
        with_eye(with_lights(CUBE, SkyLight(illuminance=0.0)), key=8.0),
    ],
    ids=["dark sky", "dark lamp", "off", "no light", "from behind", "dark in a key"],
)
def test_total_darkness_is_a_sentence(sitting):
    with pytest.raises(ValueError, match=r"[Ll]ight") as caught:
        study_of(sitting)
    assert "\n" not in str(caught.value)


def test_brightness_alone_changes_no_colour(folder):
    """With adaptation and key given, a lamp of a million lux shows the colours of one of a millionth."""
    dim, bright = (
        table_of(with_eye(with_lights(CUBE, replace(LAMP, illuminance=lux)), adaptation=1.0)) for lux in (1e-6, 1e6)
    )
    for one, other in zip(dim["planes"], bright["planes"], strict=True):
        assert one["Lab"] == pytest.approx(other["Lab"], abs=1e-3)
        assert one["munsell"] == other["munsell"]


def test_a_head_inside_out_is_turned_and_gives_the_same(tmp_path):
    box = trimesh.creation.box(extents=[100.0] * 3)
    box.export(tmp_path / "right.ply")
    box.invert()
    box.export(tmp_path / "inverted.ply")
    tables = [table_of(replace(with_head(CUBE, mesh=f"{name}.ply"), folder=tmp_path)) for name in ("right", "inverted")]
    for table in tables:
        hold(table)
    first, other = ({plane["name"]: plane["Lab"] for plane in table["planes"]} for table in tables)
    assert first.keys() == other.keys()
    for name, Lab in first.items():
        assert other[name] == pytest.approx(Lab, abs=0.2)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_a_mesh_of_hardly_anything_is_a_head_or_a_sentence(tmp_path, count):
    places = ["v 0 0 0", "v 100 0 0", "v 0 100 0"][:count]
    (tmp_path / "few.obj").write_text("\n".join([*places, f"f 1 {min(2, count)} {count}"]))
    sitting = replace(with_head(CUBE, mesh="few.obj"), folder=tmp_path)
    if count == 3:
        hold(table_of(sitting))
        return
    with pytest.raises(ValueError, match=r"few\.obj"):
        light_scene(sitting)


_STRENGTHS = st.floats(-6, 6).map(lambda power: 10.0**power)
_AZIMUTHS, _ELEVATIONS = st.floats(-180, 180), st.floats(-90, 90)
_NAMED = st.sampled_from(("A", "D65", "2000 K", "LED-RGB1", "HP1", "yellow-line.csv", "violet-line.csv"))
_LAMPS = st.builds(
    LampLight,
    azimuth=_AZIMUTHS,
    elevation=_ELEVATIONS,
    illuminance=_STRENGTHS,
    spectrum=_NAMED,
    size=st.sampled_from((0.05, 1.0, 12.0, 170.0)),
)
_NEAR = st.builds(
    LampLight,
    azimuth=_AZIMUTHS,
    elevation=_ELEVATIONS,
    illuminance=_STRENGTHS,
    size=st.none(),
    distance=st.sampled_from((200.0, 1000.0, 1e6)),
    diameter=st.sampled_from((1.0, 300.0)),
)
_SKIES = st.builds(SkyLight, sky=st.integers(1, 16), illuminance=_STRENGTHS, sun_elevation=st.floats(0, 90))
_WINDOWS = st.builds(
    WindowLight,
    azimuth=_AZIMUTHS,
    elevation=_ELEVATIONS,
    distance=st.sampled_from((200.0, 1800.0, 1e5)),
    width=st.sampled_from((10.0, 1200.0, 1e5)),
    illuminance=_STRENGTHS,
)
_SITTINGS = st.builds(
    Sitting,
    head=st.builds(HeadSetting, mesh=st.just("cube"), turn=_AZIMUTHS, tilt=_ELEVATIONS, lean=_ELEVATIONS),
    skin=st.builds(
        SkinSetting, ladder=st.integers(1, 9), roughness=st.sampled_from((0.05, 0.35, 1.0)), oil=st.floats(0, 5)
    ),
    lights=st.lists(st.one_of(_LAMPS, _NEAR, _SKIES, _WINDOWS), min_size=1, max_size=3).map(
        lambda lights: tuple(replace(light, name=f"light {place}") for place, light in enumerate(lights))
    ),
    surround=st.builds(SurroundSetting, ground=st.floats(0, 1), walls=st.floats(0, 1)),
    eye=st.builds(
        EyeSetting,
        azimuth=_AZIMUTHS,
        elevation=_ELEVATIONS,
        distance=st.sampled_from((300.0, 1500.0, 1e5)),
        adaptation=st.just("auto") | st.floats(0, 1),
        key=st.just("as lit") | st.floats(1, 10),
        observer=st.sampled_from((2, 10)),
    ),
)


@settings(
    max_examples=60,
    deadline=None,
    database=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
@given(sitting=_SITTINGS)
def test_numbers_hold_for_any_sitting(folder, sitting):
    try:
        table = table_of(replace(sitting, folder=folder))
    except ValueError as refusal:
        assert "white card" in str(refusal) or "light" in str(refusal).lower(), refusal
        return
    hold(table)
