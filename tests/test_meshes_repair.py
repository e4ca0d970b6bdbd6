"""Faulty meshes: each fault is mended and named, and what is mended is lit as the clean mesh is.

The outside authority for what is whole is trimesh: watertight, wound alike, of the right volume.
"""

from __future__ import annotations

import defects
import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from sitterlight.meshes import foreign
from sitterlight.meshes.library import load_head
from sitterlight.meshes.mesh_file import read_mesh
from sitterlight.meshes.polygons import cut_polygons
from sitterlight.meshes.repair import mended
from sitterlight.meshes.triangles import welded
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import HeadSetting, LampLight, Sitting, SkyLight

LIGHTS = (LampLight(name="lamp", azimuth=40, elevation=30), SkyLight(name="sky", illuminance=300))
SAME = 0.02
"""Of the highest luminance on the clean mesh: what nine in ten places may differ by."""


def _luminance(path) -> tuple[np.ndarray, np.ndarray]:
    """Places and luminances, nothing blocking light."""
    scene = light_scene(Sitting(head=HeadSetting(mesh=str(path)), lights=LIGHTS), occlusion=False)
    return scene.head.vertices, scene.XYZ[:, 1]


@pytest.fixture(scope="module")
def clean(tmp_path_factory):
    return _luminance(defects.write(tmp_path_factory.mktemp("clean") / "egg.ply", defects.egg()))


@pytest.mark.parametrize("fault", defects.DEFECTS)
def test_a_fault_is_mended_named_and_lit_as_the_clean_mesh(tmp_path, clean, fault):
    make, said = defects.DEFECTS[fault]
    path = defects.write(tmp_path / "faulty.ply", make())
    head = load_head(str(path))
    assert any(said in sentence for sentence in head.report), head.report
    assert all(
        sentence.endswith(".") and sentence[0] in "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ" for sentence in head.report
    )
    whole = trimesh.Trimesh(head.vertices, head.faces, process=True)
    assert whole.is_watertight and whole.is_winding_consistent
    assert whole.volume == pytest.approx(4 / 3 * np.pi * np.prod(defects.HALVES), rel=6e-3)
    places, luminance = _luminance(path)
    away, nearest = cKDTree(clean[0]).query(places)
    beside = away < 1.5
    assert beside.mean() > 0.9
    assert np.quantile(np.abs(luminance - clean[1][nearest])[beside], 0.9) < SAME * clean[1].max()


@pytest.mark.parametrize("fault", defects.DEFECTS)
def test_faults_of_a_mesh_of_very_many_faces_are_named_too(tmp_path, monkeypatch, fault):
    """Looked for before the faces are gathered into cells, and said once."""
    monkeypatch.setattr(foreign, "GATHERED_FACES", 2000)
    make, said = defects.DEFECTS[fault]
    report = load_head(str(defects.write(tmp_path / "many.ply", make()))).report
    told = [sentence for sentence in report if said.replace("taken out", "joined with others") in sentence]
    assert len(told) == 1, report
    assert len(report) == 1, report


def test_the_clean_mesh_has_nothing_to_mend(tmp_path):
    assert load_head(str(defects.write(tmp_path / "egg.stl", defects.egg()))).report == ()


def test_several_faults_at_once(tmp_path):
    vertices, faces = defects.specks()
    centres = vertices[faces].mean(axis=1)
    faces = faces[(centres[:, 2] < 95) | (np.abs(centres[:, 0]) > 30)]
    faces = np.vstack([faces, faces[:50]])
    faces[200:900] = faces[200:900, ::-1]
    head = load_head(str(defects.write(tmp_path / "all.ply", (vertices, faces))))
    for said in ("specks", "1 hole of", "doubled", "wound against"):
        assert any(said in sentence for sentence in head.report), (said, head.report)
    whole = trimesh.Trimesh(head.vertices, head.faces, process=True)
    assert whole.is_watertight and whole.is_winding_consistent and whole.volume > 0


