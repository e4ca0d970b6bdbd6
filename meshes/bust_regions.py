"""Soft weights of the bust's regions: the labels of faces, blurred by heat flowing over the surface.

Used only by make_bust.py.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from sitterlight.meshes.regions import REGIONS, SHARP_REGIONS

BLUR = 5.0  # mm, the standard deviation of the falloff between two regions


def soft_weights(
    vertices: NDArray[np.float64], faces: list[list[int]], region_of_face: NDArray[np.int64]
) -> NDArray[np.uint8]:
    """(N, 15) weights in 255ths; sharp regions take no part, so a vertex amid one has none."""
    soft = [i for i, name in enumerate(REGIONS) if name not in SHARP_REGIONS]
    chosen = [i for i, region in enumerate(region_of_face) if region in soft]
    triangles, labels = [], []
    for i in chosen:
        face = faces[i]
        triangles += [[face[0], face[k], face[k + 1]] for k in range(1, len(face) - 1)]
        labels += [region_of_face[i]] * (len(face) - 2)
    mass, stiffness, start = _heat(vertices, np.array(triangles), np.array(labels))
    steps = 4
    solve = splu((mass + BLUR**2 / 2 / steps * stiffness + 1e-9 * sparse.identity(len(vertices))).tocsc()).solve
    weights = start
    for _ in range(steps):
        weights = np.maximum(solve(mass @ weights), 0)
    total = weights.sum(axis=1, keepdims=True)
    return np.round(255 * np.where(total > 1e-3, weights / np.maximum(total, 1e-12), 0)).astype(np.uint8)


def _heat(vertices: NDArray, triangles: NDArray, labels: NDArray) -> tuple[sparse.spmatrix, sparse.spmatrix, NDArray]:
    """Lumped mass, cotangent stiffness, and the labels as area-weighted fields (N, 15)."""
    count = len(vertices)
    a, b, c = (vertices[triangles[:, k]] for k in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
    mass = np.bincount(triangles.ravel(), np.repeat(area / 3, 3), count)
    stiffness = sparse.csr_matrix((count, count))
    for k in range(3):
        i, j, apex = (triangles[:, (k + step) % 3] for step in (0, 1, 2))
        first, second = vertices[i] - vertices[apex], vertices[j] - vertices[apex]
        cross = np.linalg.norm(np.cross(first, second), axis=1)
        cotangent = np.maximum(np.sum(first * second, axis=1) / np.maximum(cross, 1e-9), 0) / 2
        rows, columns = np.concatenate([i, j, i, j]), np.concatenate([j, i, i, j])
        values = np.concatenate([-cotangent, -cotangent, cotangent, cotangent])
        stiffness = stiffness + sparse.csr_matrix((values, (rows, columns)), shape=(count, count))
    fields = np.zeros((count, len(REGIONS)))
    for k in range(3):
        np.add.at(fields, (triangles[:, k], labels), area / 3)
    return sparse.diags(mass), stiffness, fields / np.maximum(mass, 1e-12)[:, None]
