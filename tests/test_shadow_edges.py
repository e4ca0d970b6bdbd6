"""Where light ends on a head: the surface around each vertex there is lit in its place."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations_with_replacement

import numpy as np
import pytest
from lamps import LIGHTS, bust, patch_of

from sitterlight.meshes.library import load_head
from sitterlight.shading import irradiance, rays, shadow_edges, shadows
from sitterlight.shading.geometry import Stage
from sitterlight.shading.rays import RayCaster, spatial_order
from sitterlight.shading.shadow_edges import Surroundings, light_around
from sitterlight.shading.shadows import PROBES
from sitterlight.shading.transfer import transfer


def test_where_nothing_stands_before_a_face_only_its_curve_ends_the_light(monkeypatch):
    """On a ball nothing stands before anything: hardly a ray is cast where it turns away, and its light is the same."""
    head, patch = load_head("sphere"), patch_of(LIGHTS["distant"])
    caster, order = RayCaster(head.vertices, head.faces), spatial_order(head.vertices)
    seen = shadows.shadows(head, transfer(head), caster, order, patch)
    about = head, Surroundings.of(head), caster, Stage(head, np.full(15, 0.35), np.zeros(15), np.eye(3)).gloss, patch
    counts, light = [rays.cast_count], []
    for free in (seen.free, np.zeros_like(seen.free)):
        light.append(light_around(*about, replace(seen, free=free))[0])
        counts.append(rays.cast_count)
    few, every = np.diff(counts)
    assert len(seen.edge) > 100 and few < 0.7 * every
    assert np.abs(light[0] - light[1]).max() < 5e-3 * light[1].max()


def test_a_ball_takes_what_its_shadow_would():
    """A ball in parallel light E takes π R² E in all (its cross-section), and E cos θ at each place: within the last
    15° before the terminator, the mean is E times the integral of cos θ sin θ over that of sin θ."""
    light = replace(LIGHTS["distant"], size=0.5)
    head = load_head("sphere")
    stage = Stage(head, np.full(15, 0.35), np.zeros(15), np.eye(3))
    plain = stage.light_field(patch_of(light)).plain[:, 0]
    radius = np.linalg.norm(head.vertices, axis=1).mean()
    assert plain @ head.vertex_area == pytest.approx(np.pi * radius**2, rel=3e-3)
    toward = patch_of(light).points.mean(axis=0)
    cosine = head.normals @ (toward / np.linalg.norm(toward))
    band = (cosine > 0) & (cosine < np.cos(np.radians(75)))
    wanted = np.cos(np.radians(75)) / 2
    assert np.average(plain[band], weights=head.vertex_area[band]) == pytest.approx(wanted, rel=0.03)
    assert plain[cosine < -0.08].max() == 0 and plain.min() >= 0


def _means_of_planes(carried: bool) -> np.ndarray:
    """Of the near lamp's light on the bust, with the surface around its edges lit or without."""
    head = load_head()
    patch = patch_of(LIGHTS["near"])
    stage = Stage(head, np.full(15, 0.35), np.zeros(15), np.eye(3))
    seen = shadows.shadows(*bust(), patch)
    alone = irradiance.from_patch(head, stage.gloss, patch, seen)[0]
    values = stage.light_field(patch).plain if carried else alone
    area = np.asarray(head.plane_weights.sum(axis=1)).ravel()
    return (head.plane_weights @ values[:, 0]) / area


