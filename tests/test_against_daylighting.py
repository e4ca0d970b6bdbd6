"""Skies, tilted planes and ground, through `study` on floating solids, against the daylighting handbooks.

Sources: P. Moon and D. E. Spencer, "Illumination from a non-uniform sky", Illuminating Engineering 37 (1942);
R. G. Hopkinson, P. Petherbridge and J. Longmore, Daylighting (1966): the traditional overcast sky lights a vertical
plane with 0.396 of what it gives a level one. ISO 15469:2004 / CIE S 011, type 1: 0.379, by integration of the
standard's own formulae. B. Y. H. Liu and R. C. Jordan, "The long-term average performance of flat-plate solar-energy
collectors", Solar Energy 7 (1963): (1 + cos β)/2 of a uniform sky, (1 − cos β)/2 of the ground.
"""

from __future__ import annotations

import numpy as np
import pytest
from solids import sitting_of, studied, write_cube, write_plates

from sitterlight.shading.sitting import LampLight, SkinSetting, SkyLight, SurroundSetting

MATT = SkinSetting(oil=0.0)


def _facing(planes: list[dict], direction: list[float]) -> dict:
    return max(planes, key=lambda plane: np.dot(plane["normal"], direction))


@pytest.mark.parametrize(("sky", "ratio"), [("overcast", 0.396), (1, 0.379), ("uniform", 0.5)])
def test_vertical_planes_of_a_floating_cube(tmp_path, sky, ratio):
    sitting = sitting_of(
        tmp_path, write_cube(tmp_path), skin=MATT, lights=(SkyLight(sky=sky),), surround=SurroundSetting(ground=0)
    )
    result = studied(sitting, tmp_path)
    level = _facing(result["planes"], [0, 1, 0])["illuminance"]["direct"]
    assert level == pytest.approx(8000, rel=2e-3)
    assert result["open_horizontal_lux"] == pytest.approx(8000, rel=1e-3)
    for side in ([0, 0, 1], [1, 0, 0], [0, 0, -1], [-1, 0, 0]):
        upright = _facing(result["planes"], side)["illuminance"]
        assert upright["direct"] / level == pytest.approx(ratio, abs=0.002)
        assert upright["ground"] == 0
    assert _facing(result["planes"], [0, -1, 0])["illuminance"]["direct"] < 0.01 * level


def test_tilted_plates_under_a_uniform_sky_over_ground(tmp_path):
    tilts = [0, 30, 60, 90, 120, 150, 180]
    sitting = sitting_of(
        tmp_path,
        write_plates(tmp_path, tilts),
        skin=MATT,
        lights=(SkyLight(sky="uniform", illuminance=1000),),
        surround=SurroundSetting(ground=0.3),
    )
    planes = [plane for plane in studied(sitting, tmp_path)["planes"] if plane["area_mm2"] > 100]
    for tilt in np.radians(tilts):
        light = _facing(planes, [0, np.cos(tilt), np.sin(tilt)])["illuminance"]
        assert light["direct"] == pytest.approx(1000 * (1 + np.cos(tilt)) / 2, abs=4)
        assert light["ground"] == pytest.approx(300 * (1 - np.cos(tilt)) / 2, abs=2)


def test_a_distant_lamp_follows_the_cosine_law(tmp_path):
    """Lambert's cosine law (Photometria, 1760)."""
    lamp = LampLight(azimuth=0, elevation=30, size=0.5, illuminance=500)
    sitting = sitting_of(tmp_path, write_cube(tmp_path), skin=MATT, lights=(lamp,), surround=SurroundSetting(ground=0))
    planes = studied(sitting, tmp_path)["planes"]
    assert _facing(planes, [0, 1, 0])["illuminance"]["direct"] == pytest.approx(500 * np.sin(np.radians(30)), rel=1e-3)
    assert _facing(planes, [0, 0, 1])["illuminance"]["direct"] == pytest.approx(500 * np.cos(np.radians(30)), rel=1e-3)
    assert _facing(planes, [0, 0, -1])["illuminance"]["direct"] == 0
