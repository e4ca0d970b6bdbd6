"""The ray caster, with Embree and with the search tree that answers where Embree has no wheel."""

from __future__ import annotations

import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
import trimesh

from sitterlight.meshes.library import load_head
from sitterlight.shading import embree
from sitterlight.shading.rays import Hits, RayCaster


def without_embree(vertices, faces) -> RayCaster:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(embree, "library", lambda: None)
        return RayCaster(vertices, faces)


TREES = (without_embree, RayCaster)


def _bumpy() -> trimesh.Trimesh:
    ball = trimesh.creation.icosphere(subdivisions=2, radius=50)
    ball.vertices *= 1 + 0.2 * np.sin(ball.vertices[:, :1] / 9)
    return ball


def _rays(count: int = 400) -> tuple[np.ndarray, np.ndarray]:
    random = np.random.default_rng(3)
    origins = random.normal(size=(count, 3)) * 90
    aims = random.normal(size=(count, 3)) * 25
    directions = aims - origins
    return origins, directions / np.linalg.norm(directions, axis=1, keepdims=True)


def _by_trimesh(mesh: trimesh.Trimesh, origins, directions) -> Hits:
    """The same asked of trimesh's own ray caster, which goes through triangles one by one."""
    caster = trimesh.ray.ray_triangle.RayMeshIntersector(mesh)
    faces, which, places = caster.intersects_id(origins, directions, multiple_hits=False, return_locations=True)
    face, u, v = np.full(len(origins), -1), np.zeros(len(origins)), np.zeros(len(origins))
    distance = np.full(len(origins), np.inf)
    face[which] = faces
    _, u[which], v[which] = trimesh.triangles.points_to_barycentric(mesh.triangles[faces], places).T
    distance[which] = np.linalg.norm(places - origins[which], axis=1)
    return Hits(face, u, v, distance)


def _assert_alike(found: Hits, wanted: Hits, least: int) -> None:
    """But for rays that pass along an edge, for which either face will do."""
    same = found.face == wanted.face
    assert same.mean() > 0.99 and np.array_equal(found.face < 0, wanted.face < 0)
    met = same & (wanted.face >= 0)
    assert met.sum() > least
    assert found.distance[met] == pytest.approx(wanted.distance[met], rel=1e-3)
    assert max(np.abs(found.u - wanted.u)[met].max(), np.abs(found.v - wanted.v)[met].max()) < 1e-2


@pytest.mark.parametrize("tree", TREES)
def test_against_trimesh(tree):
    mesh = _bumpy()
    rays = _rays()
    wanted = _by_trimesh(mesh, *rays)
    caster = tree(mesh.vertices, mesh.faces)
    _assert_alike(caster.first_hit(*rays), wanted, 100)
    blocked = caster.occluded(*rays)
    assert np.array_equal(blocked, wanted.face >= 0)
    assert np.array_equal(caster.occluded(*rays, wanted.distance * 1.001), blocked)
    assert not caster.occluded(*rays, wanted.distance * 0.999).any()


def test_our_own_tree_finds_on_the_bust_what_embree_finds():
    """From the surface into all directions, and back to it from afar, past ears and nostrils."""
    head, random = load_head(), np.random.default_rng(4)
    start = random.integers(len(head.vertices), size=30_000)
    directions = random.normal(size=(len(start), 3))
    directions *= np.sign((directions * head.normals[start]).sum(axis=1))[:, None]
    origins = head.ray_origins[start] + directions * (300 * random.integers(0, 2, len(start)))[:, None]
    directions = np.where(np.linalg.norm(origins, axis=1)[:, None] > 250, -directions, directions)
    own, known = (tree(head.vertices, head.faces) for tree in TREES)
    wanted = known.first_hit(origins, directions)
    _assert_alike(own.first_hit(origins, directions), wanted, 10_000)
    far = random.uniform(0, 400, len(start))
    assert (own.occluded(origins, directions, far) != (wanted.distance < far)).mean() < 1e-4