def test_polygons_are_cut_without_loss(tmp_path):
    head = load_head(str(defects.write_polygons(tmp_path / "egg.obj")))
    assert trimesh.Trimesh(head.vertices, head.faces, process=True).is_watertight
    assert trimesh.Trimesh(head.vertices, head.faces, process=True).volume > 0.97 * 4 / 3 * np.pi * np.prod(
        defects.HALVES
    )
    assert any("materials and textures were left out" in sentence for sentence in head.report)


def test_inward_corners_are_cut_ear_by_ear():
    arrow = np.array([[0, 0, 0], [4, 1, 0], [0, 2, 0], [1, 1, 0]], dtype=float)
    for start in range(4):
        corners = np.roll(np.arange(4), start)
        triangles = cut_polygons(arrow, corners, np.array([4]))
        a, b, c = (arrow[triangles[:, k]] for k in range(3))
        assert np.cross(b - a, c - a)[:, 2].min() > 0
        assert np.cross(b - a, c - a)[:, 2].sum() / 2 == pytest.approx(3.0)


def test_a_comb_of_which_no_corner_sees_all_others_is_cut_ear_by_ear():
    """Either way round; its area by hand: a back of five squares and a tooth of one at each end."""
    corners = [(0, 0), (5, 0), (5, 2), (4, 2), (4, 1), (1, 1), (1, 2), (0, 2)]
    comb = np.array([(x, y, 0.0) for x, y in corners])
    for facing in (1, -1):
        polygon = np.arange(8)[::facing]
        triangles = cut_polygons(comb, np.roll(polygon, 3), np.array([8]))
        a, b, c = (comb[triangles[:, k]] for k in range(3))
        areas = facing * np.cross(b - a, c - a)[:, 2] / 2
        assert areas.min() >= 0 and areas.sum() == pytest.approx(7.0)


def test_quads_in_ply_are_read(tmp_path):
    (tmp_path / "quads.ply").write_text(
        "ply\nformat ascii 1.0\nelement vertex 8\nproperty float x\nproperty float y\nproperty float z\n"
        "element face 6\nproperty list uchar int vertex_indices\nend_header\n"
        "0 0 0\n99 0 0\n99 99 0\n0 99 0\n0 0 99\n99 0 99\n99 99 99\n0 99 99\n"
        "4 3 2 1 0\n4 4 5 6 7\n4 0 1 5 4\n4 1 2 6 5\n4 2 3 7 6\n4 3 0 4 7\n"
    )
    assert len(load_head("quads.ply", tmp_path).planes) == 6


def test_vertex_colours_are_left_out_with_a_word(tmp_path):
    vertices, faces = defects.egg()
    mesh = trimesh.Trimesh(vertices, faces, process=False, vertex_colors=np.full((len(vertices), 4), 128, np.uint8))
    for name in ("coloured.ply", "coloured.glb", "coloured.obj"):
        mesh.export(tmp_path / name)
        assert any("its own colours were left out" in note for note in load_head(name, tmp_path).notes), name


@pytest.mark.parametrize("name", ["egg.obj", "egg.ply", "egg.stl", "egg.glb"])
def test_all_formats_give_the_same_mesh(tmp_path, name):
    vertices, faces = defects.egg()
    read = read_mesh(defects.write(tmp_path / name, (vertices, faces)))
    joined, _ = welded(read.vertices, read.faces, [])
    assert len(joined) == len(vertices)
    assert cKDTree(vertices).query(joined)[0].max() < 1e-3


def test_two_parts_and_what_is_left_open(tmp_path):
    vertices, faces = defects.egg()
    bowl = faces[vertices[faces][:, :, 1].mean(axis=1) < 0]
    notes: list[str] = []
    _, mended_faces = mended(vertices, bowl.astype(np.int32), notes)
    assert notes == ["1 large opening was left open"] and len(mended_faces) == len(bowl)
    two = np.vstack([vertices, vertices + np.array([300.0, 0, 0])])
    head = load_head(str(defects.write(tmp_path / "two.ply", (two, np.vstack([faces, faces + len(vertices)])))))
    assert head.report == () or all("origin" in sentence for sentence in head.report)
    assert trimesh.Trimesh(head.vertices, head.faces, process=True).body_count == 2