@pytest.mark.parametrize("light", LIGHTS.values(), ids=LIGHTS)
def test_at_edges_the_corners_of_a_face_spare_half_the_rays(light, monkeypatch):
    """Where they agree about a sample, the rays that the face would cast for it say the same."""
    (head, known, caster, order), patch = bust(), patch_of(light)
    seen = shadows.shadows(head, known, caster, order, patch)
    gloss, around = Stage(head, np.full(15, 0.35), np.zeros(15), np.eye(3)).gloss, Surroundings.of(head)
    counts = [rays.cast_count]
    few, _ = light_around(head, around, caster, gloss, patch, seen)
    counts.append(rays.cast_count)

    def of_none(about, tells):
        tells[:, 0] = 2 ** -(-len(about) // len(tells)) - 1  # whatever is seen, one probe says so, the other not

    monkeypatch.setattr(shadow_edges, "_tell", of_none)
    every, _ = light_around(head, around, caster, gloss, patch, seen)
    counts.append(rays.cast_count)
    fewer, all_of_them = np.diff(counts)
    assert fewer < 0.6 * all_of_them
    apart, most = np.abs(few - every).sum(axis=1), every.sum(axis=1).max()
    assert np.sqrt((apart**2).mean()) < 2e-3 * most
    assert few.sum() == pytest.approx(every.sum(), rel=1e-3)


@pytest.mark.parametrize("doubts", [0, 1])
def test_corners_tell_of_a_sample_if_all_agree_but_for_few_doubts_of_others(doubts):
    """Written out for each sample: two probes tell of it, or one, or it counts for nothing."""
    pairs = [(1 << first) | (1 << second) for first, second in combinations_with_replacement(range(PROBES), 2)]
    random = np.random.default_rng(6)
    for _ in range(200):
        about = np.array([*random.choice(pairs, 40), 0], np.uint64)
        tells = np.zeros((1, 2, PROBES // 4, 16), np.uint64)
        shadow_edges._tell(about, tells)
        words = random.integers(0, 2**PROBES, 3)
        if random.random() < 0.7:  # corners that see much the same
            words = words[0] ^ np.array([0, *(1 << random.integers(0, PROBES, 2))])
        own, b, c = corners = [int(word) for word in words]
        found = shadow_edges._told(tells[0], *(np.uint64(word) for word in (own, b, own, c)), doubts)
        wanted = []
        for tell in about.tolist():
            agree, probes = sum((word & tell).bit_count() for word in corners), tell.bit_count()
            each = 2 // max(probes, 1)  # a single probe tells twice
            missing = each * (3 * probes - agree)
            sees = probes > 0 and own & tell == tell and missing <= doubts
            sees_not = own & tell == 0 and each * agree <= doubts
            wanted.append((sees, not sees and not sees_not, probes > 0 and (own | b | c) & tell == tell))
        for bits, each in zip(found, zip(*wanted, strict=True), strict=True):
            assert [bool(int(bits) >> s & 1) for s in range(len(about))] == [bool(one) for one in each]


def test_planes_at_the_edge_of_light_agree_with_many_rays_from_their_faces():
    """Means of planes from rays of random places on their faces, cast here: with the surface around each vertex lit,
    planes in the half-light come nearer to them than with vertices alone."""
    head, _, caster, _ = bust()
    patch = patch_of(LIGHTS["near"])
    random = np.random.default_rng(4)
    a, b, c = (head.vertices[head.faces[:, k]] for k in range(3))
    na, nb, nc = (head.normals[head.faces[:, k]] for k in range(3))
    total = np.zeros(len(head.faces))
    for _ in range(24):
        u, v = random.random((2, len(total), 1))
        u, v = np.where(u + v > 1, 1 - u, u), np.where(u + v > 1, 1 - v, v)
        place, normal = (1 - u - v) * a + u * b + v * c, (1 - u - v) * na + u * nb + v * nc
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        chosen = random.integers(len(patch.points), size=len(total))
        toward = patch.points[chosen] - place
        square = (toward**2).sum(axis=1)
        unit = toward / np.sqrt(square)[:, None]
        light = np.maximum((unit * normal).sum(axis=1), 0) * np.maximum(-(unit * patch.facing[chosen]).sum(axis=1), 0)
        lit = np.flatnonzero(light > 0)
        reached = caster.reaches((place + 0.08 * normal)[lit], patch.points[chosen][lit])
        total[lit] += reached * (light / square * patch.weights[chosen, 0])[lit] * len(patch.points) / 24
    size = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    member = head.plane_of_face >= 0
    count = len(head.planes)
    true = np.bincount(head.plane_of_face[member], (total * size)[member], count)
    true /= np.bincount(head.plane_of_face[member], size[member], count)
    dim = (true > 0.003 * true.max()) & (true < 0.1 * true.max())
    assert dim.sum() >= 5
    carried, plain = (np.abs(_means_of_planes(which)[dim] / true[dim] - 1) for which in (True, False))
    assert carried.mean() < 0.8 * plain.mean()
    assert np.median(carried) < 0.03


def test_where_light_is_given_otherwise_none_is_gathered():
    head, patch = load_head(), patch_of(LIGHTS["near"])
    gloss = Stage(head, np.full(15, 0.35), np.zeros(15), np.eye(3)).gloss
    seen = shadows.shadows(*bust(), patch)
    every = irradiance.from_patch(head, gloss, patch, seen)
    without = irradiance.from_patch(head, gloss, patch, seen, without=seen.edge)
    assert every[:, seen.edge].any() and not without[:, seen.edge].any()
    every[:, seen.edge] = 0
    np.testing.assert_array_equal(without, every)


@pytest.mark.parametrize("light", LIGHTS.values(), ids=LIGHTS)
def test_the_edge_is_where_the_corners_of_faces_see_unlike_numbers_of_probes(light):
    """Written out; of the other samples nothing is asked for that."""
    head, seen = load_head(), shadows.shadows(*bust(), patch_of(light))
    probes = seen.visible[:, seen.order[: shadows.PROBES]].sum(axis=1)
    unlike = np.ptp(probes[head.faces], axis=1) > shadows.LEAST_STEP * shadows.PROBES
    np.testing.assert_array_equal(np.sort(seen.edge), np.unique(head.faces[unlike]))
