"""Lights in the frame of a head: where they stand there, and what tells one place from another."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from lamps import LIGHTS, patch_of

from sitterlight.shading.directions import equal_area_directions
from sitterlight.shading.frame import direction
from sitterlight.shading.placing import place_key, placed
from sitterlight.shading.resolve_lights import resolve_lights
from sitterlight.shading.sitting import LampLight, Sitting, SkyLight, SurroundSetting
from sitterlight.shading.sources import mixture

SKY, DISTANT, NEAR = resolve_lights(
    Sitting(
        lights=(
            SkyLight(sky="overcast"),
            LampLight(name="far", azimuth=40, elevation=20, size=12),
            LampLight(name="near", azimuth=-30, size=None, distance=900, diameter=200),
        ),
        surround=SurroundSetting(ground=0),
    )
)
CELLS = 12 * 8**2


def _turned(degrees: float) -> np.ndarray:
    """About the axis from left to right, x: (3,3), head → room."""
    sine, cosine = np.sin(np.radians(degrees)), np.cos(np.radians(degrees))
    return np.array([[1, 0, 0], [0, cosine, -sine], [0, sine, cosine]])


@pytest.mark.parametrize("source", [DISTANT, NEAR])
def test_a_lamp_stands_where_its_place_in_the_room_is_for_the_head(source):
    """What the turn takes from the head to the room is where the lamp was; another turn is another place."""
    for degrees in (35.0, -100.0):
        rotation = _turned(degrees)
        here = placed(source, rotation, CELLS)
        assert here.points @ rotation.T == pytest.approx(source.points, abs=1e-4)
        assert np.array_equal(here.weights, source.weights) and here.distant == source.distant
        if source.facing is not None:
            assert here.facing @ rotation.T == pytest.approx(source.facing, abs=1e-6)
        assert placed(source, rotation, CELLS) is here


def test_a_sky_has_as_many_cells_as_are_asked_for_and_its_brightest_part_stays_above_the_room():
    straight, bowed, finer = (placed(SKY, _turned(t), n) for t, n in ((0, CELLS), (60, CELLS), (0, 4 * CELLS)))
    assert (len(straight), len(bowed), len(finer)) == (CELLS, CELLS, 4 * CELLS)
    up, bowed_up = (each[:, 0] @ equal_area_directions(8) for each in (straight, bowed))
    assert up / np.linalg.norm(up) == pytest.approx([0, 1, 0], abs=1e-3)
    assert _turned(60) @ bowed_up == pytest.approx(up, abs=0.01 * np.linalg.norm(up))


def test_places_are_told_apart_by_all_that_light_goes_by():
    lamp = placed(NEAR, np.eye(3), CELLS)
    others = (
        replace(lamp, points=lamp.points + 1),
        replace(lamp, weights=2 * lamp.weights),
        replace(lamp, facing=-lamp.facing),
        replace(lamp, facing=None),
        replace(lamp, distant=True),
    )
    assert len({place_key(lamp), *map(place_key, others)}) == 1 + len(others)
    assert place_key(replace(lamp, points=lamp.points.copy())) == place_key(lamp)


def test_a_light_that_stays_has_the_same_source_while_another_moves():
    """By which its place is known: only the moved lamp is put anew."""
    lamps = tuple(LampLight(name=name, azimuth=azimuth, size=12) for name, azimuth in (("one", 10), ("other", 80)))
    sitting = Sitting(lights=(SkyLight(sky="overcast"), *lamps), surround=SurroundSetting(ground=0))
    before = resolve_lights(sitting)
    after = resolve_lights(replace(sitting, lights=(*sitting.lights[:2], replace(lamps[1], azimuth=-20))))
    assert [one is two for one, two in zip(before, after, strict=True)] == [True, True, False]
    renamed = resolve_lights(replace(sitting, lights=(*sitting.lights[:2], replace(lamps[1], name="third"))))
    assert renamed[2].name == "third" and place_key(renamed[2]) == place_key(before[2])
    stronger = resolve_lights(replace(sitting, lights=(*sitting.lights[:2], replace(lamps[1], illuminance=1234.0))))
    assert stronger[2].basis == pytest.approx(before[2].basis * 1234.0 / lamps[1].illuminance)


def test_a_patch_lies_in_an_order_in_which_each_sample_is_far_from_all_before():
    """Written out; and each number of all samples together, in that order."""
    points, order = NEAR.points, NEAR.order
    apart = np.linalg.norm(points[:, None] - points, axis=2)
    for turn in range(1, len(order)):
        nearest = apart[:, order[:turn]].min(axis=1)
        assert nearest[order[turn]] == pytest.approx(nearest.max())
    for row, each in zip(NEAR.rows, (points, NEAR.facing, NEAR.weights), strict=True):
        assert row == pytest.approx(each[order].T, rel=1e-6)
    assert not DISTANT.rows[1].any()


@pytest.mark.parametrize("size", [0.5, 12.0, 90.0])
def test_a_lamp_gives_one_lux_to_who_faces_it(size):
    """E = Σ L ω cos, over its samples; its spectrum has one lux."""
    lamp = resolve_lights(Sitting(lights=(LampLight(size=size, azimuth=20, elevation=30, illuminance=1.0),)))[0]
    axis = direction(20, 30)
    assert lamp.weights[:, 0] @ (lamp.points @ axis) == pytest.approx(1.0)
    assert np.linalg.norm(lamp.points, axis=1) == pytest.approx(1.0)
    assert (lamp.points @ axis).min() >= np.cos(np.radians(size / 2)) - 1e-9


def test_the_ground_is_the_sum_of_what_it_returns():
    """Of a sky all at once, of a lamp by its own spectrum: when it moves, only the amount is another."""
    lamp = LampLight(name="lamp", azimuth=10, elevation=50, size=12, spectrum="A", illuminance=500)
    sitting = Sitting(lights=(SkyLight(sky="overcast"), lamp))
    grounds = [
        resolve_lights(replace(sitting, lights=(sitting.lights[0], each)))[-1]
        for each in (lamp, replace(lamp, elevation=20.0))
    ]
    for ground in grounds:
        assert ground.kind == "ground" and len(mixture(ground)) == 2
        assert sum(amount * basis for amount, basis in mixture(ground)) == pytest.approx(ground.basis)
    (one, before), (two, after) = (mixture(ground)[1] for ground in grounds)
    lower = np.sin(np.radians(20)) / np.sin(np.radians(50))
    assert np.array_equal(before, after) and two / one == pytest.approx(lower, rel=1e-3)
    assert mixture(NEAR) == ((1.0, NEAR.basis),)


def test_few_samples_give_the_same_light():
    for light in LIGHTS.values():
        patch = patch_of(light)
        few = patch.thinned(8)
        toward = patch.points.mean(axis=0) / np.linalg.norm(patch.points.mean(axis=0))
        here, whole = (each.irradiance(toward) @ each.luminance_of_basis for each in (few, patch))
        assert here == pytest.approx(whole, rel=0.03)