@pytest.mark.parametrize("tree", TREES)
def test_no_ray_slips_out_between_faces(tree):
    """From within a closed body at its corners and at the middle of its edges, and along its axes."""
    mesh = _bumpy()
    aims = np.concatenate([mesh.vertices, mesh.vertices[mesh.edges_unique].mean(axis=1), np.eye(3), -np.eye(3)])
    for inside in (np.zeros(3), np.array([3.0, -11.0, 7.0])):
        assert tree(mesh.vertices, mesh.faces).occluded(np.tile(inside, (len(aims), 1)), aims - inside).all()


@pytest.mark.parametrize("tree", TREES)
def test_rays_in_the_plane_of_a_box(tree):
    """Parallel to its sides, so that parts of their direction are zero: through it, and past it."""
    box = trimesh.creation.box((20, 20, 20))
    origins = np.array([[-50.0, 1, 2], [-50, 10.5, 0], [3, 50, 3], [3, 50, 10.5], [0, 0, 50], [0, 0, 50]])
    directions = np.array([[1.0, 0, 0], [1, 0, 0], [0, -1, 0], [0, -1, 0], [0, 0, -1], [0, 0, 1]])
    hits = tree(box.vertices, box.faces).first_hit(origins, directions)
    assert hits.distance.tolist() == pytest.approx([40, np.inf, 40, np.inf, 40, np.inf])


def test_triangles_all_in_one_place_are_searched_too():
    """They can't be parted by place; with them one elsewhere, a needle and a point."""
    corners = np.array([[0.0, 0, 0], [10, 0, 0], [0, 10, 0], [40, 0, 5], [50, 0, 5], [40, 10, 5], [60, 0, 0]])
    faces = np.array([[0, 1, 2]] * 3000 + [[3, 4, 5], [0, 1, 6], [6, 6, 6]])
    tree = without_embree(corners, faces)
    origins = np.array([[2.0, 2, 90], [42, 2, 90], [80, 0, 90]])
    hits = tree.first_hit(origins, np.array([[0.0, 0, -1]] * 3))
    assert hits.distance.tolist() == pytest.approx([90, 85, np.inf])
    assert hits.face[0] < 3000 and hits.face[1:].tolist() == [3000, -1]
    assert (hits.u[1], hits.v[1]) == pytest.approx((0.2, 0.2), abs=1e-5)


def test_hits_lie_on_a_sphere_where_geometry_says():
    """The near root of the quadratic of a line and a sphere."""
    ball = trimesh.creation.icosphere(subdivisions=5, radius=50)
    origins, directions = _rays()
    outside = np.linalg.norm(origins, axis=1) > 60
    origins, directions = origins[outside], directions[outside]
    along = -(origins * directions).sum(axis=1)
    square = along**2 - (origins**2).sum(axis=1) + 50**2
    hits = RayCaster(ball.vertices, ball.faces).first_hit(origins, directions)
    clear = square > 100
    assert hits.distance[clear] == pytest.approx(along[clear] - np.sqrt(square[clear]), abs=0.1)
    assert not np.isfinite(hits.distance[square < -100]).any()


def test_the_library_is_made_ready_once_however_many_ask():
    """Else a thread of the library's goes on looking for work, and keeps a core busy, until the program ends."""
    made = []

    @embree.once
    def slow() -> int:
        time.sleep(0.02)
        made.append(1)
        return len(made)

    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(lambda _: slow(), range(8))) == [1] * 8
    assert embree.library() is embree.library() and embree.library.__name__ == "library"


def test_reaches_stops_at_the_point():
    ball = trimesh.creation.icosphere(subdivisions=3, radius=50)
    caster = RayCaster(ball.vertices, ball.faces)
    origin = np.array([[0.0, 0.0, 200.0]] * 3)
    points = np.array([[0.0, 0.0, 60.0], [0.0, 0.0, -60.0], [150.0, 0.0, 0.0]])
    assert caster.reaches(origin, points).tolist() == [True, False, True]
