"""Daylight on a head: what the sources keep of sun and sky, and what painters know of outdoor light.

Where a test says so it holds to common practice (no source); nothing is fitted to make it true.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from functools import lru_cache

import numpy as np
import pytest

from sitterlight.illuminants.clear_sky import AIRS
from sitterlight.illuminants.observer import luminous
from sitterlight.illuminants.shade import SHADES
from sitterlight.illuminants.weather import WEATHERS
from sitterlight.shading import sitting_keys
from sitterlight.shading.daylight_sources import daylight_of, daylight_sources
from sitterlight.shading.frame import UP, direction
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import (
    DaylightLight,
    EyeSetting,
    HeadSetting,
    Sitting,
    SkinSetting,
    SurroundSetting,
)
from sitterlight.shading.sitting_file import from_dict, to_dict
from sitterlight.shading.sitting_rules import SittingError
from sitterlight.shading.sources import Patch, spectrum_of
from sitterlight.shading.targets import plane_rows

MORNING = DaylightLight(name="day", latitude=35, longitude=0, when=datetime(2026, 9, 10, 8, 30, tzinfo=UTC), facing=150)
FAIR = SkinSetting(ladder=8)
USUAL = SurroundSetting()
EYE = EyeSetting(azimuth=10, elevation=0)


@lru_cache(maxsize=16)
def _scene(skin: SkinSetting = FAIR, surround: SurroundSetting = USUAL, light: DaylightLight = MORNING):
    return light_scene(Sitting(skin=skin, lights=(light,), surround=surround, eye=EYE))


@lru_cache(maxsize=16)
def _rows(skin: SkinSetting = FAIR, surround: SurroundSetting = USUAL, light: DaylightLight = MORNING):
    return plane_rows(_scene(skin, surround, light))


def _plane(rows, name: str, side: str = "centre"):
    return next(row for row in rows if (row.name, row.side) == (name, side))


def _families(rows, quantity: str) -> dict[str, float]:
    """Mean over the seen skin planes of each family, by area."""
    means = {}
    for family in ("light", "shadow"):
        seen = [row for row in rows if row.visible > 0.3 and row.family == family and row.region != "scalp"]
        area = np.array([row.area_mm2 * row.visible for row in seen])
        means[family] = float(area @ [getattr(row, quantity) for row in seen] / area.sum())
    return means


@pytest.mark.parametrize("weather", WEATHERS)
@pytest.mark.parametrize("hour", [5, 12])
def test_the_sources_keep_the_spectrum_of_sun_and_sky(weather, hour):
    light = replace(MORNING, weather=weather, when=MORNING.when.replace(hour=hour, minute=45))
    sources = daylight_sources(light)
    total = sum(spectrum_of(source, source.irradiance(UP)) for source in sources)
    assert total == pytest.approx(daylight_of(light).horizontal_irradiance(), rel=0.004)


def test_the_white_card_gets_what_sun_and_sky_give_it():
    """An integration of its own: the sky over a fine grid in elevation and azimuth, the sun by its cosine."""
    day = daylight_of(MORNING)
    bare = SurroundSetting(ground=0.0)
    scene = light_scene(Sitting(head=HeadSetting(mesh="sphere"), lights=(MORNING,), surround=bare, eye=EYE))
    e, a = (np.arange(180) + 0.5) * np.pi / 360, (np.arange(720) + 0.5) * np.pi / 360 - np.pi
    elevation, azimuth = (each.ravel() for each in np.meshgrid(e, a, indexing="ij"))
    sight = np.stack(
        [np.sin(azimuth) * np.cos(elevation), np.sin(elevation), np.cos(azimuth) * np.cos(elevation)], axis=1
    )
    normal = direction(EYE.azimuth, 0)
    piece = np.maximum(sight @ normal, 0) * np.cos(elevation) * (np.pi / 360) ** 2
    expected = (piece @ day.sky.weights(sight)) @ day.sky.basis + day.sun.irradiance * (day.sun.direction @ normal)
    assert scene.card_lux == pytest.approx(float(luminous(expected)), rel=0.003)
    assert scene.card_spectrum * scene.card_lux == pytest.approx(expected, rel=0.006)


def test_sun_and_sky_are_named_apart_and_the_sun_is_where_the_almanac_says():
    sun, sky = _scene().light_info
    assert (sun["name"], sky["name"]) == ("day sun", "day sky")
    position = daylight_of(MORNING).position
    assert sun["compass"] == pytest.approx(position.compass, abs=1e-6)
    assert sun["azimuth"] == pytest.approx(MORNING.facing - position.compass, abs=1e-6)
    assert sun["cct"] < 5600 < 8000 < sky["cct"]


def test_shade_and_air_reach_the_light():
    open_shade = daylight_sources(replace(MORNING, shade="open"))
    assert [source.name for source in open_shade] == ["day sky"]
    tree = next(x for x in daylight_sources(replace(MORNING, shade="tree")) if isinstance(x, Patch))
    clear = next(x for x in daylight_sources(MORNING) if isinstance(x, Patch))
    assert luminous(spectrum_of(tree, tree.irradiance(UP))) < 0.11 * luminous(spectrum_of(clear, clear.irradiance(UP)))
    dusty = next(x for x in daylight_sources(replace(MORNING, air="dusty")) if isinstance(x, Patch))
    assert luminous(spectrum_of(dusty, dusty.irradiance(UP))) < 0.7 * luminous(spectrum_of(clear, clear.irradiance(UP)))


def test_the_sitting_file_knows_every_air_shade_and_weather():
    for allowed, known in (("air", ("auto", *AIRS)), ("shade", SHADES), ("weather", WEATHERS)):
        assert sitting_keys.LIGHTS["daylight"][allowed].choices == tuple(known)
    sitting = Sitting(lights=(replace(MORNING, air="hazy", shade="porch"),))
    assert from_dict(to_dict(sitting)) == sitting
    with pytest.raises(SittingError, match=r'light\[1\].shade is "treee" \(did you mean "tree"\?\); allowed is one of'):
        from_dict({"format": "sitterlight/1", "light": [{"kind": "daylight", "shade": "treee"}]})


def test_shadows_outdoors_take_the_blue_of_the_sky_and_the_lights_do_not():
    """Common practice, no source. The card stands in the same sun, so sunlit skin is neither warm nor blue."""
    notes = _families(_rows(), "skylight_note")
    assert notes["shadow"] > 1 and abs(notes["light"]) < 0.5


def test_sunlit_planes_are_warm_to_an_eye_in_the_shade():
    """Common practice, no source. The sun comes from the sitter's right and does not reach the card."""
    notes = _families(_rows(light=replace(MORNING, facing=30)), "skylight_note")
    assert notes["light"] < -1.5 and notes["light"] < notes["shadow"] - 1


