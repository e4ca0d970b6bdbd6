"""Flat plates of skin, fine enough to show how far light travels under it."""

from __future__ import annotations

import numpy as np

from sitterlight.meshes.head import vertex_areas
from sitterlight.shading.diffusion_bank import Bank, make_bank


def plate(length: float, width: float, spacing: float, uneven: float = 0.3) -> tuple[np.ndarray, np.ndarray]:
    """Vertices (V, 3) mm and faces of a plate in the plane z = 0 about the origin.

    Vertices within it are moved at random by up to `uneven` of the spacing, so that triangles are of all shapes.
    """
    across, along = (max(round(size / spacing) // 2 * 2, 2) for size in (width, length))
    x, y = np.meshgrid(
        (np.arange(along) + 0.5) / along * length - length / 2, (np.arange(across + 1) / across - 0.5) * width
    )
    random = np.random.default_rng(1)
    within = np.zeros(x.shape, bool)
    within[1:-1, 1:-1] = True
    vertices = np.stack([x, y, 0 * x], axis=-1)
    vertices[within, :2] += random.uniform(-uneven, uneven, (within.sum(), 2)) * spacing
    corner = np.arange(x.size).reshape(x.shape)
    a, b, c, d = corner[:-1, :-1].ravel(), corner[:-1, 1:].ravel(), corner[1:, 1:].ravel(), corner[1:, :-1].ravel()
    faces = np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])
    return vertices.reshape(-1, 3), faces.astype(np.int32)


def bank_of_skin(vertices: np.ndarray, faces: np.ndarray, lengths: np.ndarray | None = None) -> Bank:
    """The bank of a mesh that is all skin."""
    return make_bank(vertices, faces, np.ones(len(vertices)), vertex_areas(vertices, faces), lengths)
