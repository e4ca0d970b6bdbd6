"""Cutting polygons into triangles: a fan where that fits, ear by ear where a polygon has inward corners."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

MOST_CORNERS = 400  # of a polygon that is cut ear by ear; larger ones get a fan


def cut_polygons(vertices: NDArray, corners: NDArray[np.int64], counts: NDArray[np.int64]) -> NDArray[np.int32]:
    """(F, 3) triangles of polygons given as one run of corners and the count of each, in their order."""
    if len(counts) and counts.min() == counts.max() == 3:
        return corners.reshape(-1, 3).astype(np.int32)
    starts = np.cumsum(counts) - counts
    pieces, places = [], []
    for count in np.unique(counts):
        chosen = np.flatnonzero(counts == count)
        polygons = corners[starts[chosen][:, None] + np.arange(count)]
        pieces.append(_cut_alike(vertices, polygons).reshape(-1, 3))
        places.append(np.repeat(chosen, count - 2))
    order = np.argsort(np.concatenate(places), kind="stable")
    return np.concatenate(pieces)[order].astype(np.int32)


def _cut_alike(vertices: NDArray, polygons: NDArray[np.int64]) -> NDArray[np.int64]:
    """(n, count − 2, 3) triangles of polygons with one number of corners."""
    count = polygons.shape[1]
    if count == 3:
        return polygons[:, None, :]
    fan = np.stack([[0, k, k + 1] for k in range(1, count - 1)])
    result = polygons[:, fan]
    for row in np.flatnonzero(_folds(vertices, result, polygons)):
        if count <= MOST_CORNERS:
            result[row] = _ears(vertices, polygons[row])
    return result


def _folds(vertices: NDArray, triangles: NDArray, polygons: NDArray) -> NDArray[np.bool_]:
    """(n,) whether a triangle of the fan faces against its polygon (Newell's normal)."""
    points = vertices[polygons]
    normal = np.cross(points, np.roll(points, -1, axis=1)).sum(axis=1)
    a, b, c = (vertices[triangles[..., k]] for k in range(3))
    return np.any(np.einsum("nij,nj->ni", np.cross(b - a, c - a), normal) < 0, axis=1)


def _ears(vertices: NDArray, polygon: NDArray[np.int64]) -> NDArray[np.int64]:
    """(count − 2, 3): corners that hold no other corner are cut off one by one."""
    points = vertices[polygon]
    normal = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)
    drop = int(np.argmax(np.abs(normal)))
    flat = np.delete(points, drop, axis=1)
    turn = np.sign(normal[drop]) * (-1 if drop == 1 else 1)
    left, cut = list(range(len(polygon))), []
    while len(left) > 3:
        place = next((k for k in range(len(left)) if _is_ear(flat, left, k, turn)), 0)
        before, after = left[place - 1], left[(place + 1) % len(left)]
        cut.append((before, left.pop(place), after))
    cut.append(tuple(left))
    return polygon[np.array(cut)]


def _is_ear(flat: NDArray, left: list[int], place: int, turn: float) -> bool:
    corners = left[place - 1], left[place], left[(place + 1) % len(left)]
    a, b, c = flat[list(corners)]
    if turn * _cross(b - a, c - a) <= 0:
        return False
    others = flat[[k for k in left if k not in corners]]
    inside = [turn * _cross(end - start, others - start) >= 0 for start, end in ((a, b), (b, c), (c, a))]
    return not np.any(inside[0] & inside[1] & inside[2])


def _cross(a: NDArray, b: NDArray) -> NDArray:
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