def test_fair_skin_greys_outdoors_in_its_shadows_not_in_its_lights():
    """Common practice, no source."""
    greying = _families(_rows(), "greying")
    assert greying["shadow"] > 0.25 > 0.1 > greying["light"]


def test_snow_and_sand_fill_the_under_planes():
    """Common practice, no source. How much a plane that looks down gains on one that looks up."""

    def filled(ground: float | str) -> float:
        rows = _rows(surround=SurroundSetting(ground=ground))
        return _plane(rows, "chin underside").XYZ[1] / _plane(rows, "forehead front").XYZ[1]

    bare, usual, sand, snow = filled(0.0), filled(0.2), filled("sand"), filled("snow")
    assert bare < usual < sand < snow
    assert sand > 1.2 * usual and snow > 2 * usual


def test_sand_warms_the_under_planes_and_snow_cools_them():
    """Common practice, no source: what fills brings its own colour, beside a grey of the same lightness or not."""

    def warmth(ground: float | str) -> float:
        return _plane(_rows(surround=SurroundSetting(ground=ground)), "chin underside").Lab[2]

    grey, sand, snow = warmth(0.35), warmth("sand"), warmth("snow")
    assert sand > grey + 1
    assert snow < sand - 2


def test_a_red_cloth_reddens_the_chin():
    """Common practice, no source. Beside a grey cloth of the same luminance, so that only its colour tells."""

    def row(name: str, clothes: float | str):
        return np.array(_plane(_rows(surround=SurroundSetting(clothes=clothes)), name).Lab)

    grey = 0.12
    chin = row("chin underside", "red cloth") - row("chin underside", grey)
    forehead = row("forehead front", "red cloth") - row("forehead front", grey)
    assert chin[1] > 2
    assert np.abs(forehead[1:]).max() < 0.5
