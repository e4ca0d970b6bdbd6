"""A scan of very many faces is brought to a working size within bounds of memory, its loss said in mm."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import large_mesh
import numpy as np
import pytest

from sitterlight.meshes.mesh_file import read_mesh
from sitterlight.meshes.nearest import Surface
from sitterlight.meshes.sizing import GATHERED_FACES, WORKING_FACES, gathered, loss_in_words, simplified

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
