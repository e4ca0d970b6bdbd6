"""What each vertex sees of lamps and windows: few rays where few are needed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from lamps import LIGHTS, bust, from_everywhere, patch_of

from sitterlight.meshes.head import make_head
from sitterlight.shading import embree, rays, shadows
from sitterlight.shading.rays import RayCaster, spatial_order
from sitterlight.shading.shadow_kernels import ALL, NONE, SOME
from sitterlight.shading.sitting import LampLight
from sitterlight.shading.transfer import cast_transfer


@pytest.mark.parametrize("light", LIGHTS.values(), ids=LIGHTS)
def test_few_rays_see_what_all_would(light):
    """Away from the edges of light, vertices see the same share of a lamp as if every sample were asked of each."""
    patch, whom = patch_of(light), bust()
    before = rays.cast_count
    seen = shadows.shadows(*whom, patch)
    few, edge = seen.visible, seen.edge
    middle = rays.cast_count
    every = from_everywhere(patch)
    assert middle - before < 0.35 * (rays.cast_count - middle)
    away = np.ones(len(few), dtype=bool)
    away[edge] = False
    apart = np.abs(few.mean(axis=1) - every.mean(axis=1))
    assert apart[away].max() < 0.11 and apart[away].mean() < 1.5e-3
    assert apart[edge].mean() < 0.04


@pytest.mark.parametrize("light", LIGHTS.values(), ids=LIGHTS)
def test_the_probes_are_as_rays_say(light):
    """Of all vertices, asked or known; and where all of them are seen, or none, so are the others."""
    patch = patch_of(light)
    seen, every = shadows.shadows(*bust(), patch), from_everywhere(patch)
    probes = seen.order[: shadows.PROBES]
    assert (seen.visible[:, probes] & every.any(axis=1)[:, None] != every[:, probes]).mean() < 1e-4
    by_probe, whole = every[:, probes].mean(axis=1), seen.visible.mean(axis=1)
    assert (whole[by_probe == 1] == 1).mean() > 0.99 and (whole[by_probe == 0] == 0).mean() > 0.985
    assert not every[(by_probe == 1) & (whole < 1)].all(axis=1).any(), "rays see all of it"
    assert every[(by_probe == 0) & (whole > 0)].any(axis=1).all(), "rays see nothing of it"


@pytest.mark.parametrize("light", LIGHTS.values(), ids=LIGHTS)
def test_probes_about_which_all_is_alike_cast_no_ray(light, monkeypatch):
    """They are seen as by a ray; a quarter of all rays at least is spared."""
    patch, found, counts = patch_of(light), [], [rays.cast_count]
    for about in (shadows._ABOUT, 9.0):  # within nine widths nowhere is all alike
        monkeypatch.setattr(shadows, "_ABOUT", about)
        shadows._around_cells.cache_clear()
        found.append(shadows.shadows(*bust(), patch).visible)
        counts.append(rays.cast_count)
    shadows._around_cells.cache_clear()
    fewer, all_of_them = np.diff(counts)
    assert fewer < 0.75 * all_of_them
    assert (found[0] != found[1]).mean() < 2e-5


def test_of_a_flame_what_comes_through_gaps_is_seen():
    """A small light: away from its edge vertices see as many samples as rays say, within the mouth too."""
    patch = patch_of(LampLight(azimuth=35, elevation=-12, size=None, distance=650, diameter=25, illuminance=4))
    seen, every = shadows.shadows(*bust(), patch), from_everywhere(patch)
    away = np.ones(len(every), dtype=bool)
    away[seen.edge] = False
    assert np.abs(seen.visible.mean(axis=1) - every.mean(axis=1))[away].max() < 0.1


def test_vertices_beside_are_asked_where_things_are_otherwise(monkeypatch):
    """A tenth of the doubtful is said to see all of the lamp, which their neighbours' probes belie."""
    patch, known = patch_of(LIGHTS["distant"]), shadows._as_known
    misled = np.random.default_rng(6).random(len(bust()[0].vertices)) < 0.1

    def mislead(*about):
        return np.where(misled & ((sees := known(*about)) == SOME), np.uint8(ALL), sees)

    told = shadows.shadows(*bust(), patch).visible.mean(axis=1)
    monkeypatch.setattr(shadows, "_as_known", mislead)
    found = shadows.shadows(*bust(), patch).visible.mean(axis=1)
    wrong = misled & (told < 0.5) & (known(bust()[0], bust()[1], patch) == SOME)
    assert wrong.sum() > 100 and found[wrong].mean() < 0.3


