"""Light of lamps and windows on a head: few rays where few are needed, and the edges of light carried right."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import combinations_with_replacement

import numpy as np
import pytest
import trimesh

from sitterlight.meshes.head import make_head
from sitterlight.meshes.library import load_head
from sitterlight.shading import embree, geometry, irradiance, rays, shadow_edges, shadows
from sitterlight.shading.geometry import Stage
from sitterlight.shading.rays import RayCaster, spatial_order
from sitterlight.shading.resolve_lights import resolve_lights
from sitterlight.shading.scene import light_scene
from sitterlight.shading.shadow_edges import Surroundings, light_around
from sitterlight.shading.shadow_kernels import ALL, NONE, SOME
from sitterlight.shading.shadows import PROBES
from sitterlight.shading.sitting import HeadSetting, LampLight, Sitting, SkinSetting, SurroundSetting, WindowLight
from sitterlight.shading.transfer import cast_transfer, transfer

LIGHTS = {
    "distant": LampLight(azimuth=-60, elevation=30, size=12, illuminance=300),
    "near": LampLight(azimuth=100, elevation=10, size=None, distance=1500, diameter=300, illuminance=200),
    "window": WindowLight(azimuth=60, elevation=10, distance=1800, width=1200, height=1500, illuminance=600),
}


def _patch(light):
    return resolve_lights(Sitting(lights=(light,)))[0]


@lru_cache(maxsize=1)
def _bust():
    head = load_head()
    return head, transfer(head), RayCaster(head.vertices, head.faces), spatial_order(head.vertices)


def _from_everywhere(patch):
    """What each vertex of the bust sees of a patch, by a ray for every sample before its face."""
    head, _, caster, _ = _bust()
    origins, visible = head.ray_origins, np.zeros((len(head.vertices), len(patch.points)), bool)
    for index, point in enumerate(patch.points):
        toward = np.broadcast_to(point, origins.shape) if patch.distant else point - head.vertices
        facing = np.flatnonzero((head.normals * toward).sum(axis=1) > 0)
        if patch.distant:
            visible[facing, index] = ~caster.occluded(origins[facing], toward[facing])
        else:
            visible[facing, index] = caster.reaches(origins[facing], np.broadcast_to(point, (len(facing), 3)))
    return visible


@pytest.mark.parametrize("light", LIGHTS.values(), ids=LIGHTS)
def test_few_rays_see_what_all_would(light):
    """Away from the edges of light, vertices see the same share of a lamp as if every sample were asked of each."""
    patch, bust = _patch(light), _bust()
    before = rays.cast_count
    seen = shadows.shadows(*bust, patch)
    few, edge = seen.visible, seen.edge
    middle = rays.cast_count
    every = _from_everywhere(patch)
    assert middle - before < 0.35 * (rays.cast_count - middle)
    away = np.ones(len(few), dtype=bool)
    away[edge] = False
    apart = np.abs(few.mean(axis=1) - every.mean(axis=1))
    assert apart[away].max() < 0.11 and apart[away].mean() < 1.5e-3
    assert apart[edge].mean() < 0.04


@pytest.mark.parametrize("light", LIGHTS.values(), ids=LIGHTS)
def test_the_probes_are_as_rays_say(light):
    """Of all vertices, asked or known; and where all of them are seen, or none, so are the others."""
    patch = _patch(light)
    seen, every = shadows.shadows(*_bust(), patch), _from_everywhere(patch)
    probes = seen.order[: shadows.PROBES]
    assert (seen.visible[:, probes] & every.any(axis=1)[:, None] != every[:, probes]).mean() < 1e-4
    by_probe, whole = every[:, probes].mean(axis=1), seen.visible.mean(axis=1)
    assert (whole[by_probe == 1] == 1).mean() > 0.99 and (whole[by_probe == 0] == 0).mean() > 0.985
    assert not every[(by_probe == 1) & (whole < 1)].all(axis=1).any(), "rays see all of it"
    assert every[(by_probe == 0) & (whole > 0)].any(axis=1).all(), "rays see nothing of it"


@pytest.mark.parametrize("light", LIGHTS.values(), ids=LIGHTS)
def test_probes_about_which_all_is_alike_cast_no_ray(light, monkeypatch):
    """They are seen as by a ray; a quarter of all rays at least is spared."""
    patch, found, counts = _patch(light), [], [rays.cast_count]
    for about in (shadows._ABOUT, 9.0):  # within nine widths nowhere is all alike
        monkeypatch.setattr(shadows, "_ABOUT", about)
        shadows._around_cells.cache_clear()
        found.append(shadows.shadows(*_bust(), patch).visible)
        counts.append(rays.cast_count)
    shadows._around_cells.cache_clear()
    fewer, all_of_them = np.diff(counts)
    assert fewer < 0.75 * all_of_them
    assert (found[0] != found[1]).mean() < 2e-5


def test_of_a_flame_what_comes_through_gaps_is_seen():
    """A small light: away from its edge vertices see as many samples as rays say, within the mouth too."""
    patch = _patch(LampLight(azimuth=35, elevation=-12, size=None, distance=650, diameter=25, illuminance=4))
    seen, every = shadows.shadows(*_bust(), patch), _from_everywhere(patch)
    away = np.ones(len(every), dtype=bool)
    away[seen.edge] = False
    assert np.abs(seen.visible.mean(axis=1) - every.mean(axis=1))[away].max() < 0.1


def test_vertices_beside_are_asked_where_things_are_otherwise(monkeypatch):
    """A tenth of the doubtful is said to see all of the lamp, which their neighbours' probes belie."""
    patch, known = _patch(LIGHTS["distant"]), shadows._as_known
    misled = np.random.default_rng(6).random(len(_bust()[0].vertices)) < 0.1

    def mislead(*about):
        return np.where(misled & ((sees := known(*about)) == SOME), np.uint8(ALL), sees)

    told = shadows.shadows(*_bust(), patch).visible.mean(axis=1)
    monkeypatch.setattr(shadows, "_as_known", mislead)
    found = shadows.shadows(*_bust(), patch).visible.mean(axis=1)
    wrong = misled & (told < 0.5) & (known(_bust()[0], _bust()[1], patch) == SOME)
    assert wrong.sum() > 100 and found[wrong].mean() < 0.3


