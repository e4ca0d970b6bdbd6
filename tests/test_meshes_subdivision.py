"""Catmull-Clark by sparse matrices, and cutting polygon meshes."""

import numpy as np
import pytest
import trimesh

from sitterlight.meshes.polygon_cut import cut
from sitterlight.meshes.subdivision import Polygons, refine, triangles

CORNERS = np.array([[x, y, z] for x in (-1.0, 1) for y in (-1.0, 1) for z in (-1.0, 1)])
QUADS = [[1, 5, 7, 3], [0, 2, 6, 4], [4, 6, 7, 5], [0, 1, 3, 2], [2, 3, 7, 6], [0, 4, 5, 1]]


def test_one_level_of_a_cube():
    """By hand from the rules: face points at 1, edge points at 3/4, corners at 5/9 of the way."""
    level = refine(Polygons.from_lists(QUADS), 8)
    points = level.matrix @ CORNERS
    assert len(points) == 8 + 12 + 6
    assert np.abs(points[:8]) == pytest.approx(5 / 9)
    assert np.sort(np.abs(points[8:20]), axis=1) == pytest.approx(np.tile([0, 0.75, 0.75], (12, 1)))
    assert np.sort(np.abs(points[20:]), axis=1) == pytest.approx(np.tile([0, 0, 1], (6, 1)))


def test_matrix_keeps_constants_and_closes():
    level = refine(Polygons.from_lists(QUADS), 8)
    again = refine(level.faces, level.matrix.shape[0])
    assert np.asarray(again.matrix.sum(axis=1)).ravel() == pytest.approx(1)
    faces, quad = triangles(again.faces)
    mesh = trimesh.Trimesh(again.matrix @ level.matrix @ CORNERS, faces, process=False)
    assert mesh.is_watertight
    assert mesh.volume > 0
    assert np.array_equal(np.bincount(level.parent[again.parent[quad]]), [32] * 6)


def test_full_creases_keep_the_cube():
    edges = np.array([[a, b] for a in range(8) for b in range(a + 1, 8) if bin(a ^ b).count("1") == 1])
    level = refine(Polygons.from_lists(QUADS), 8, edges, np.full(12, 2))
    points = level.matrix @ CORNERS
    assert np.abs(points).max(axis=1) == pytest.approx(1)
    assert len(level.crease_edges) == 24
    assert set(level.crease_sharpness) == {1}


def test_crease_follows_the_curve_rule():
    """Along a crease a vertex keeps 3/4 of itself and takes 1/8 of each neighbour."""
    ring = np.array([[1, 5], [5, 7], [7, 3], [3, 1]])
    level = refine(Polygons.from_lists(QUADS), 8, ring, np.ones(4, dtype=int))
    expected = 0.75 * CORNERS[1] + 0.125 * (CORNERS[5] + CORNERS[3])
    assert (level.matrix @ CORNERS)[1] == pytest.approx(expected)


def test_open_mesh_is_refused():
    with pytest.raises(ValueError, match="closed mesh"):
        refine(Polygons.from_lists(QUADS[:5]), 8)


def test_cut_divides_cleanly():
    points, faces, parents, above = cut(CORNERS, QUADS, lambda p: p[:, 1] - 0.2)
    heights = points[:, 1]
    assert len(faces) == 4 + 6
    assert set(parents) == set(range(6))
    for face, up in zip(faces, above, strict=True):
        side = heights[face] - 0.2
        assert np.all(side >= -1e-9) if up else np.all(side <= 1e-9)


def test_cut_moves_near_vertices_instead_of_making_slivers():
    points, _, _, _ = cut(CORNERS, QUADS, lambda p: p[:, 1] - 0.9)
    assert len(points) == 8
    assert np.sort(points[:, 1]) == pytest.approx([-1] * 4 + [0.9] * 4)
