"""Cutting polygons into triangles: a fan where that fits, ear by ear where a polygon has inward corners."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

MOST_CORNERS = 400  # of a polygon that is cut ear by ear; larger ones get a fan
MOST_STARTS = 12  # of a polygon whose fan is tried from every corner
MOST_LOOKS = 40_000  # at corners that may be ears, in one mesh; what comes after gets fans
AT_ONCE = 200_000  # corners looked at together, so that memory stays small


def cut_polygons(vertices: NDArray, corners: NDArray[np.integer], counts: NDArray[np.int64]) -> NDArray[np.int32]:
    """(F, 3) triangles of polygons given as one run of corners and the count of each, in their order."""
    if len(counts) and counts.min() == counts.max() == 3:
        return corners.reshape(-1, 3).astype(np.int32, copy=False)
    with np.errstate(all="ignore"):  # places beyond all measure are refused later
        return _cut(vertices, corners, counts)


def _cut(vertices: NDArray, corners: NDArray[np.integer], counts: NDArray[np.int64]) -> NDArray[np.int32]:
    starts = np.cumsum(counts) - counts
    places = np.cumsum(counts - 2) - (counts - 2)
    result = np.empty((int(np.sum(counts - 2)), 3), dtype=np.int32)
    looks = Looks(MOST_LOOKS)
    for count in np.unique(counts):
        chosen, few = np.flatnonzero(counts == count), max(1, AT_ONCE // count)
        for first in range(0, len(chosen), few):
            own = chosen[first : first + few]
            triangles = _cut_alike(vertices, corners[starts[own][:, None] + np.arange(count)], looks)
            result[places[own][:, None] + np.arange(count - 2)] = triangles
    return result


@dataclass
class Looks:
    """How often a corner may still be looked at."""

    left: int


def _cut_alike(vertices: NDArray, polygons: NDArray[np.integer], looks: Looks) -> NDArray[np.integer]:
    """(n, count − 2, 3) triangles of polygons with one number of corners."""
    count = polygons.shape[1]
    steps = np.arange(1, count - 1)
    fan = np.stack([0 * steps, steps, steps + 1], axis=1)
    result = polygons[:, fan]
    if count == 3 or count > MOST_CORNERS:
        return result
    bad = np.flatnonzero(_folds(vertices, result, polygons))
    for start in range(1, min(count, 2 if count == 4 else MOST_STARTS)):
        if len(bad) == 0:
            break
        others = polygons[bad][:, (fan + start) % count]
        folds = _folds(vertices, others, polygons[bad])
        result[bad[~folds]] = others[~folds]
        bad = bad[folds]
    for row in bad if count > 4 else ():
        if looks.left <= 0:
            break
        result[row] = _ears(vertices, polygons[row], looks)
    return result


def _folds(vertices: NDArray, triangles: NDArray, polygons: NDArray) -> NDArray[np.bool_]:
    """(n,) whether a triangle of the fan faces against its polygon (Newell's normal)."""
    points = vertices[polygons].astype(float, copy=False)
    points = points - points[:, :1]
    normal = np.cross(points, np.roll(points, -1, axis=1)).sum(axis=1)
    a, b, c = (vertices[triangles[..., k]].astype(float, copy=False) for k in range(3))
    return np.any(np.einsum("nij,nj->ni", np.cross(b - a, c - a), normal) < 0, axis=1)


def _ears(vertices: NDArray, polygon: NDArray[np.integer], looks: Looks) -> NDArray[np.integer]:
    """(count − 2, 3): corners that hold no other corner are cut off one by one; a tangle without any gets a fan."""
    points = vertices[polygon].astype(float, copy=False)
    normal = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)
    drop = int(np.argmax(np.abs(normal)))
    flat = np.delete(points, drop, axis=1)
    turn = np.sign(normal[drop]) * (-1 if drop == 1 else 1)
    left, cut = list(range(len(polygon))), []
    while len(left) > 3 and looks.left > 0:
        place = next((k for k in range(len(left)) if _is_ear(flat, left, k, turn)), None)
        looks.left -= len(left) if place is None else place + 1
        if place is None:
            break
        before, after = left[place - 1], left[(place + 1) % len(left)]
        cut.append((before, left.pop(place), after))
    cut += [(left[0], left[k], left[k + 1]) for k in range(1, len(left) - 1)]
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
