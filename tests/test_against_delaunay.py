"""Exchange between vertices against Qhull's Delaunay triangulation (Barber, Dobkin & Huhdanpaa 1996, ACM
Transactions on Mathematical Software 22, 469; through scipy)."""

import numpy as np
import pytest
from plates import plate
from scipy.spatial import Delaunay

from sitterlight.meshes.library import load_head
from sitterlight.shading.intrinsic_triangles import exchange


def cotangent_weights(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Plain cotangent weights (V, V) of a flat mesh, by vectors."""
    weights = np.zeros((len(points),) * 2)
    for a, b, c in triangles:
        for i, j, k in ((a, b, c), (b, c, a), (c, a, b)):
            u, v = points[i] - points[k], points[j] - points[k]
            weights[i, j] += 0.5 * (u @ v) / abs(u[0] * v[1] - u[1] * v[0])
    return weights + weights.T


def test_flips_within_a_flat_mesh_end_in_its_delaunay_triangulation():
    vertices, faces = plate(12, 8, 1.0, uneven=0.45)
    vertices = vertices * [1, 2.5, 1]  # flat triangles, wide across their edges
    plain = cotangent_weights(vertices[:, :2], faces)
    assert (plain < -0.05).sum() > 20
    mine = exchange(vertices, faces).toarray()
    assert mine.min() >= 0
    # Not at the border, where Qhull has thin triangles of the convex hull.
    inner = (np.abs(vertices[:, 0]) < 3.5) & (np.abs(vertices[:, 1]) < 6)
    theirs = cotangent_weights(vertices[:, :2], Delaunay(vertices[:, :2]).simplices)
    assert mine[inner] == pytest.approx(theirs[inner], abs=1e-9)


def test_a_linear_field_is_in_balance_within_a_flat_mesh():
    vertices, faces = plate(12, 8, 1.0, uneven=0.45)
    flow = exchange(vertices, faces)
    field = vertices[:, 0] * 3 + vertices[:, 1]
    balance = flow @ field - np.asarray(flow.sum(axis=1)).ravel() * field
    inner = (np.abs(vertices[:, 0]) < 5) & (np.abs(vertices[:, 1]) < 3.4)
    assert np.abs(balance[inner]).max() < 1e-9


def test_on_the_bust_no_weight_is_negative_and_few_were_cut():
    head = load_head("bust")
    flow = exchange(head.vertices, head.faces)
    assert flow.data.min() > 0
    assert abs(flow - flow.T).max() == 0
    assert np.isfinite(flow.data).all()


def test_a_torn_or_folded_mesh_is_no_trouble():
    vertices = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0], [0.5, 0.5, 1.0], [9, 9, 9]], dtype=float)
    faces = np.array([[0, 1, 2], [1, 3, 2], [1, 2, 4], [2, 1, 4], [0, 0, 1]])
    flow = exchange(vertices, faces)
    assert np.isfinite(flow.data).all() and (flow.data >= 0).all()
    assert flow[5].nnz == 0
