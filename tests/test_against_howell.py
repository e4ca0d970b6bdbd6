"""Near lamps and windows against configuration factors in closed form, through a whole scene.

Source: J. R. Howell, A Catalog of Radiation Heat Transfer Configuration Factors, sections B (from a plane element):
to a disc in a parallel plane, and to a rectangle in a parallel plane and in a plane at right angles, a corner of
the rectangle on the element's normal or at its foot. Light on an element is then E = π L F.
"""

from __future__ import annotations

import numpy as np
import pytest
from solids import sitting_of, write_mesh

from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import LampLight, SkinSetting, SurroundSetting, WindowLight

BARE = SurroundSetting(ground=0.0)
MATT = SkinSetting(oil=0.0, regions=False)
WIDTH, HEIGHT, DISTANCE, ELEVATION = 1000.0, 1300.0, 1500.0, 30.0


def _sheet(folder, normal: str, side: float = 300.0, steps: int = 4) -> str:
    """A flat sheet through the origin, looking along +z or +y."""
    line = np.linspace(-side / 2, side / 2, steps + 1)
    u, v = (each.ravel() for each in np.meshgrid(line, line))
    flat = np.zeros_like(u)
    vertices = np.stack([u, v, flat] if normal == "+z" else [u, flat, -v], axis=1)
    corner = np.arange(len(u)).reshape(steps + 1, steps + 1)
    a, b, c, d = (each.ravel() for each in (corner[:-1, :-1], corner[:-1, 1:], corner[1:, 1:], corner[1:, :-1]))
    faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    return write_mesh(folder, f"sheet{normal[1]}", vertices, faces)


def _light_on(folder, mesh: str, light) -> tuple[np.ndarray, np.ndarray]:
    """Places (V,3) in mm and their direct light (V,) in lux."""
    scene = light_scene(sitting_of(folder, mesh, skin=MATT, lights=(light,), surround=BARE))
    return scene.head.vertices, scene.illuminance["direct"]


def test_a_small_near_lamp_falls_off_by_inverse_square_and_both_cosines(tmp_path):
    """E = E0 cos⁴ θ on a plane under a small flat lamp: one cosine each of lamp and plane, two of distance."""
    lamp = LampLight(azimuth=0, elevation=0, size=None, distance=600, diameter=10, illuminance=500)
    places, lux = _light_on(tmp_path, _sheet(tmp_path, "+z"), lamp)
    square = places[:, 0] ** 2 + places[:, 1] ** 2
    assert np.ptp(square) > 40000
    assert lux == pytest.approx(500 * (600**2 / (600**2 + square)) ** 2, rel=0.002)


def test_a_large_lamp_is_a_disc(tmp_path):
    """The lamp is 800 mm across at 700 mm: far from it nothing like a point."""
    lamp = LampLight(azimuth=0, elevation=0, size=None, distance=700, diameter=800, illuminance=500)
    places, lux = _light_on(tmp_path, _sheet(tmp_path, "+z", side=1000), lamp)
    offset = np.hypot(places[:, 0], places[:, 1])
    assert lux == pytest.approx(500 * _disc(400, 700, offset) / _disc(400, 700, 0.0), rel=0.015)
    point = 500 * (700**2 / (700**2 + offset**2)) ** 2
    assert np.abs(lux / point - 1).max() > 0.1


def test_a_window_before_a_wall_and_over_a_table(tmp_path):
    """A uniform sky behind a window, on planes parallel to it and at right angles; absolute, by what arrives at
    the origin facing its middle: a vector sum, since the whole window is in front of all three planes."""
    window = WindowLight(
        azimuth=0, elevation=ELEVATION, distance=DISTANCE, width=WIDTH, height=HEIGHT, sky="uniform", illuminance=600
    )
    wall, on_wall = _light_on(tmp_path, _sheet(tmp_path, "+z"), window)
    table, on_table = _light_on(tmp_path, _sheet(tmp_path, "+y"), window)
    e = np.radians(ELEVATION)
    facing = np.sin(e) * _at_right_angles(np.zeros(3)) + np.cos(e) * _parallel(np.zeros(3))
    strength = 600 / facing
    assert on_wall == pytest.approx([strength * _parallel(place) for place in wall], rel=0.01)
    assert on_table == pytest.approx([strength * _at_right_angles(place) for place in table], rel=0.01)


def _disc(radius: float, distance: float, offset):
    total = offset**2 + distance**2 + radius**2
    return (1 - (total - 2 * radius**2) / np.sqrt(total**2 - 4 * radius**2 * offset**2)) / 2


def _edges(place: np.ndarray) -> tuple[float, float, float, float, float]:
    """Left, right, lower and upper edge of the window and its distance, seen from a place."""
    middle = DISTANCE * np.array([0, np.sin(np.radians(ELEVATION)), np.cos(np.radians(ELEVATION))]) - place
    return (middle[0] - WIDTH / 2, middle[0] + WIDTH / 2, middle[1] - HEIGHT / 2, middle[1] + HEIGHT / 2, middle[2])


def _parallel(place: np.ndarray) -> float:
    left, right, low, high, away = _edges(place)

    def corner(x: float, y: float) -> float:
        X, Y = x / away, y / away
        a, b = np.sqrt(1 + X * X), np.sqrt(1 + Y * Y)
        return (X / a * np.arctan(Y / a) + Y / b * np.arctan(X / b)) / (2 * np.pi)

    return corner(right, high) - corner(left, high) - corner(right, low) + corner(left, low)


def _at_right_angles(place: np.ndarray) -> float:
    left, right, low, high, away = _edges(place)

    def corner(x: float, y: float) -> float:
        """A rectangle that stands on the element's plane: `x` along the foot, `y` high."""
        slant = np.hypot(y, away)
        return (np.arctan(x / away) - away / slant * np.arctan(x / slant)) / (2 * np.pi)

    return corner(right, high) - corner(left, high) - corner(right, low) + corner(left, low)
