"""The built-in bust: its shape, its regions, and the relation to the mesh that is looked at."""

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from sitterlight.meshes.head import face_vectors
from sitterlight.meshes.library import load_head
from sitterlight.meshes.regions import REGIONS


@pytest.fixture(scope="module")
def bust():
    return load_head("bust")


def mesh_of(vertices, faces):
    return trimesh.Trimesh(vertices, faces, process=False)


def test_size_of_the_meshes(bust):
    assert 17_000 < len(bust.vertices) < 19_500
    assert 68_000 < len(bust.display.vertices) < 78_000


@pytest.mark.parametrize("which", ["calculation", "display"])
def test_closed_wound_alike_and_outward(bust, which):
    mesh = bust if which == "calculation" else bust.display
    solid = mesh_of(mesh.vertices, mesh.faces)
    assert solid.is_watertight
    assert solid.is_winding_consistent
    parts = solid.split(only_watertight=False)
    assert len(parts) == 3  # body and two eyes
    assert all(part.volume > 0 for part in parts)


def test_exactly_symmetric(bust):
    for mesh in (bust, bust.display):
        distance, _ = cKDTree(mesh.vertices).query(mesh.vertices * [-1, 1, 1])
        assert distance.max() < 1e-9


def test_triangles_are_symmetric(bust):
    _, partner = cKDTree(bust.vertices).query(bust.vertices * [-1, 1, 1])
    faces = {frozenset(face) for face in bust.faces.tolist()}
    mirrored = {frozenset(face) for face in partner[bust.faces].tolist()}
    assert faces == mirrored


def test_no_face_without_area(bust):
    for mesh in (bust, bust.display):
        assert np.linalg.norm(face_vectors(mesh.vertices, mesh.faces), axis=1).min() > 1e-4


def test_chin_to_crown_is_230_mm(bust):
    on_middle = bust.vertices[np.abs(bust.vertices[:, 0]) < 1e-9]
    crown = on_middle[:, 1].max()
    chin = on_middle[(on_middle[:, 2] > 80) & (on_middle[:, 1] > -110)][:, 1].min()
    assert crown - chin == pytest.approx(230, abs=2)


def test_frame(bust):
    weight = {name: bust.region_weights[:, k] > 0.9 for k, name in enumerate(REGIONS)}
    ears = bust.vertices[weight["ear"]]
    assert np.abs(ears[:, 1:].mean(axis=0)).max() < 20  # the origin lies between the ears
    assert bust.vertices[weight["nose"], 2].mean() > 90
    assert bust.vertices[weight["scalp"], 1].mean() > 30
    assert bust.vertices[weight["clothes"], 1].max() < -100


def test_outward_normals_of_unit_length(bust):
    assert np.linalg.norm(bust.normals, axis=1) == pytest.approx(1, abs=1e-9)
    skull = bust.vertices[:, 1] > 60
    assert np.all(np.sum(bust.normals[skull] * (bust.vertices[skull] - [0, 40, 0]), axis=1) > 0)


def test_region_weights(bust):
    assert bust.region_weights.shape == (len(bust.vertices), 15)
    assert bust.region_weights.min() >= 0
    assert bust.region_weights.sum(axis=1) == pytest.approx(1, abs=1e-5)
    most = bust.region_weights.max(axis=0)
    for name, value in zip(REGIONS, most, strict=True):
        assert value > 0.95 if name != "skin" else value == 0


def test_lips_end_within_one_edge(bust):
    lips = bust.region_weights[:, REGIONS.index("lips")]
    blended = (lips > 0.01) & (lips < 0.99)
    edges = np.concatenate([bust.faces[:, [0, 1]], bust.faces[:, [1, 2]], bust.faces[:, [2, 0]]])
    within = (lips[edges] >= 0.99).any(axis=1)
    beside_lips = np.zeros(len(lips), dtype=bool)
    beside_lips[edges[within].ravel()] = True
    assert blended.any()
    assert np.all(beside_lips[blended])


def test_areas_agree(bust):
    area = np.linalg.norm(face_vectors(bust.vertices, bust.faces), axis=1)
    assert bust.vertex_area.sum() == pytest.approx(area.sum())
    rows = np.asarray(bust.plane_weights.sum(axis=1)).ravel()
    expected = np.bincount(bust.plane_of_face[bust.plane_of_face >= 0], area[bust.plane_of_face >= 0])
    assert rows == pytest.approx(expected)


def test_display_follows_calculation(bust):
    rows = np.asarray(bust.to_display.sum(axis=1)).ravel()
    assert rows == pytest.approx(1, abs=1e-9)
    assert bust.to_display.shape == (len(bust.display.vertices), len(bust.vertices))
    assert bust.to_display @ bust.vertices == pytest.approx(bust.display.vertices)


def test_no_gap_between_lids_and_eyeball(bust):
    """Rays into the open eye, straight and from the sides, end on lid or eyeball, never within the socket."""
    body = mesh_of(bust.display.vertices, bust.display.faces)
    weights = bust.to_display @ bust.region_weights
    eye = weights[:, [REGIONS.index(n) for n in ("eye white", "iris", "pupil")]].sum(axis=1)
    iris = bust.vertices[(bust.region_weights[:, REGIONS.index("iris")] > 0.9) & (bust.vertices[:, 0] > 0)]
    centre = iris.mean(axis=0) - [0, 0, 15]
    across, up = np.meshgrid(np.linspace(-16, 16, 65), np.linspace(-8, 8, 33))
    for slope in (-0.6, 0.0, 0.6):
        direction = np.array([-slope, 0.0, -1.0]) / np.hypot(slope, 1)
        aims = centre + np.stack([across.ravel(), up.ravel(), np.full(across.size, 14.0)], axis=1)
        place, _, face = body.ray.intersects_location(
            aims - 60 * direction, np.tile(direction, (len(aims), 1)), multiple_hits=False
        )
        on_body = eye[bust.display.faces[face]].max(axis=1) < 0.01
        depth = np.linalg.norm(place[on_body] - centre, axis=1)
        assert len(face) == len(aims)
        assert (~on_body).sum() > 100
        assert depth.min() > 15.4  # radius of the eyeball 16.65 mm: nothing of the body is seen within it


def test_mouth_is_closed(bust):
    """No ray from the front goes deep between the lips."""
    body = mesh_of(bust.display.vertices, bust.display.faces)
    x, y = np.meshgrid(np.linspace(-28, 28, 57), np.linspace(-56, -48, 33))
    starts = np.stack([x.ravel(), y.ravel(), np.full(x.size, 200.0)], axis=1)
    place, ray, _ = body.ray.intersects_location(starts, np.tile([0.0, 0, -1], (x.size, 1)), multiple_hits=False)
    depth = np.full(x.size, np.nan)
    depth[ray] = place[:, 2]
    rows = depth.reshape(x.shape)
    assert np.all(rows.max(axis=0) - rows.min(axis=0) < 16)
    assert np.nanmin(rows) > 80


def test_key_names_the_geometry(bust):
    assert len(bust.key) == 32
    assert bust.key == load_head("bust").key
    assert bust.key != load_head("sphere").key
