"""Sheen on a sphere, fine and oily or broad and matte, against the sum of its BRDF over very many directions (the BRDF
itself is checked in test_against_fresnel.py)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sitterlight.meshes.library import load_head
from sitterlight.shading.directions import cell_means, equal_area_directions
from sitterlight.shading.frame import direction
from sitterlight.shading.irradiance import SHEEN_NODES, Gloss, meet_sheen
from sitterlight.shading.resolve_lights import resolve_lights
from sitterlight.shading.shadows import Shadows
from sitterlight.shading.sheen import counted, finer_patch, mirrored_domes, mirrored_patch
from sitterlight.shading.sitting import LampLight, Sitting
from sitterlight.shading.surface import sheen_brdf
from sitterlight.shading.transfer import unoccluded_transfer

EYE = np.array([400.0, 150.0, 1430.0])
SPHERE = load_head("sphere")
SEES = (SPHERE.normals * (EYE - SPHERE.vertices)).sum(axis=1) > 0


def _gloss(roughness: float, oil: float) -> Gloss:
    each = np.ones(len(SPHERE.vertices))
    return Gloss.of(roughness * each, oil * each)


def _summed(vertex: int, roughness: float, directions: np.ndarray, light: np.ndarray) -> float:
    """∫ BRDF · light · cosine, `light (N,)` being radiance times solid angle."""
    normal, toward = SPHERE.normals[vertex], EYE - SPHERE.vertices[vertex]
    brdf = sheen_brdf(directions, toward / np.linalg.norm(toward), normal, roughness)
    return float(brdf @ (light * np.maximum(directions @ normal, 0)))


def _sky(directions: np.ndarray) -> np.ndarray:
    """Bright above, brightest in the west, dim below, with a soft horizon: three to one at most in a cell."""
    above = 1 / (1 + np.exp(-directions[:, 1] / 0.1))
    return 0.2 + above * (1 + directions[:, 1] - 0.6 * directions[:, 0])


@pytest.mark.parametrize("roughness", [0.08, 0.12, 0.35, 0.6])
def test_a_sky_in_the_sheen(roughness):
    fine = equal_area_directions(32)
    cells = cell_means(_sky(fine)[:, None], 12 * 32**2).astype(np.float32)
    transfer = unoccluded_transfer(SPHERE)
    ours, share = mirrored_domes(SPHERE, transfer, _gloss(roughness, 1.5), EYE, SEES, cells)
    facing = (SPHERE.normals * (EYE - SPHERE.vertices)).sum(axis=1) / np.linalg.norm(EYE - SPHERE.vertices, axis=1)
    chosen = np.flatnonzero(facing > 0.15)[::25]
    light = _sky(fine) * 4 * np.pi / len(fine)
    theirs = np.array([1.5 * _summed(v, roughness, fine, light) for v in chosen])
    off = ours[chosen, 0] / theirs - 1
    assert len(chosen) > 40 and len(share) == 0
    assert np.sqrt((off**2).mean()) < 0.02 and np.abs(off).max() < 0.07


@pytest.mark.parametrize(("roughness", "oil"), [(0.1, 2.0), (0.15, 2.0), (0.5, 0.2)])
def test_the_highlight_of_a_lamp(roughness, oil):
    """Oily and fine, powdered and broad: the whole profile within 2 % of its peak."""
    lamp = LampLight(spectrum="E", azimuth=-40, elevation=35, size=12, illuminance=300)
    patch = resolve_lights(Sitting(lights=(lamp,)))[0]
    free = Shadows.none(len(SPHERE.vertices), patch)
    ours = mirrored_patch(SPHERE, _gloss(roughness, oil), EYE, SEES, patch, free)[:, 0]
    axis = direction(-40, 35)
    around = equal_area_directions(64)
    disc = around[around @ axis > np.cos(np.radians(6))]
    light = np.full(len(disc), patch.weights.sum() / len(disc))
    chosen = np.flatnonzero(SEES)[::7]
    theirs = np.array([oil * _summed(v, roughness, disc, light) for v in chosen])
    assert np.abs(ours[chosen] - theirs).max() < 0.02 * theirs.max()


@pytest.mark.parametrize("samples", [1, 7, 64])
def test_light_of_samples_meets_the_sheen_between_the_nodes_of_its_table(samples):
    """As numpy reads the table between its nodes, at grazing and straight down too; from behind nothing arrives."""
    random, counts = np.random.default_rng(samples), np.float32(0.4)
    sheen = np.cumsum(random.random(SHEEN_NODES + 1, np.float32))[::-1] / np.float32(SHEEN_NODES)
    ways = random.normal(size=(4, samples)).astype(np.float32)
    ways[:3] /= np.linalg.norm(ways[:3], axis=0)
    normal = ways[:3, 0].copy()
    place, (arrived, through) = np.empty(samples, np.uint32), np.empty((2, samples), np.float32)
    meet_sheen(*normal, counts, ways, np.ascontiguousarray(sheen), place, arrived, through)
    cosine = np.clip(normal.astype(float) @ ways[:3], 0, 1)
    assert arrived == pytest.approx(counts * cosine * ways[3], rel=1e-5, abs=1e-7)
    assert through == pytest.approx(1 - np.interp(cosine, np.linspace(0, 1, SHEEN_NODES + 1), sheen), abs=2e-5)


def test_sheen_runs_on_a_little_behind_the_edge_of_sight():
    cells = np.ones((12 * 32**2, 1), np.float32)
    ours, _ = mirrored_domes(SPHERE, unoccluded_transfer(SPHERE), _gloss(0.3, 1.0), EYE, SEES, cells)
    rings = counted(SPHERE, SEES) & ~SEES
    assert rings.sum() > 50 and ours[rings].min() > ours[SEES].mean()
    assert (ours[~counted(SPHERE, SEES)] == 0).all()


def test_a_fine_highlight_passes_between_vertices():
    """On the display mesh each place mirrors for itself: there a fine highlight is as bright as its BRDF says, which a
    blend of the vertices loses; a broad one is nearly the same either way."""
    head = load_head("bust")
    eye = 1500 * direction(20, 5)
    sees = (head.normals * (eye - head.vertices)).sum(axis=1) > 0
    patch = resolve_lights(Sitting(lights=(LampLight(azimuth=-10, elevation=25, size=2, illuminance=100),)))[0]
    visible = Shadows.none(len(head.vertices), patch)
    gained = {}
    for roughness in (0.1, 0.5):
        flat = np.full(len(head.vertices), roughness, np.float32)
        gloss = Gloss.of(flat, np.ones_like(flat))
        mirrored = mirrored_patch(head, gloss, eye, sees, patch, visible)
        blended = head.to_display @ mirrored
        fine = blended + finer_patch(head, gloss, eye, sees, patch, mirrored)
        there = int(np.argmax(fine[:, 0]))
        place, normal = head.display.vertices[there], head.display.normals[there]
        to_eye = (eye - place) / np.linalg.norm(eye - place)
        to_light = patch.points
        brdf = sheen_brdf(to_light, to_eye, normal, roughness)
        expected = (brdf * np.maximum(to_light @ normal, 0) * patch.weights[:, 0]).sum()
        assert fine[there, 0] == pytest.approx(expected, rel=0.02)
        assert fine.min() > -0.02 * fine.max()
        gained[roughness] = fine.max() / blended.max()
    assert gained[0.1] > 1.05
    assert gained[0.5] == pytest.approx(1, abs=0.03)


def test_no_lamp_shines_between_vertices_that_see_nothing_of_it():
    """Behind a head or in a fold, where neighbours are turned away from the lamp and can't tell."""
    head, eye = load_head("bust"), 1500 * direction(75, 5)
    sees = (head.normals * (eye - head.vertices)).sum(axis=1) > 0
    patch = resolve_lights(Sitting(lights=(LampLight(azimuth=-60, elevation=20, size=5, illuminance=100),)))[0]
    each, free = np.ones(len(head.vertices)), Shadows.none(len(head.vertices), patch)
    nothing = replace(free, seen=np.zeros_like(free.seen))
    gloss = Gloss.of(0.3 * each, each)
    mirrored = mirrored_patch(head, gloss, eye, sees, patch, nothing)
    assert (finer_patch(head, gloss, eye, sees, patch, mirrored) == 0).all()
