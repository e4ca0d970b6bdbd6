"""Rooms: walls return light in their own colour, as much as falls on them, and the head is lit by it.

Source: the theory of the integrating sphere (any textbook of radiometry, such as W. R. McCluney, Introduction to
Radiometry and Photometry): walls of reflectance ρ all round return ρ + ρ² + … = ρ / (1 − ρ) of what first meets them.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sitterlight.illuminants.surfaces import reflectance
from sitterlight.shading.resolve_lights import resolve_lights
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import HeadSetting, LampLight, Sitting, SkyLight, SurroundSetting, WindowLight
from sitterlight.shading.sources import spectrum_of
from sitterlight.shading.targets import plane_rows

LAMP = LampLight(name="lamp", spectrum="E", azimuth=0, elevation=20, size=12, illuminance=500)
BRICK = "brick"


def _walls(light, walls):
    sources = resolve_lights(Sitting(lights=(light,), surround=SurroundSetting(ground=0.0, walls=walls)))
    found = [source for source in sources if source.name == "walls"]
    return spectrum_of(found[0], found[0].mean_radiance()) if found else np.zeros(81)


def test_walls_return_the_series_of_an_integrating_sphere_in_their_own_colour():
    white, brick = _walls(LAMP, 0.5), _walls(LAMP, BRICK)
    colour = reflectance(BRICK)
    assert brick / white == pytest.approx(colour / (1 - colour), rel=1e-6)
    assert brick[60] / brick[10] > 2  # 680 nm over 430 nm


@pytest.mark.parametrize("light", [LAMP, WindowLight(sky="uniform", spectrum="6500 K")])
def test_walls_return_what_falls_on_them(light):
    assert _walls(replace(light, illuminance=2 * light.illuminance), 0.4) == pytest.approx(2 * _walls(light, 0.4))
    assert not _walls(light, 0.0).any()


def test_there_are_no_walls_under_an_open_sky():
    assert not _walls(SkyLight(), 0.8).any()


def test_brick_walls_warm_what_the_lamp_does_not_reach():
    def back(walls) -> np.ndarray:
        surround = SurroundSetting(ground=0.0, walls=walls)
        rows = plane_rows(light_scene(Sitting(head=HeadSetting(mesh="cube"), lights=(LAMP,), surround=surround)))
        return np.array(min(rows, key=lambda row: row.normal[2]).XYZ)

    dark, grey, brick = back(0.0), back(0.2), back(BRICK)
    assert dark[1] < 0.01 * grey[1]
    assert brick[0] / brick[2] > 1.3 * grey[0] / grey[2]
