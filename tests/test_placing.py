"""Lights in the frame of a head: where they stand there, and what tells one place from another."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sitterlight.shading.directions import equal_area_directions
from sitterlight.shading.placing import place_key, placed
from sitterlight.shading.resolve_lights import resolve_lights
from sitterlight.shading.sitting import LampLight, Sitting, SkyLight, SurroundSetting

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
