"""A scan of very many faces is brought to a working size within bounds of memory, its loss said in mm."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import large_mesh
import numpy as np
import pytest

from sitterlight.meshes import head, stl_text
from sitterlight.meshes.head import face_areas, face_vectors
from sitterlight.meshes.mesh_file import read_mesh
from sitterlight.meshes.nearest import Surface
from sitterlight.meshes.repair import without_specks
from sitterlight.meshes.sizing import GATHERED_FACES, WORKING_FACES, gathered, loss_in_words, simplified
from sitterlight.meshes.triangles import joined_places

MOST_GIGABYTES = (
    0.9  # for half a million faces; five million were measured by hand with `python tests/large_mesh.py 5e6`
)


@pytest.mark.slow
def test_a_scan_of_half_a_million_faces(tmp_path):
    path = tmp_path / "scan.stl"
    large_mesh.write_stl(path, *large_mesh.scan(6e5))
    command = [sys.executable, str(Path(large_mesh.__file__)), str(path)]
    said = subprocess.run(command, capture_output=True, text=True, timeout=300, check=True).stdout
    _, gigabytes = (float(number) for number in re.match(r"([\d.]+) s, ([\d.]+) GB", said).groups())
    assert gigabytes < MOST_GIGABYTES
    assert re.search(r"58\d \d{3} faces were brought down to (39 9\d\d|40 000)", said), said
    assert not any(word in said for word in ("speck", "flap", "hole", "turned")), said
    assert float(re.search(r"moved by ([\d.]+) mm on average", said).group(1)) < 0.2
    assert "It is a head" in said


def test_gathering_and_simplifying_lose_little():
    vertices, faces = large_mesh.scan(6e5)
    fewer = gathered(vertices, faces, 100_000)
    assert 30_000 < len(fewer[1]) <= 130_000
    fewest = simplified(*fewer, 20_000)
    assert len(fewest[1]) <= 20_000
    away = Surface(*fewest).nearest(vertices[::50]).distance
    assert away.mean() < 0.2 and np.quantile(away, 0.99) < 1.2
    assert "mm on average" in loss_in_words(len(faces), vertices[::50], *fewest)
    assert gathered(*fewest, GATHERED_FACES)[1] is fewest[1] and simplified(*fewest, WORKING_FACES)[1] is fewest[1]


@pytest.mark.parametrize("kind", large_mesh.WRITERS)
def test_files_of_scanners_are_read_as_they_lie(tmp_path, kind):
    vertices, faces = large_mesh.scan(1)
    path = tmp_path / f"scan.{kind}"
    large_mesh.WRITERS[kind](path, vertices, faces)
    mesh = read_mesh(path)
    assert len(mesh.faces) == len(faces)
    assert np.abs(mesh.vertices[mesh.faces] - vertices[faces]).max() < 1e-4


def test_a_plain_ply_that_is_cut_is_named(tmp_path):
    path = tmp_path / "cut.ply"
    large_mesh.write_ply(path, *large_mesh.scan(1))
    path.write_bytes(path.read_bytes()[:-5000])
    with pytest.raises(ValueError, match="not a whole PLY"):
        read_mesh(path)


def test_a_binary_stl_that_is_cut_is_named(tmp_path):
    path = tmp_path / "cut.stl"
    large_mesh.write_stl(path, *large_mesh.scan(1))
    path.write_bytes(path.read_bytes()[:-5000])
    with pytest.raises(ValueError, match=r"ends after \d+ of \d+ faces"):
        read_mesh(path)


def test_areas_in_pieces_are_those_of_the_whole(monkeypatch):
    monkeypatch.setattr(head, "FACES_AT_ONCE", 7)
    chance = np.random.default_rng(3)
    vertices, faces = chance.normal(size=(40, 3)), chance.integers(0, 40, (50, 3)).astype(np.int32)
    assert np.array_equal(face_areas(vertices, faces), np.linalg.norm(face_vectors(vertices, faces), axis=1))
    assert face_areas(vertices, faces[:0]).shape == (0,)


def test_places_are_joined_as_numpy_finds_what_is_alike():
    cells = np.random.default_rng(5).integers(0, 4, (300, 3))
    first, number = joined_places(cells * 0.5 + 0.1, np.full(3, 0.1), 0.5)
    _, first_known, number_known = np.unique(cells, axis=0, return_index=True, return_inverse=True)
    assert np.array_equal(first, first_known) and np.array_equal(number, number_known.ravel())


def test_a_speck_is_found_among_vertices_that_no_face_has():
    vertices, faces = large_mesh.scan(1)
    speck = vertices[0] + np.array([[9.0, 9, 9], [9.1, 9, 9], [9, 9.1, 9]])
    more = np.concatenate([vertices, [[1e4, 1e4, 1e4]], speck])  # the first of these is no face's
    notes = []
    _, left = without_specks(more, np.vstack([faces, len(vertices) + 1 + np.arange(3)]).astype(np.int32), notes)
    assert len(left) == len(faces) and notes == ["1 loose speck was left out"]


@pytest.mark.parametrize("piece", [7, 100, 4_000_000])
def test_stl_in_text_is_read_by_pieces(tmp_path, monkeypatch, piece):
    corners = np.arange(18).reshape(2, 3, 3)
    rows = ["\n".join(f"vertex {x} {y} {z}" for x, y, z in face) for face in corners]
    path = tmp_path / "two.stl"
    faces = (f"facet normal 0 0 0\nouter loop\n{row}\nendloop\nendfacet\n" for row in rows)
    path.write_text("solid a\\\n" + "".join(faces))
    monkeypatch.setattr(stl_text, "PIECE", piece)
    with pytest.raises(ValueError, match="no endsolid"):
        stl_text.read_stl_text(path)
    path.write_text(path.read_text() + "endsolid a")
    assert np.array_equal(stl_text.read_stl_text(path)[0].reshape(2, 3, 3), corners)
