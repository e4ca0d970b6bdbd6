"""Vertices that share a face with others, and those whose faces have values far apart at their corners."""

from __future__ import annotations

import numpy as np

from sitterlight.shading.compiled import loop, over_vertices


def with_ring(faces: np.ndarray, marked: np.ndarray) -> np.ndarray:
    """The `marked (V,)` vertices and all that share one of the `faces (F,3)` with one of them, (V,) bool."""
    ring = np.array(marked, bool)
    over_vertices(_mark_around, len(faces), faces, np.asarray(marked, bool), ring)
    return ring


def at_steps(faces: np.ndarray, values: np.ndarray, least: float) -> np.ndarray:
    """The vertices of `faces (F,3)` whose corners have `values (V,)` that differ by more than `least`, (V,) bool."""
    there = np.zeros(len(values), dtype=bool)
    over_vertices(_mark_steps, len(faces), faces, values, least, there)
    return there


def around_unlike(faces: np.ndarray, values: np.ndarray, doubtful: float) -> np.ndarray:
    """The vertices of `faces (F,3)` whose corners have unlike `values (V,)`, or one a `doubtful` one, (V,) bool."""
    there = np.zeros(len(values), dtype=bool)
    over_vertices(_mark_unlike, len(faces), faces, values, doubtful, there)
    return there


@loop
def _mark_unlike(first, last, faces, values, doubtful, there):
    for f in range(first, last):
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        if values[a] != values[b] or values[b] != values[c] or values[a] == doubtful:
            there[a], there[b], there[c] = True, True, True


@loop
def _mark_around(first, last, faces, marked, ring):
    for f in range(first, last):
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        if marked[a] or marked[b] or marked[c]:
            ring[a], ring[b], ring[c] = True, True, True


@loop
def _mark_steps(first, last, faces, values, least, there):
    for f in range(first, last):
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        smallest = min(values[a], min(values[b], values[c]))
        if max(values[a], max(values[b], values[c])) - smallest > least:
            there[a], there[b], there[c] = True, True, True
