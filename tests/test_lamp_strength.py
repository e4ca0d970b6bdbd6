"""Strength of near lamps in lux at the head or lumens at the source, and lamps that are spheres, through a scene.

Sources: the lumen as candela times steradian (CIE S 017), so Φ = 4π I of a sphere alike all round and Φ = π L A of a
Lambertian disc; a sphere lights a plane element wholly in front of it with E = π L (r/d)² cos θ (J. R. Howell, A
Catalog of Radiation Heat Transfer Configuration Factors, section B: to a sphere), which is inverse square and cosine
from its centre however near it is.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from solids import sitting_of, write_mesh

from sitterlight.shading.frame import ball_samples
from sitterlight.shading.resolve_lights import lamp_illuminance, lamp_lumens, resolve_lights
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import LampLight, Sitting, SkinSetting, SurroundSetting
from sitterlight.shading.sitting_file import from_dict, to_dict
from sitterlight.shading.sitting_rules import SittingError

BULB = LampLight(azimuth=0, elevation=0, size=None, distance=800, diameter=60, shape="sphere", illuminance=200)


def _lux_on_sheet(folder, lamp: LampLight) -> tuple[np.ndarray, np.ndarray]:
    line = np.linspace(-250, 250, 5)
    u, v = (each.ravel() for each in np.meshgrid(line, line))
    corner = np.arange(25).reshape(5, 5)
    a, b, c, d = (each.ravel() for each in (corner[:-1, :-1], corner[:-1, 1:], corner[1:, 1:], corner[1:, :-1]))
    faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    mesh = write_mesh(folder, "sheet", np.stack([u, v, np.zeros_like(u)], axis=1), faces)
    matt = SkinSetting(oil=0.0, regions=False)
    scene = light_scene(sitting_of(folder, mesh, skin=matt, lights=(lamp,), surround=SurroundSetting(ground=0.0)))
    return scene.head.vertices, scene.illuminance["direct"]


@pytest.mark.parametrize("diameter", [10, 240])
def test_a_sphere_falls_off_by_inverse_square_and_one_cosine(tmp_path, diameter):
    places, lux = _lux_on_sheet(tmp_path, replace(BULB, diameter=diameter))
    square = places[:, 0] ** 2 + places[:, 1] ** 2
    assert lux == pytest.approx(200 * (800**2 / (800**2 + square)) ** 1.5, rel=0.002)


def test_the_samples_of_a_sphere_cover_its_disc_evenly_from_all_sides():
    """A disc's own: within any radius ρ a share ρ², from the front and from the side."""
    points = ball_samples(4096)
    for away in (0, 1, 2):
        seen = np.delete(points, away, axis=1)
        assert points.mean(axis=0) == pytest.approx(0, abs=1e-12)
        for radius in (0.3, 0.6, 0.9):
            assert (np.hypot(*seen.T) < radius).mean() == pytest.approx(radius**2, abs=0.01)


def test_a_bulb_of_800_lumens_gives_800_over_4_pi_candela(tmp_path):
    places, lux = _lux_on_sheet(tmp_path, replace(BULB, illuminance=None, lumens=800.0))
    middle = np.abs(places).sum(axis=1).argmin()
    assert lux[middle] == pytest.approx(800 / (4 * np.pi) / 0.8**2, rel=1e-3)


@pytest.mark.parametrize("diameter", [10, 500])
def test_the_flux_of_a_disc_is_that_of_all_it_throws_on_a_hemisphere(diameter):
    """Lambert's disc, integrated numerically over directions from each of its points: what leaves is Φ."""
    lamp = LampLight(size=None, distance=700, diameter=diameter, illuminance=None, lumens=1000.0)
    lux, radius = lamp_illuminance(lamp), diameter / 2000
    radiance = lux * (radius**2 + 0.7**2) / (np.pi * radius**2)
    angle = (np.arange(2000) + 0.5) / 2000 * np.pi / 2
    leaving = radiance * np.pi * radius**2 * (2 * np.pi * np.sin(angle) * np.cos(angle)).sum() * np.pi / 4000
    assert leaving == pytest.approx(1000, rel=1e-5)


def test_lumens_and_lux_are_one_strength_told_twice():
    for lamp in (BULB, replace(BULB, shape="disc", diameter=400)):
        in_lumens = replace(lamp, illuminance=None, lumens=lamp_lumens(lamp))
        assert lamp_illuminance(in_lumens) == pytest.approx(200)


def test_the_sitting_file_takes_either_and_not_both():
    table = {"kind": "lamp", "distance": 900.0, "diameter": 60.0, "shape": "sphere", "lumens": 800.0}
    sitting = from_dict({"format": "sitterlight/1", "light": [table]})
    written = to_dict(sitting)
    assert "illuminance" not in written["light"][0] and "size" not in written["light"][0]
    assert from_dict(written) == sitting
    for change, said in (
        ({"illuminance": 300}, "has illuminance and lumens; allowed is one"),
        ({"distance": None}, "has lumens, which need a near lamp with distance and diameter in mm"),
        ({"shape": "cube"}, 'shape is "cube"; allowed is one of "disc", "sphere"'),
        ({"lumens": -1}, "lumens is -1; allowed is a number from 0"),
    ):
        changed = {name: value for name, value in (table | change).items() if value is not None}
        if change == {"distance": None}:
            del changed["diameter"], changed["shape"]
        with pytest.raises(SittingError, match=said):
            from_dict({"format": "sitterlight/1", "light": [changed]})
    with pytest.raises(SittingError, match="has shape; a near lamp has one"):
        from_dict({"format": "sitterlight/1", "light": [{"kind": "lamp", "shape": "disc"}]})


@pytest.mark.parametrize("near", [{}, {"size": None, "distance": 20_000.0, "diameter": 300.0}])
def test_level_ground_gets_the_sine_of_a_lamps_height_and_nothing_from_below(near):
    """Source: the cosine law of illumination (any textbook of photometry)."""
    for elevation in (90.0, 60.0, 25.0, -25.0, -90.0):
        lamp = LampLight(**{"size": 2.0, "elevation": elevation, "illuminance": 700.0} | near)
        sources = resolve_lights(Sitting(lights=(lamp,), surround=SurroundSetting(ground=0.0)))
        lux = float(sources[0].irradiance(np.array([0.0, 1.0, 0.0])) @ sources[0].luminance_of_basis)
        assert lux == pytest.approx(700.0 * max(np.sin(np.radians(elevation)), 0.0), rel=2e-3, abs=1e-6)
