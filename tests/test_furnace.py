"""A white head in a uniform white world comes back white, whatever its sheen: energy is neither made nor lost."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from solids import sitting_of, write_mesh

from sitterlight.shading.directions import equal_area_directions
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.scene import Scene, light_scene
from sitterlight.shading.sitting import SkinSetting, SkyLight, SurroundSetting
from sitterlight.shading.surface import sheen_brdf

WHITE_WORLD = (SkyLight(sky="uniform", spectrum="E", illuminance=np.pi),)


def _knot(folder) -> str:
    """A ring with a ball in its middle: nearly everything on it sees something else of it."""
    ring = trimesh.creation.torus(70, 30, major_sections=64, minor_sections=32)
    ball = trimesh.creation.icosphere(subdivisions=3, radius=38)
    whole = trimesh.util.concatenate([ring, ball])
    return write_mesh(folder, "knot", whole.vertices, whole.faces)


def _scene(folder, monkeypatch, bounces: int, oil: float, under_skin: bool = False, roughness: float = 0.35) -> Scene:
    monkeypatch.setattr("sitterlight.shading.staging.albedos_of", lambda sitting, skin: np.ones((15, 81)))
    surround = SurroundSetting(ground=1.0)
    skin = SkinSetting(oil=oil, under_skin=under_skin, roughness=roughness)
    sitting = sitting_of(folder, _knot(folder), skin=skin, lights=WHITE_WORLD, surround=surround)
    return light_scene(sitting, bounces=bounces)


def _luminance(folder, monkeypatch, bounces: int, oil: float, roughness: float = 0.35) -> np.ndarray:
    scene = _scene(folder, monkeypatch, bounces, oil, roughness=roughness)
    return scene.XYZ[scene.eye_sees, 1]


@pytest.mark.parametrize("oil", [0.0, 1.0, 3.0])
def test_white_furnace(tmp_path, monkeypatch, oil):
    assert np.abs(_luminance(tmp_path, monkeypatch, 60, oil) - 1).max() < 2e-3


def test_white_furnace_of_the_most_oil_on_the_finest_surface(tmp_path, monkeypatch):
    """It would mirror more than there is."""
    assert np.abs(_luminance(tmp_path, monkeypatch, 60, 5.0, 0.05) - 1).max() < 4e-3


@pytest.mark.parametrize("oil", [1.0, 5.0])
@pytest.mark.parametrize("roughness", [0.05, 0.1, 0.35])
def test_no_lamp_is_mirrored_stronger_than_it_is(oil, roughness):
    """Of light from one side the sheen sends back, to all sides together, what it keeps from the body and no more; the
    sum is over many directions, of the BRDF that lamps are mirrored by."""
    gloss = Gloss.of(np.array([roughness]), np.array([oil]))
    above = equal_area_directions(128)
    above = above[above[:, 1] > 0]
    for cosine in (0.0625, 0.25, 0.5, 1.0):
        light = np.array([np.sqrt(1 - cosine**2), cosine, 0.0])
        brdf = gloss.oil[0] * sheen_brdf(light, above, np.array([0.0, 1.0, 0.0]), roughness)
        mirrored = (brdf * above[:, 1]).sum() * 2 * np.pi / len(above)
        assert mirrored == pytest.approx(gloss.sheen_at(np.array([cosine]))[0], rel=0.02)
        assert mirrored < 1


def test_bounces_converge_from_below(tmp_path, monkeypatch):
    darkest = [_luminance(tmp_path, monkeypatch, bounces, 1.0).min() for bounces in (1, 4, 16, 48)]
    assert darkest == sorted(darkest)
    assert darkest[0] < 0.6 < 0.99 < darkest[-1] < 1.001


def test_light_under_the_skin_is_all_there(tmp_path, monkeypatch):
    """Spread over the surface it comes out elsewhere, none more and none less. What bounced is not spread, so the
    whole is even only where little bounces."""
    scene = _scene(tmp_path, monkeypatch, 60, 0.0, under_skin=True)
    plain = _scene(tmp_path, monkeypatch, 60, 0.0)
    spread, kept = (np.asarray(each.XYZ)[:, 1] @ each.head.vertex_area for each in (scene, plain))
    assert spread == pytest.approx(kept, rel=1e-4)
    assert np.abs(scene.XYZ[:, 1] - plain.XYZ[:, 1]).max() > 4e-4


def test_what_bounced_is_returned_by_its_albedo(tmp_path, monkeypatch):
    """A grey body returns ρE/π of what bounced to it: the colours of the bounces against the light meter's lux, which
    test_against_geometry holds to closed forms."""
    monkeypatch.setattr("sitterlight.shading.staging.albedos_of", lambda sitting, skin: np.full((15, 81), 0.4))
    skin = SkinSetting(oil=0.0, under_skin=False)
    scene = light_scene(sitting_of(tmp_path, _knot(tmp_path), skin=skin, lights=WHITE_WORLD))
    bounced = sum(XYZ for part, XYZ in zip(scene.parts, scene.part_XYZ, strict=True) if part.path == "bounce")
    assert scene.illuminance["bounced"].max() > 0.05 * scene.illuminance["direct"].max()
    assert bounced[:, 1] == pytest.approx(0.4 * scene.illuminance["bounced"] / np.pi, rel=1e-3, abs=1e-6)