def test_what_is_seen_stands_in_words_of_any_number():
    patch = patch_of(LIGHTS["window"])
    none = shadows.Shadows.none(3, patch)
    assert len(patch.points) > 2 * 64 and none.seen.shape[1] == -(-len(patch.points) // 64)
    assert none.visible.all() and none.visible.shape == (3, len(patch.points)) and none.free.all()
    one = replace(none, seen=none.seen * np.uint64(0))
    one.seen[1, 100 // 64] = 1 << (100 % 64)
    assert np.argwhere(one.visible).tolist() == [[1, none.order[100]]]


@pytest.mark.parametrize("azimuth, elevation, size", [(-60, 30, 12), (25, 45, 4), (-100, 60, 0.5), (140, -20, 25)])
def test_the_transfer_says_where_no_ray_is_needed(azimuth, elevation, size):
    """Where it says that all of a lamp is seen, or nothing, a ray for every sample says the same; never both of corners
    of one face."""
    head, known = bust()[:2]
    patch = patch_of(replace(LIGHTS["distant"], azimuth=azimuth, elevation=elevation, size=size))
    sees = shadows._as_known(head, known, patch)
    every, lit, unlit = from_everywhere(patch), sees == ALL, sees == NONE
    assert not (lit[head.faces].any(axis=1) & unlit[head.faces].any(axis=1)).any()
    assert lit.mean() > 0.1 and unlit.mean() > 0.1 and (sees == SOME).mean() < 0.6
    assert every[lit].mean() > 1 - 1e-4
    assert every[unlit].mean() < 1e-4


def test_a_lamp_among_the_parts_of_a_head_is_asked_for_by_rays():
    """What blocks a direction may lie behind a lamp that stands so near: beside the cheek, over the shoulder."""
    patch = patch_of(LampLight(azimuth=90, elevation=0, size=None, distance=150, diameter=20, illuminance=200))
    seen = shadows.shadows(*bust(), patch)
    few, edge = seen.visible, seen.edge
    every = from_everywhere(patch)
    away = np.ones(len(few), dtype=bool)
    away[edge] = False
    assert (shadows._as_known(*bust()[:2], patch) == SOME).all()
    assert every.any(axis=1).sum() > 1000
    assert np.abs(few.mean(axis=1) - every.mean(axis=1))[away].max() < 0.11


def test_without_embree_the_same_is_seen(monkeypatch):
    """Transfer and shadows where its library has no wheel. The mesh is a ring about a ball turned inside out, so that
    rays meet backs as well."""
    ring, ball = trimesh.creation.torus(70, 20, major_sections=48, minor_sections=24), trimesh.creation.icosphere(3, 38)
    ball.invert()
    whole = trimesh.util.concatenate([ring, ball])
    regions = np.eye(1, 15).repeat(len(whole.vertices), axis=0).astype(np.float32)
    head = make_head("ring", whole.vertices, whole.faces, regions, (), np.full(len(whole.faces), -1, np.int16))
    patch, order = patch_of(LIGHTS["near"]), spatial_order(head.vertices)
    usual, known = cast_transfer(head), RayCaster(head.vertices, head.faces)
    every = shadows.shadows(head, usual, known, order, patch).visible
    monkeypatch.setattr(embree, "library", lambda: None)
    own = RayCaster(head.vertices, head.faces)
    found = cast_transfer(head)
    assert (shadows.shadows(head, found, own, order, patch).visible != every).mean() < 1e-4
    seen = np.unpackbits(usual.open_bits, axis=1).sum(axis=1) + np.diff(usual.start)
    assert len(usual.hit) > 50_000 and (seen < 380).sum() > 200, "rays should meet fronts, and backs as well"
    assert np.array_equal(usual.start, found.start) and (usual.hit == found.hit).mean() > 0.999
    assert (usual.open_bits != found.open_bits).mean() < 1e-5