def test_what_is_seen_stands_in_words_of_any_number():
    patch = _patch(LIGHTS["window"])
    none = shadows.Shadows.none(3, patch)
    assert len(patch.points) > 2 * 64 and none.seen.shape[1] == -(-len(patch.points) // 64)
    assert none.visible.all() and none.visible.shape == (3, len(patch.points)) and none.free.all()
    one = replace(none, seen=none.seen * np.uint64(0))
    one.seen[1, 100 // 64] = 1 << (100 % 64)
    assert np.argwhere(one.visible).tolist() == [[1, none.order[100]]]


def test_where_nothing_stands_before_a_face_only_its_curve_ends_the_light(monkeypatch):
    """On a ball nothing stands before anything: hardly a ray is cast where it turns away, and its light is the same."""
    head, patch = load_head("sphere"), _patch(LIGHTS["distant"])
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


@pytest.mark.parametrize("azimuth, elevation, size", [(-60, 30, 12), (25, 45, 4), (-100, 60, 0.5), (140, -20, 25)])
def test_the_transfer_says_where_no_ray_is_needed(azimuth, elevation, size):
    """Where it says that all of a lamp is seen, or nothing, a ray for every sample says the same; never both of corners
    of one face."""
    head, known = _bust()[:2]
    patch = _patch(replace(LIGHTS["distant"], azimuth=azimuth, elevation=elevation, size=size))
    sees = shadows._as_known(head, known, patch)
    every, lit, unlit = _from_everywhere(patch), sees == ALL, sees == NONE
    assert not (lit[head.faces].any(axis=1) & unlit[head.faces].any(axis=1)).any()
    assert lit.mean() > 0.1 and unlit.mean() > 0.1 and (sees == SOME).mean() < 0.6
    assert every[lit].mean() > 1 - 1e-4
    assert every[unlit].mean() < 1e-4


def test_a_lamp_among_the_parts_of_a_head_is_asked_for_by_rays():
    """What blocks a direction may lie behind a lamp that stands so near: beside the cheek, over the shoulder."""
    patch = _patch(LampLight(azimuth=90, elevation=0, size=None, distance=150, diameter=20, illuminance=200))
    seen = shadows.shadows(*_bust(), patch)
    few, edge = seen.visible, seen.edge
    every = _from_everywhere(patch)
    away = np.ones(len(few), dtype=bool)
    away[edge] = False
    assert (shadows._as_known(*_bust()[:2], patch) == SOME).all()
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
    patch, order = _patch(LIGHTS["near"]), spatial_order(head.vertices)
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


def test_a_ball_takes_what_its_shadow_would():
    """A ball in parallel light E takes π R² E in all (its cross-section), and E cos θ at each place: within the last
    15° before the terminator, the mean is E times the integral of cos θ sin θ over that of sin θ."""
    light = replace(LIGHTS["distant"], size=0.5)
    head = load_head("sphere")
    stage = Stage(head, np.full(15, 0.35), np.zeros(15), np.eye(3))
    plain = stage.light_field(_patch(light)).plain[:, 0]
    radius = np.linalg.norm(head.vertices, axis=1).mean()
    assert plain @ head.vertex_area == pytest.approx(np.pi * radius**2, rel=3e-3)
    toward = _patch(light).points.mean(axis=0)
    cosine = head.normals @ (toward / np.linalg.norm(toward))
    band = (cosine > 0) & (cosine < np.cos(np.radians(75)))
    wanted = np.cos(np.radians(75)) / 2
    assert np.average(plain[band], weights=head.vertex_area[band]) == pytest.approx(wanted, rel=0.03)
    assert plain[cosine < -0.08].max() == 0 and plain.min() >= 0


def _means_of_planes(carried: bool) -> np.ndarray:
    """Of the near lamp's light on the bust, with the surface around its edges lit or without."""
    head = load_head()
    patch = _patch(LIGHTS["near"])
    stage = Stage(head, np.full(15, 0.35), np.zeros(15), np.eye(3))
    seen = shadows.shadows(*_bust(), patch)
    alone = irradiance.from_patch(head, stage.gloss, patch, seen)[0]
    values = stage.light_field(patch).plain if carried else alone
    area = np.asarray(head.plane_weights.sum(axis=1)).ravel()
    return (head.plane_weights @ values[:, 0]) / area


@pytest.mark.parametrize("light", LIGHTS.values(), ids=LIGHTS)
def test_at_edges_the_corners_of_a_face_spare_half_the_rays(light, monkeypatch):
    """Where they agree about a sample, the rays that the face would cast for it say the same."""
    (head, known, caster, order), patch = _bust(), _patch(light)
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
    head, _, caster, _ = _bust()
    patch = _patch(LIGHTS["near"])
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


def test_few_samples_give_the_same_light():
    for light in LIGHTS.values():
        patch = _patch(light)
        few = patch.thinned(8)
        toward = patch.points.mean(axis=0) / np.linalg.norm(patch.points.mean(axis=0))
        here, whole = (each.irradiance(toward) @ each.luminance_of_basis for each in (few, patch))
        assert here == pytest.approx(whole, rel=0.03)


def _lamp_on_ball(under_skin: bool, ladder: int):
    geometry.forget()
    lamp = LampLight(azimuth=-70, elevation=10, size=0.5, illuminance=1000, spectrum="D65")
    skin = SkinSetting(ladder=ladder, oil=0.0, regions=False, under_skin=under_skin)
    bare = SurroundSetting(ground=0)
    return light_scene(Sitting(head=HeadSetting(mesh="sphere"), skin=skin, lights=(lamp,), surround=bare))


@pytest.mark.parametrize("ladder", [2, 8])
def test_light_under_the_skin_reddens_the_edge_of_shadow_and_loses_none(ladder):
    """Red goes farthest under the skin (Jensen et al. 2001 measured so), so just behind the edge of light red outlasts
    blue; what is returned in all stays the same."""
    on, off = (_lamp_on_ball(under_skin, ladder) for under_skin in (True, False))
    area = on.head.vertex_area
    assert (on.XYZ.T @ area) == pytest.approx(off.XYZ.T @ area, rel=2e-3)
    lit = off.XYZ[:, 1] > 0.3 * off.XYZ[:, 1].max()
    behind = (on.XYZ[:, 1] > 1e-3 * on.XYZ[:, 1].max()) & (off.XYZ[:, 1] < 0.02 * off.XYZ[:, 1].max())
    assert behind.sum() > 10
    ratio = [np.sum(on.XYZ[where, 0]) / np.sum(on.XYZ[where, 2]) for where in (behind, lit)]
    assert ratio[0] > 1.05 * ratio[1]


def test_where_light_is_given_otherwise_none_is_gathered():
    head, patch = load_head(), _patch(LIGHTS["near"])
    gloss = Stage(head, np.full(15, 0.35), np.zeros(15), np.eye(3)).gloss
    seen = shadows.shadows(*_bust(), patch)
    every = irradiance.from_patch(head, gloss, patch, seen)
    without = irradiance.from_patch(head, gloss, patch, seen, without=seen.edge)
    assert every[:, seen.edge].any() and not without[:, seen.edge].any()
    every[:, seen.edge] = 0
    np.testing.assert_array_equal(without, every)


@pytest.mark.parametrize("light", LIGHTS.values(), ids=LIGHTS)
def test_the_edge_is_where_the_corners_of_faces_see_unlike_numbers_of_probes(light):
    """Written out; of the other samples nothing is asked for that."""
    head, seen = load_head(), shadows.shadows(*_bust(), _patch(light))
    probes = seen.visible[:, seen.order[: shadows.PROBES]].sum(axis=1)
    unlike = np.ptp(probes[head.faces], axis=1) > shadows.LEAST_STEP * shadows.PROBES
    np.testing.assert_array_equal(np.sort(seen.edge), np.unique(head.faces[unlike]))
