"""How strongly neighbouring vertices of a surface exchange: cotangent weights that are never negative.

The cotangent Laplacian of a mesh has negative weights where two triangles are flat and wide across their common
edge, and then a blur made from it can go below zero. Flipping such edges within the surface itself, on the
lengths of edges alone, leaves its geometry as it is and ends with weights from zero up (Bobenko & Springborn 2007,
Discrete & Computational Geometry 38, 740; Fisher, Springborn, Bobenko & Schröder 2006, SIGGRAPH Courses).
"""

from __future__ import annotations

import numpy as np
from scipy import sparse

from sitterlight.shading.compiled import kernel

FLIPS_PER_EDGE = 20
"""Flips after which the rest is left: real meshes need less than one."""


def exchange(vertices: np.ndarray, faces: np.ndarray) -> sparse.csr_matrix:
    """Symmetric weights (V, V), none negative, zero on the diagonal, of vertices (V, 3) and faces (F, 3).

    The flow from vertex i to j of a field u is weight · (u_i − u_j); multiplied by a length squared and set
    against the area of a vertex it has no unit. Edges with one face, or more than two, stay as they are.
    """
    corners = np.ascontiguousarray(faces, dtype=np.int64).ravel().copy()
    following = faces[:, [1, 2, 0]].ravel()
    lengths = np.linalg.norm(vertices[faces.ravel()] - vertices[following], axis=1)
    twins = _twins(corners, following.astype(np.int64), len(vertices))
    _flip_until_delaunay(corners, twins, lengths, FLIPS_PER_EDGE * len(corners))
    ends = corners.reshape(-1, 3)[:, [1, 2, 0]].ravel()
    weight = _opposite_cotangents(lengths.reshape(-1, 3)).ravel() / 2
    weight[corners == ends] = 0.0
    one_way = sparse.coo_matrix((weight, (corners, ends)), shape=(len(vertices),) * 2).tocsr()
    both = (one_way + one_way.T).tocsr()
    both.data = np.maximum(both.data, 0.0)
    both.eliminate_zeros()
    return both


def _twins(starts: np.ndarray, ends: np.ndarray, count: int) -> np.ndarray:
    """For each side of a face the same edge's side in the other face, −1 where there is not exactly one."""
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    order = np.argsort(low * count + high, kind="stable")
    edge = (low * count + high)[order]
    first = np.flatnonzero(np.r_[True, edge[1:] != edge[:-1]])
    size = np.diff(np.r_[first, len(edge)])
    pair = first[size == 2]
    one, other = order[pair], order[pair + 1]
    opposed = starts[one] == ends[other]
    twins = np.full(len(starts), -1, dtype=np.int64)
    twins[one[opposed]], twins[other[opposed]] = other[opposed], one[opposed]
    return twins


def _opposite_cotangents(lengths: np.ndarray) -> np.ndarray:
    """Cotangents (F, 3) of the angles opposite the sides of faces with side lengths (F, 3)."""
    a, b, c = lengths.T
    square = 16 * _area_squared(a, b, c)
    floor = 1e-12 * np.maximum(np.maximum(a, b), c) ** 4 + 1e-300
    four_areas = np.sqrt(np.maximum(square, floor))
    squares = lengths**2
    return (squares.sum(axis=1, keepdims=True) - 2 * squares) / four_areas[:, None]


def _area_squared(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> np.ndarray:
    half = (a + b + c) / 2
    return half * (half - a) * (half - b) * (half - c)


@kernel
def _cotangent(opposite, one, other):
    """Cotangent of the angle between sides `one` and `other` of a triangle."""
    half = (opposite + one + other) / 2
    area = np.sqrt(max(half * (half - opposite) * (half - one) * (half - other), 1e-14 * half**4))
    return (one * one + other * other - opposite * opposite) / (4 * area)


@kernel
def _flip_until_delaunay(corners, twins, lengths, most):
    """Flip edges, in place, until each sees angles that sum to at most half a turn. Side 3f + k of face f goes
    from its corner k to the next."""
    waiting = np.arange(corners.size)
    listed = np.ones(corners.size, np.bool_)
    count = corners.size
    flips = 0
    while count > 0 and flips < most:
        count -= 1
        ij = waiting[count]
        listed[ij] = False
        ji = twins[ij]
        if ji < 0 or ij // 3 == ji // 3:
            continue
        f, g = 3 * (ij // 3), 3 * (ji // 3)
        jk, ki = f + (ij - f + 1) % 3, f + (ij - f + 2) % 3
        il, lj = g + (ji - g + 1) % 3, g + (ji - g + 2) % 3
        common = lengths[ij]
        at_k = _cotangent(common, lengths[jk], lengths[ki])
        at_l = _cotangent(common, lengths[il], lengths[lj])
        if at_k + at_l >= -1e-9:
            continue
        k_along = (common**2 + lengths[ki] ** 2 - lengths[jk] ** 2) / (2 * common)
        l_along = (common**2 + lengths[il] ** 2 - lengths[lj] ** 2) / (2 * common)
        k_across = np.sqrt(max(lengths[ki] ** 2 - k_along**2, 0.0))
        l_across = np.sqrt(max(lengths[il] ** 2 - l_along**2, 0.0))
        crossing = np.hypot(k_along - l_along, k_across + l_across)
        i, j, k, m = corners[ij], corners[jk], corners[ki], corners[lj]
        sides = (lengths[il], lengths[ki], lengths[lj], lengths[jk])
        outer = (twins[il], twins[ki], twins[lj], twins[jk])
        place = (f, f + 2, g, g + 1)
        was = (il, ki, lj, jk)
        corners[f], corners[f + 1], corners[f + 2] = i, m, k
        corners[g], corners[g + 1], corners[g + 2] = m, j, k
        lengths[f + 1] = crossing
        lengths[g + 2] = crossing
        twins[f + 1] = g + 2
        twins[g + 2] = f + 1
        for n in range(4):
            lengths[place[n]] = sides[n]
            facing = outer[n]
            for other in range(4):
                if facing == was[other]:
                    facing = place[other]
                    break
            twins[place[n]] = facing
            if facing >= 0:
                twins[facing] = place[n]
            if not listed[place[n]] and count < waiting.size:
                waiting[count] = place[n]
                listed[place[n]] = True
                count += 1
        flips += 1
    return flips
