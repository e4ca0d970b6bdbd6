"""Bringing a mesh down to a working size, and saying what that cost.

Very many faces are first gathered into small cells, whose vertices become one (J. Rossignac and P. Borrel,
"Multi-resolution 3D approximations for rendering complex scenes", 1993), which is quick and needs little memory;
then edges are joined by least quadric error (M. Garland and P. Heckbert, SIGGRAPH 1997), as pyvista does it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.head import face_areas
from sitterlight.meshes.nearest import Surface
from sitterlight.meshes.triangles import Mesh, extent_of, joined_places, used

WORKING_FACES = 40_000
GATHERED_FACES = 400_000  # more are gathered into cells before anything is mended
SAMPLES = 20_000  # places of the original whose distance to the smaller mesh is measured


def gathered(vertices: NDArray[np.float64], faces: NDArray[np.int32], largest: int = GATHERED_FACES) -> Mesh:
    """About `largest` faces or fewer: the vertices within each small cell joined at their mean."""
    if len(faces) <= largest:
        return vertices, faces
    area = float(face_areas(vertices, faces).sum())
    step = max(np.sqrt(2.2 * area / largest), extent_of(vertices, faces) * 1e-6)
    first, number = joined_places(vertices, vertices.min(axis=0), step)
    share = np.bincount(number, minlength=len(first))
    means = np.stack([np.bincount(number, vertices[:, k], len(first)) for k in range(3)], axis=1) / share[:, None]
    joined = number[faces]
    a, b, c = joined.T
    joined = joined[(a != b) & (b != c) & (c != a)]
    ordered = np.sort(joined, axis=1).astype(np.int64)
    _, once = np.unique((ordered[:, 0] << 42) | (ordered[:, 1] << 21) | ordered[:, 2], return_index=True)
    return used(means, joined[np.sort(once)])


def simplified(vertices: NDArray[np.float64], faces: NDArray[np.int32], largest: int = WORKING_FACES) -> Mesh:
    """At most about `largest` faces, by least quadric error; volumes are kept."""
    if len(faces) <= largest:
        return vertices, faces
    import pyvista

    mesh = pyvista.PolyData.from_regular_faces(vertices, faces)
    smaller = mesh.decimate(1 - largest / len(faces), volume_preservation=True)
    return used(np.asarray(smaller.points, dtype=float), smaller.regular_faces.astype(np.int32))


def sampled(vertices: NDArray[np.float64], count: int = SAMPLES) -> NDArray[np.float64]:
    """Up to `count` of the vertices, evenly taken from their order."""
    return vertices[:: max(1, len(vertices) // count)][:count].copy()


def loss_in_words(before: int, original: NDArray, vertices: NDArray, faces: NDArray) -> str:
    """What was lost, in mm: how far places of the original lie from the smaller mesh."""
    away = Surface(vertices, faces).nearest(original).distance
    return (
        f"{before:,} faces were brought down to {len(faces):,}".replace(",", " ")
        + f"; the surface moved by {np.mean(away):.2g} mm on average, {np.percentile(away, 99):.2g} mm at most places"
    )
