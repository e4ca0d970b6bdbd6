"""Cutting a polygon mesh along the zero line of a function of place, with clean edges and no slivers."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

NEAR = 0.3  # a crossing nearer to a vertex than this share of the edge moves the vertex instead


def cut(
    vertices: NDArray[np.float64],
    faces: list[list[int]],
    function: Callable[[NDArray[np.float64]], NDArray[np.float64]],
) -> tuple[NDArray[np.float64], list[list[int]], list[int], NDArray[np.bool_]]:
    """Splits faces where `function` changes sign.

    Returns the vertices (some moved, some new), the faces, for each the face it came from, and
    whether it lies where the function is positive.
    """
    vertices, values = _snapped(vertices.copy(), faces, function)
    points = list(vertices)
    between: dict[tuple[int, int], int] = {}
    pieces: list[list[int]] = []
    parents: list[int] = []
    positive: list[bool] = []
    for number, face in enumerate(faces):
        walk = _with_crossings(face, values, points, between)
        signs = [np.sign(values[i]) if i < len(values) else 0.0 for i in walk]
        for side in (1.0, -1.0):
            piece = [i for i, sign in zip(walk, signs, strict=True) if sign in (0.0, side)]
            if side in signs and len(piece) >= 3:
                pieces.append(piece)
                parents.append(number)
                positive.append(side > 0)
    return np.array(points), pieces, parents, np.array(positive)


def _snapped(vertices: NDArray, faces: list[list[int]], function: Callable) -> tuple[NDArray, NDArray]:
    values = function(vertices)
    best: dict[int, tuple[float, int]] = {}
    for face in faces:
        for a, b in zip(face, face[1:] + face[:1], strict=True):
            for near, far in ((a, b), (b, a)):
                if values[near] * values[far] < 0:
                    share = _crossing(vertices[near], vertices[far], function)
                    if share < NEAR and share < best.get(near, (1.0, 0))[0] - 1e-9:
                        best[near] = (share, far)
    moved = vertices.copy()
    for near, (share, far) in best.items():
        moved[near] = vertices[near] + share * (vertices[far] - vertices[near])
        values[near] = 0.0
    return moved, values


def _crossing(start: NDArray, end: NDArray, function: Callable) -> float:
    low, high = 0.0, 1.0
    sign = np.sign(function(start[None])[0])
    for _ in range(40):
        middle = (low + high) / 2
        if np.sign(function((start + middle * (end - start))[None])[0]) == sign:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _with_crossings(face: list[int], values: NDArray, points: list, between: dict) -> list[int]:
    walk: list[int] = []
    for a, b in zip(face, face[1:] + face[:1], strict=True):
        walk.append(a)
        if values[a] * values[b] < 0:
            key = (min(a, b), max(a, b))
            if key not in between:
                share = values[a] / (values[a] - values[b])
                between[key] = len(points)
                points.append(points[a] + share * (points[b] - points[a]))
            walk.append(between[key])
    return walk
