"""Which meshes are heads, what is carried over to them, and what is guessed of unit and axes.

The bust itself, brought down, turned, scaled and made rough, is its own referee: its names have to come back.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from sitterlight.meshes.alignment import aligned, all_turns
from sitterlight.meshes.head import face_vectors
from sitterlight.meshes.library import gathered_mesh, load_head
from sitterlight.meshes.orientation import axes_matrix
from sitterlight.meshes.regions import REGIONS
from sitterlight.meshes.sizing import simplified

creation, transformations = trimesh.creation, trimesh.transformations


@lru_cache
def smaller_bust(faces: int) -> tuple[np.ndarray, np.ndarray]:
    shown = load_head("bust").display
    return simplified(*((shown.vertices, shown.faces) if faces == 20_000 else smaller_bust(20_000)), faces)


def turn(degrees: float) -> np.ndarray:
    return transformations.rotation_matrix(np.radians(degrees), [0.3, 1, 0.2])[:3, :3]


def rightly_named(head, to_bust) -> float:
    """The share of skin, by area, whose plane has the name and side that the bust has there."""
    bust = load_head("bust")
    shown, normals = bust.display, face_vectors(bust.display.vertices, bust.display.faces)
    places = np.hstack([shown.vertices[shown.faces].mean(axis=1), _unit(normals) * 6])
    vectors = face_vectors(head.vertices, head.faces)
    _, nearest = cKDTree(places).query(
        np.hstack([to_bust(head.vertices[head.faces].mean(axis=1)), _unit(to_bust(vectors)) * 6])
    )
    names = {(plane.name, plane.side): number for number, plane in enumerate(bust.planes)}
    own = np.array([names.get((plane.name, plane.side), -9) for plane in head.planes] + [-1])[head.plane_of_face]
    wanted, area = shown.plane_of_face[nearest], np.linalg.norm(vectors, axis=1)
    return float(area[(own == wanted) & (wanted >= 0)].sum() / area[wanted >= 0].sum())


def _unit(vectors):
    return vectors / np.linalg.norm(vectors, axis=1)[:, None]


@pytest.mark.parametrize(
    ("faces", "rough", "degrees", "scale"),
    [(20_000, 0.0, 0, 1.0), (12_000, 0.5, 20, 1.08), (3000, 0.0, -15, 0.92)],
    ids=["brought down", "rough, turned and larger", "few faces, turned and smaller"],
)
def test_the_bust_is_recognised_and_its_names_come_back(tmp_path, faces, rough, degrees, scale):
    vertices, triangles = smaller_bust(faces)
    vertices = vertices + np.random.default_rng(0).normal(0, 1, vertices.shape) * rough
    trimesh.Trimesh(scale * vertices @ turn(degrees).T, triangles, process=False).export(tmp_path / "bust.ply")
    head = load_head("bust.ply", tmp_path)
    assert any("It is a head" in sentence for sentence in head.report)
    assert rightly_named(head, lambda places: places @ turn(degrees) / scale) > 0.93
    assert head.region_weights.sum(axis=1) == pytest.approx(1, abs=1e-5)
    share = head.region_weights.T @ head.vertex_area / head.vertex_area.sum()
    for region in ("lips", "eyelid", "nose", "cheek", "ear", "jaw", "forehead", "scalp", "eye white", "iris"):
        assert share[REGIONS.index(region)] > 0, region
    assert share[0] < 0.05 and share[REGIONS.index("clothes")] == 0


def test_another_head_keeps_its_left_and_right(tmp_path):
    """A head that differs from the bust: longer, narrower, with a larger nose on one side of the room only."""
    vertices, faces = smaller_bust(12_000)
    vertices = vertices * [0.92, 1.1, 1.0]
    nose = np.exp(-np.sum(((vertices - [0, -20, 118]) / [14, 22, 25]) ** 2, axis=1))
    vertices = vertices + nose[:, None] * [0, -3, 9]
    above = vertices[faces][:, :, 1].mean(axis=1) > -170
    trimesh.Trimesh(vertices + np.array([40.0, 900, 0]), faces[above], process=True).export(tmp_path / "other.ply")
    head = load_head("other.ply", tmp_path)
    names = [plane.name for plane in head.planes]
    assert {"forehead front", "nose tip", "upper lip", "chin front", "ear", "crown"} <= set(names)
    assert any("between its ears" in sentence for sentence in head.report)
    weights = head.plane_weights
    for plane, row in zip(head.planes, weights, strict=True):
        x = (row @ head.vertices)[0, 0] / row.sum()
        if plane.side != "centre" and not plane.name.startswith("plane"):
            assert (x > 0) == (plane.side == "left"), plane
    tip = weights[names.index("nose tip")]
    assert (tip @ head.vertices)[0, 2] / tip.sum() > 100


def teapot() -> trimesh.Trimesh:
    spout, handle, knob = (
        creation.cylinder(15, 120),
        creation.torus(50, 10),
        creation.icosphere(subdivisions=3, radius=20),
    )
    spout.apply_transform(transformations.rotation_matrix(0.9, [1, 0, 0]))
    handle.apply_transform(transformations.rotation_matrix(np.pi / 2, [0, 1, 0]))
    for piece, place in ((spout, [0, 0, 100]), (handle, [0, 0, -90]), (knob, [0, 95, 0])):
        piece.apply_translation(place)
    return trimesh.util.concatenate([creation.icosphere(subdivisions=4, radius=90), spout, handle, knob])


OTHERS = {
    "torus": lambda: creation.torus(100, 40),
    "cube": lambda: creation.box([200, 250, 220]).subdivide().subdivide().subdivide(),
    "ball": lambda: creation.icosphere(subdivisions=4, radius=100),
    "capsule": lambda: creation.capsule(200, 90),
    "teapot": teapot,
}


@pytest.mark.parametrize("name", OTHERS)
def test_other_shapes_are_no_heads(name):
    mesh = OTHERS[name]()
    assert not aligned(np.asarray(mesh.vertices), np.asarray(mesh.faces)).is_head


def test_no_way_of_turning_makes_a_teapot_a_head():
    mesh = teapot()
    assert not aligned(np.asarray(mesh.vertices), np.asarray(mesh.faces), turned=True).is_head
    assert len(all_turns()) == 24 and all(np.linalg.det(way) == pytest.approx(1) for way in all_turns())


@pytest.mark.parametrize(
    ("name", "unit", "scale", "up", "front"),
    [
        ("m.glb", "m", 0.001, "+y", "+z"),
        ("cm.stl", "cm", 0.1, "+z", "-y"),
        ("inch.ply", "in", 1 / 25.4, "+y", "+z"),
        ("odd.obj", "mm", 1.0, "-x", "+y"),
    ],
)
def test_unit_and_axes_of_a_head_are_guessed(tmp_path, name, unit, scale, up, front):
    vertices, faces = smaller_bust(6000)
    trimesh.Trimesh(scale * vertices @ axes_matrix(up, front), faces, process=False).export(tmp_path / name)
    found = gathered_mesh(name, tmp_path).guess
    assert (found.unit, found.up, found.front, found.is_head) == (unit, up, front, True)
    assert found.unit_is_sure and found.axes_are_sure
    if name != "inch.ply":  # all the way for one of them, which is dear
        return
    head = load_head(name, tmp_path, unit="guess", up="guess", front="guess")
    assert np.ptp(head.vertices, axis=0) == pytest.approx(np.ptp(vertices, axis=0), rel=0.02)
    assert any(f"unit {unit}, up {up}, front {front}" in note for note in head.notes)


def test_a_head_in_no_unit_is_brought_to_size(tmp_path):
    vertices, faces = smaller_bust(6000)
    trimesh.Trimesh(vertices / 80, faces, process=False).export(tmp_path / "model.ply")
    head = load_head("model.ply", tmp_path, unit="guess")
    assert np.ptp(head.vertices, axis=0) == pytest.approx(np.ptp(vertices, axis=0), rel=0.02)
    assert any("no unit fits" in note for note in head.notes)


def test_what_is_no_head_is_guessed_without_being_sure(tmp_path):
    creation.torus(10, 4).export(tmp_path / "ring.stl")
    found = gathered_mesh("ring.stl", tmp_path).guess
    assert (found.unit, found.up, found.front) == ("cm", "+z", "-y")
    assert not found.is_head and not found.axes_are_sure
