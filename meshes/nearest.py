"""The nearest place on a triangle mesh, for many points at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from sitterlight.meshes.head import face_vectors, unit

TRIED = 6  # faces whose middles lie nearest


@dataclass(frozen=True)
class Nearest:
    """For each of n points: the place (n, 3), its distance (n,), its face (n,) and its weights in it (n, 3)."""

    place: NDArray[np.float64]
    distance: NDArray[np.float64]
    face: NDArray[np.int64]
    weights: NDArray[np.float64]


class Surface:
    """Triangles to look for the nearest place on. `lean` mm: how much farther a face that looks away counts.

    Faces are found by their middles, so they should be of about one size.
    """

    def __init__(self, vertices: NDArray[np.float64], faces: NDArray[np.int32], lean: float = 0.0):
        self.vertices, self.faces, self.lean = vertices, faces, lean
        self.corners = vertices[faces]
        self.normals = unit(face_vectors(vertices, faces))
        self._tree = cKDTree(self._key(self.corners.mean(axis=1), self.normals))

    def _key(self, points: NDArray, normals: NDArray | None) -> NDArray:
        return points if self.lean == 0 or normals is None else np.hstack([points, self.lean * normals])

    def nearest(self, points: NDArray[np.float64], normals: NDArray[np.float64] | None = None) -> Nearest:
        """The nearest places; with a lean, those that look as `normals (n, 3)` do come first."""
        count = min(TRIED, len(self.faces))
        _, tried = self._tree.query(self._key(points, normals), k=count)
        tried = tried.reshape(len(points), count)
        best, weights = None, None
        for column in tried.T:
            place_weights = _weights(self.corners[column], points)
            place = np.einsum("nk,nkd->nd", place_weights, self.corners[column])
            away = np.linalg.norm(place - points, axis=1)
            cost = away
            if self.lean and normals is not None:
                cost = np.hypot(away, self.lean * np.linalg.norm(self.normals[column] - normals, axis=1))
            if best is None:
                best, weights, found, distance, chosen = cost.copy(), place_weights, place, away, column.copy()
                continue
            better = cost < best
            best[better], weights[better], found[better] = cost[better], place_weights[better], place[better]
            distance[better], chosen[better] = away[better], column[better]
        return Nearest(found, distance, chosen, weights)


def _weights(corners: NDArray, points: NDArray) -> NDArray[np.float64]:
    """(n, 3) weights of the corners (n, 3, 3) at the place nearest to each point.

    After C. Ericson, "Real-Time Collision Detection" (2005), 5.1.5.
    """
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, ac = b - a, c - a
    d1, d2 = _dot(ab, points - a), _dot(ac, points - a)
    d3, d4 = _dot(ab, points - b), _dot(ac, points - b)
    d5, d6 = _dot(ab, points - c), _dot(ac, points - c)
    va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
    total = va + vb + vc
    inside = np.stack([va, vb, vc], axis=1) / np.where(total == 0, 1, total)[:, None]
    result = np.where((total != 0)[:, None], inside, [1.0, 0.0, 0.0])
    outside = (va < 0) | (vb < 0) | (vc < 0) | (total <= 0)
    if outside.any():
        result[outside] = _on_edges(corners[outside], points[outside])
    return result


def _on_edges(corners: NDArray, points: NDArray) -> NDArray[np.float64]:
    best = np.full(len(points), np.inf)
    result = np.zeros((len(points), 3))
    for k in range(3):
        start, end = corners[:, k], corners[:, (k + 1) % 3]
        along = end - start
        length = np.maximum(_dot(along, along), 1e-300)
        share = np.clip(_dot(points - start, along) / length, 0, 1)
        gap = points - (start + share[:, None] * along)
        away = _dot(gap, gap)
        better = away < best
        best[better] = away[better]
        result[better] = 0
        result[better, k] = 1 - share[better]
        result[better, (k + 1) % 3] = share[better]
    return result


def _dot(a: NDArray, b: NDArray) -> NDArray:
    return np.einsum("ij,ij->i", a, b)
