"""What each light gives and adds: sums that must come out."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from sitterlight.shading import light_mix as mixing
from sitterlight.shading.keying import resolve_eye
from sitterlight.shading.light_mix import added_light, key_light, key_to_fill, light_mix, light_shares
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import HeadSetting, LampLight, Sitting, SkinSetting, SurroundSetting
from sitterlight.shading.strokes import part_planes, seen_light
from sitterlight.shading.targets import plane_rows

KEY = LampLight(name="key", azimuth=-45, elevation=30, illuminance=800)
FILL = LampLight(name="fill", azimuth=40, elevation=10, spectrum="6500 K", illuminance=200)
RIM = LampLight(name="rim", azimuth=170, elevation=20, illuminance=100)


@lru_cache(maxsize=8)
def _scene(*lights, ground: float = 0.2):
    return light_scene(
        Sitting(
            head=HeadSetting(mesh="sphere"), skin=SkinSetting(ladder=6), lights=lights, surround=SurroundSetting(ground)
        )
    )


def test_what_the_lights_add_makes_each_plane():
    scene = _scene(KEY, FILL, RIM)
    rows = plane_rows(scene)
    added = added_light(scene)
    assert set(added) == {"key", "fill", "rim", "ground", "bounce"}
    assert sum(added.values()) == pytest.approx(np.array([row.XYZ for row in rows]), rel=1e-5, abs=1e-6)


def test_planes_that_are_parted_already_are_not_parted_again(monkeypatch):
    scene = _scene(KEY, FILL, RIM)
    eye, expected = resolve_eye(scene), light_mix(scene)
    planes = part_planes(seen_light(scene), eye)
    monkeypatch.setattr(mixing, "part_planes", None)
    given = light_mix(scene, eye, planes)
    assert given.shares == expected.shares and given.key_to_fill == expected.key_to_fill
    assert all(np.array_equal(given.added[name], added) for name, added in expected.added.items())


def test_a_light_adds_what_it_gives_alone():
    """Without ground, whose light belongs to all. The rim does not reach the card, and still adds."""
    together, alone = added_light(_scene(KEY, FILL, RIM, ground=0.0)), added_light(_scene(FILL, ground=0.0))
    assert together["fill"] == pytest.approx(alone["fill"], rel=1e-4, abs=1e-4)
    assert together["rim"].max() > 1


def test_shares_and_stops_follow_the_lux():
    scene = _scene(KEY, FILL, RIM)
    key, fill, rim = light_shares(scene)
    assert sum(light.card_share for light in (key, fill, rim)) == pytest.approx(1)
    assert sum(light.head_share for light in (key, fill, rim)) == pytest.approx(1)
    assert (key.stops_below_key, rim.card_lux) == (0, 0)
    assert fill.stops_below_key == pytest.approx(2, abs=0.02)  # a sphere takes alike from all sides: 800 to 200 lux
    assert rim.stops_below_key == pytest.approx(3, abs=0.02)
    assert key_light(scene) == "key"
    assert key.cct < 3000 < 6000 < fill.cct


def test_more_fill_is_fewer_stops():
    stronger = LampLight(name="fill", azimuth=40, elevation=10, illuminance=600)
    assert key_to_fill(_scene(KEY)) > key_to_fill(_scene(KEY, FILL)) > key_to_fill(_scene(KEY, stronger)) > 0
