"""Form factors and interreflection on solids whose answers are known in closed form.

Sources: J. R. Howell, A Catalog of Radiation Heat Transfer Configuration Factors: the inside of a sphere sees itself
by area shares (so that a half sphere sees half), and two square plates at right angles; J. H. Lambert (1760).
"""

from __future__ import annotations

import numpy as np
import pytest
from solids import sitting_of, write_bowl, write_groove

from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import HeadSetting, Sitting, SkinSetting, SkyLight, SurroundSetting

UNIFORM = (SkyLight(sky="uniform", illuminance=1000.0),)
BARE = SurroundSetting(ground=0.0)


def test_every_inner_point_of_an_open_bowl_sees_half_the_sky(tmp_path):
    """A point inside a sphere sees each part of it by its share of area, so an open half sphere leaves one half."""
    sitting = sitting_of(tmp_path, write_bowl(tmp_path), skin=SkinSetting(oil=0.0), lights=UNIFORM, surround=BARE)
    scene = light_scene(sitting)
    inside = scene.head.vertices[:, 1] < -8
    direct = scene.illuminance["direct"][inside]
    assert direct.mean() == pytest.approx(500, rel=0.004)
    assert np.abs(direct / 500 - 1).max() < 0.035


def test_first_bounce_in_a_bowl_is_half_of_what_its_body_returns(tmp_path):
    """The same shares give the first bounce: E1 = ρ E0 / 2 everywhere."""
    sitting = sitting_of(tmp_path, write_bowl(tmp_path), skin=SkinSetting(oil=0.0), lights=UNIFORM, surround=BARE)
    scene = light_scene(sitting, bounces=1)
    albedo = _effective_albedo(scene)
    inside = scene.head.vertices[:, 1] < -8
    assert scene.illuminance["bounced"][inside].mean() == pytest.approx(albedo * 250, rel=0.01)
    assert light_scene(sitting, bounces=4).illuminance["bounced"].mean() > scene.illuminance["bounced"].mean()


def test_a_right_angled_groove_keeps_what_its_angle_says(tmp_path):
    """Both walls of a long groove together see sin 45° of the sky that an open plane sees (crossed strings, Hottel):
    a wall's mean direct light is sin(45°) of the open sky's."""
    sitting = sitting_of(tmp_path, write_groove(tmp_path), skin=SkinSetting(oil=0.0), lights=UNIFORM, surround=BARE)
    scene = light_scene(sitting)
    middle = np.abs(scene.head.vertices[:, 0]) < 1000
    area = scene.head.vertex_area * middle
    mean = (scene.illuminance["direct"] * area).sum() / area.sum()
    assert mean == pytest.approx(1000 * np.sin(np.radians(45)), rel=0.015)


def test_lambert_on_a_sphere():
    """Under a uniform sky a convex body gets (1 + n·up)/2 (Liu and Jordan 1963), and looks E ρ / π bright."""
    sitting = Sitting(head=HeadSetting(mesh="sphere"), skin=SkinSetting(oil=0.0), lights=UNIFORM, surround=BARE)
    scene = light_scene(sitting)
    expected = 1000 * (1 + scene.head.normals[:, 1]) / 2
    assert np.abs(scene.illuminance["direct"] - expected).max() < 6
    assert np.abs(scene.XYZ[:, 1] - expected * _effective_albedo(scene) / np.pi).max() < 0.1


def _effective_albedo(scene) -> float:
    """Luminous reflectance of the plain skin under the sitting's one light."""
    return float(scene.own_XYZ[0, 1] / scene.card_XYZ[1])
