"""The built-in bust: a CC0 control mesh, subdivided once to calculate with and once more to look at."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from sitterlight.meshes.head import DisplayMesh, Head, Plane, make_head, vertex_normals
from sitterlight.meshes.regions import REGIONS, SHARP_REGIONS
from sitterlight.meshes.subdivision import Polygons, Refined, refine, triangles

SEAM = REGIONS.index("skin")
"""What the control mesh calls the faces that join garment and skin: no plain skin is on the bust. They are too narrow
to be seen, and turn no normal but their own."""


@lru_cache(maxsize=1)
def load_bust() -> Head:
    """The bust as a `Head`: about 18 000 vertices, 72 000 in its display mesh. Kept in memory."""
    with np.load(str(files("sitterlight.meshes") / "data" / "bust.npz")) as data:
        cage = {name: data[name] for name in data.files}
    faces = Polygons(cage["corners"].astype(np.int64), cage["counts"].astype(np.int64))
    first = refine(faces, len(cage["vertices"]), cage["crease_edges"], cage["crease_sharpness"])
    vertices = first.matrix @ cage["vertices"].astype(float)
    second = refine(first.faces, len(vertices), first.crease_edges, first.crease_sharpness)
    triangle_faces, quad_of_face = triangles(first.faces)
    seam = cage["region_of_face"] == SEAM
    planes = tuple(
        Plane(str(name), str(side), REGIONS[region])
        for name, side, region in zip(cage["plane_names"], cage["plane_sides"], cage["plane_regions"], strict=True)
    )
    return make_head(
        "bust",
        vertices,
        triangle_faces,
        _region_weights(cage, first),
        planes,
        cage["plane_of_face"].astype(np.int16)[first.parent[quad_of_face]],
        display=_display(second, vertices, cage["plane_of_face"].astype(np.int16)[first.parent], seam[first.parent]),
        to_display=second.matrix,
        normals=_normals(vertices, triangle_faces, seam[first.parent[quad_of_face]]),
    )


def _display(second: Refined, vertices: NDArray, plane_of_quad: NDArray, seam: NDArray) -> DisplayMesh:
    fine = second.matrix @ vertices
    faces, quad_of_face = triangles(second.faces)
    coarse_quad = second.parent[quad_of_face]
    return DisplayMesh(fine, faces, _normals(fine, faces, seam[coarse_quad]), plane_of_quad[coarse_quad])


def _normals(vertices: NDArray, faces: NDArray, seam: NDArray) -> NDArray:
    """Vertex normals that the seam turns nowhere but on itself."""
    normals = vertex_normals(vertices, faces)
    touched = np.zeros(len(vertices), bool)
    touched[faces[seam]] = True
    beside = faces[~seam & touched[faces].any(axis=1)]
    outside = np.unique(beside)
    outside = outside[touched[outside]]
    normals[outside] = vertex_normals(vertices, beside)[outside]
    return normals


def _region_weights(cage: dict[str, NDArray], first: Refined) -> NDArray[np.float32]:
    """(V, 15): soft regions carried by the subdivision, sharp ones by the share of faces around a vertex."""
    count = first.matrix.shape[0]
    region_of_quad = cage["region_of_face"][first.parent].astype(np.int64)
    corners = first.faces.corners
    rows = np.repeat(region_of_quad, 4)
    counted = np.where(rows == SEAM, 1e-6, 1.0)
    rows = np.where(rows == SEAM, REGIONS.index("clothes"), rows)
    around = np.bincount(corners, counted, minlength=count)
    sharp = sparse.csr_matrix((counted, (corners, rows)), shape=(count, len(REGIONS))).toarray()
    sharp /= around[:, None]
    sharp[:, [i for i, name in enumerate(REGIONS) if name not in SHARP_REGIONS]] = 0.0
    soft = first.matrix @ (cage["soft_weights"].astype(float) / 255)
    soft /= np.maximum(soft.sum(axis=1, keepdims=True), 1e-12)
    weights = sharp + soft * (1 - sharp.sum(axis=1, keepdims=True))
    return (weights / weights.sum(axis=1, keepdims=True)).astype(np.float32)
