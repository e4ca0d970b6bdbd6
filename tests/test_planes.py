"""The planes of the bust: named, connected, mirrored, each reading as one facet, together all the skin."""

from collections import defaultdict

import numpy as np
import pytest
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from sitterlight.meshes.head import face_vectors
from sitterlight.meshes.library import load_head
from sitterlight.meshes.regions import REGIONS
from sitterlight.meshes.segmentation import spread
from sitterlight.meshes.triangles import edge_pairs

WANTED = {
    "forehead front", "forehead side", "temple", "brow", "upper eye socket", "upper lid", "lower lid",
    "nose bridge", "nose side", "nose tip", "nose underside", "cheekbone top", "cheek front", "cheek side",
    "muzzle front", "upper lip", "lower lip", "below the lip", "chin front", "chin underside", "jaw side",
    "jaw underside", "ear", "neck front", "neck side front", "crown", "scalp side", "scalp back", "chest",
    "shoulder top",
}  # fmt: skip


@pytest.fixture(scope="module")
def bust():
    return load_head("bust")


def test_names(bust):
    assert {plane.name for plane in bust.planes} >= WANTED
    assert len(bust.planes) >= 36
    assert len({(plane.name, plane.side) for plane in bust.planes}) == len(bust.planes)
    assert all(plane.region in REGIONS for plane in bust.planes)


def test_sides_come_in_pairs(bust):
    sides = defaultdict(set)
    for plane in bust.planes:
        sides[plane.name].add(plane.side)
    assert all(found in ({"centre"}, {"left", "right"}) for found in sides.values())


def test_left_is_the_sitters_left(bust):
    middles = bust.plane_weights @ bust.vertices / np.asarray(bust.plane_weights.sum(axis=1))
    for plane, (x, _, _) in zip(bust.planes, middles, strict=True):
        assert {"left": x > 3, "right": x < -3, "centre": abs(x) < 1e-6}[plane.side]


def test_sides_mirror_each_other(bust):
    _, partner = cKDTree(bust.vertices).query(bust.vertices * [-1, 1, 1])
    number = {frozenset(face): i for i, face in enumerate(bust.faces.tolist())}
    mirror = np.array([number[frozenset(face)] for face in partner[bust.faces].tolist()])
    opposite = {"left": "right", "right": "left", "centre": "centre"}
    place = {(plane.name, plane.side): i for i, plane in enumerate(bust.planes)}
    swap = np.array([place[plane.name, opposite[plane.side]] for plane in bust.planes] + [-1])
    assert np.array_equal(bust.plane_of_face[mirror], swap[bust.plane_of_face])


@pytest.mark.parametrize("which", ["calculation", "display"])
def test_each_is_connected(bust, which):
    mesh = bust if which == "calculation" else bust.display
    pairs, _ = edge_pairs(mesh.faces)
    pairs = pairs // 3
    same = mesh.plane_of_face[pairs[:, 0]] == mesh.plane_of_face[pairs[:, 1]]
    joined = pairs[same]
    size = len(mesh.faces)
    graph = sparse.coo_matrix((np.ones(len(joined)), (joined[:, 0], joined[:, 1])), (size, size))
    _, part = connected_components(graph, directed=False)
    for number, plane in enumerate(bust.planes):
        assert len(np.unique(part[mesh.plane_of_face == number])) == 1, plane


def test_each_reads_as_one_facet(bust):
    vectors = face_vectors(bust.vertices, bust.faces)
    area = np.linalg.norm(vectors, axis=1)
    for number, plane in enumerate(bust.planes):
        member = bust.plane_of_face == number
        if plane.name != "ear":
            assert spread(vectors[member] / area[member, None], area[member]) < 30, plane


def test_they_cover_the_skin(bust):
    """Without a plane are only eyes and garment, and what lies within: nostrils, socket, edge of lids, mouth."""
    bare = bust.plane_of_face < 0
    area = np.linalg.norm(face_vectors(bust.vertices, bust.faces), axis=1)
    weights = bust.region_weights[bust.faces].mean(axis=1)
    region = weights.argmax(axis=1)
    outside = {REGIONS.index(name) for name in ("eye white", "iris", "pupil", "clothes")}
    seam = area < 0.2  # mm²: where the garment joins the skin
    skin = ~np.isin(region, list(outside)) & ~seam
    assert {REGIONS[k] for k in region[bare & skin]} <= {"eyelid", "lips", "nose", "muzzle"}
    assert area[bare & skin].sum() < 0.03 * area[skin].sum()
    assert not np.any(weights[~bare][:, list(outside)].min(axis=1) > 0.9)


def test_where_some_planes_face(bust):
    sums = np.zeros((len(bust.planes), 3))
    vectors = face_vectors(bust.vertices, bust.faces)
    member = bust.plane_of_face >= 0
    np.add.at(sums, bust.plane_of_face[member], vectors[member])
    normals = sums / np.linalg.norm(sums, axis=1, keepdims=True)
    of = {(plane.name, plane.side): normal for plane, normal in zip(bust.planes, normals, strict=True)}
    assert of["crown", "centre"][1] > 0.95
    assert of["chin underside", "centre"][1] < -0.9
    assert of["nose underside", "centre"][1] < -0.5
    assert of["forehead front", "centre"][2] > 0.8
    assert of["temple", "left"][0] > 0.8
    assert of["upper eye socket", "left"][1] < -0.3
    assert of["lower lip", "centre"][1] > of["upper lip", "centre"][1]
    assert of["scalp back", "centre"][2] < -0.9


def test_display_planes_agree(bust):
    coarse = np.bincount(bust.plane_of_face[bust.plane_of_face >= 0])
    fine = np.bincount(bust.display.plane_of_face[bust.display.plane_of_face >= 0])
    assert np.array_equal(fine, 4 * coarse)
