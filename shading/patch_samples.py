"""The samples of a patch laid out for speed, and the ways to all of them from one place at once.

A loop over numbers that lie together in memory is done eight at a time by the processor; `way_to_sample` is for those
who ask for one sample.
"""

from __future__ import annotations

import numpy as np

from sitterlight.shading.compiled import kernel
from sitterlight.shading.sources import Patch
from sitterlight.shading.surface_kernels import DISTANT, NEAR_FACING

_ONE, _NONE = np.float32(1), np.float32(0)


def rows_of(patch: Patch) -> tuple[int, np.ndarray, np.ndarray, np.ndarray]:
    """The kind of a patch, its `points (3,S)`, the normals of its face there (3,S), zeros where it has none, and its
    `weights (K,S)`; float32."""
    facing = np.zeros_like(patch.points) if patch.facing is None else patch.facing
    rows = (np.ascontiguousarray(each.T, np.float32) for each in (patch.points, facing, patch.weights))
    return patch.place_kind, *rows


def samples_of(patch: Patch) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The `points (S,3)` of a patch, the normals of its face there (S,3), zeros where it has none, and its
    `weights (S,K)`; float32."""
    facing = np.zeros_like(patch.points) if patch.facing is None else patch.facing
    points, facing, weights = (np.ascontiguousarray(each, np.float32) for each in (patch.points, facing, patch.weights))
    return points, facing, weights


@kernel
def ways_to_samples(kind, points, facing, px, py, pz, ways):
    """Unit vectors from the place (px, py, pz) to all samples, into `ways[:3]` of (4,S), and into `ways[3]` what turns
    the samples' weights into solid angles."""
    for s in range(points.shape[1]):
        if kind == DISTANT:
            ways[0, s], ways[1, s], ways[2, s], ways[3, s] = points[0, s], points[1, s], points[2, s], _ONE
        else:
            x, y, z = points[0, s] - px, points[1, s] - py, points[2, s] - pz
            over = _ONE / np.sqrt(x * x + y * y + z * z)
            x, y, z = x * over, y * over, z * over
            factor = over * over
            if kind == NEAR_FACING:
                factor *= max(-(x * facing[0, s] + y * facing[1, s] + z * facing[2, s]), _NONE)
            ways[0, s], ways[1, s], ways[2, s], ways[3, s] = x, y, z, factor
