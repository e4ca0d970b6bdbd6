"""What a head is: one triangle mesh with regions and named planes, and a finer mesh to look at."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

FACES_AT_ONCE = 200_000
"""Of a mesh of millions, so that what is worked out on the way stays small."""


@dataclass(frozen=True)
class Plane:
    """A named facet. `side` is "centre", "left" or "right" (the sitter's own), `region` its main region."""

    name: str
    side: str
    region: str


@dataclass(frozen=True)
class DisplayMesh:
    """The finer mesh that is looked at: vertices (D, 3) mm, faces (G, 3), unit normals (D, 3), plane_of_face (G,)."""

    vertices: NDArray[np.float64]
    faces: NDArray[np.int32]
    normals: NDArray[np.float64]
    plane_of_face: NDArray[np.int16]


@dataclass(frozen=True)
class Head:
    """A head in its own frame: millimetres, y up, +z ahead, +x to the sitter's left, eyes included.

    vertices (V, 3) mm; faces (F, 3), counter-clockwise seen from outside; normals (V, 3) unit;
    vertex_area (V,) mm²; region_weights (V, 15), rows sum to 1, columns as in regions.REGIONS;
    planes and plane_of_face (F,), −1 where a face has no plane (eyes, clothes,
    and the edges of holes: within the nostrils, the rims of the lids, where the lips meet);
    plane_weights (planes, V) mm²: each face's area shared by its corners, so a row sums to the
    area of its plane; display and to_display (D, V), whose rows sum to 1. `key` changes whenever
    geometry or labels change.
    """

    name: str
    key: str
    vertices: NDArray[np.float64]
    faces: NDArray[np.int32]
    normals: NDArray[np.float64]
    vertex_area: NDArray[np.float64]
    region_weights: NDArray[np.float32]
    planes: tuple[Plane, ...]
    plane_of_face: NDArray[np.int16]
    plane_weights: sparse.csr_matrix
    display: DisplayMesh
    to_display: sparse.csr_matrix
    notes: tuple[str, ...] = ()  # what was mended or supposed when the mesh was read, a few words each
    shape_key: str = ""  # changes whenever shape or regions change, not with planes: what rays and bounces depend on

    @cached_property
    def in_single(self) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """`vertices` and `normals` in single precision, as most compiled loops ask for them."""
        return self.vertices.astype(np.float32), self.normals.astype(np.float32)

    @cached_property
    def ray_origins(self) -> NDArray[np.float32]:
        """Where rays leave from, (V,3) mm: each vertex lifted off its surface by less than is seen."""
        return (self.vertices + self.lift * self.normals).astype(np.float32)

    @property
    def lift(self) -> float:
        """How far above the surface rays leave from, mm."""
        return 1e-4 * self.size

    @cached_property
    def size(self) -> float:
        """From one corner of the box around it to the opposite one, mm."""
        return float(np.linalg.norm(np.ptp(self.vertices, axis=0)))

    @property
    def report(self) -> tuple[str, ...]:
        """What was mended, brought down, guessed or supposed when the mesh was read: whole sentences."""
        return tuple(f"{note[:1].upper()}{note[1:]}." for note in self.notes)


def face_vectors(vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> NDArray[np.float64]:
    """(F, 3) outward vectors whose length is the area of each face, mm²."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    return 0.5 * np.cross(b - a, c - a)


def face_areas(vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> NDArray[np.float64]:
    """(F,) mm². As the length of `face_vectors`, but in little memory, however many faces there are."""
    areas = np.empty(len(faces))
    for begin in range(0, len(faces), FACES_AT_ONCE):
        piece = slice(begin, begin + FACES_AT_ONCE)
        areas[piece] = np.linalg.norm(face_vectors(vertices, faces[piece]), axis=1)
    return areas


def unit(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    """The vectors (N, 3) at length one; a vector of no length becomes +z."""
    length = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.where(length > 0, vectors / np.where(length > 0, length, 1.0), [0.0, 0.0, 1.0])


def vertex_normals(vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> NDArray[np.float64]:
    """(V, 3) unit normals, each face weighted by its angle at the vertex.

    G. Thürmer and C. A. Wüthrich, "Computing vertex normals from polygonal facets", JGT 3 (1998).
    """
    directions = unit(face_vectors(vertices, faces))
    total = np.zeros((len(vertices), 3))
    for k in range(3):
        here, after, before = (vertices[faces[:, (k + step) % 3]] for step in (0, 1, 2))
        cosine = np.sum(unit(after - here) * unit(before - here), axis=1)
        angle = np.arccos(np.clip(cosine, -1, 1))
        for axis in range(3):
            total[:, axis] += np.bincount(faces[:, k], angle * directions[:, axis], len(vertices))
    return unit(total)


def vertex_areas(vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> NDArray[np.float64]:
    """(V,) mm²: a third of the area of each face around the vertex."""
    third = np.linalg.norm(face_vectors(vertices, faces), axis=1) / 3
    return np.bincount(faces.ravel(), np.repeat(third, 3), len(vertices))


def weights_of_planes(
    vertices: NDArray[np.float64],
    faces: NDArray[np.int32],
    plane_of_face: NDArray[np.int16],
    plane_count: int,
) -> sparse.csr_matrix:
    """(planes, V) mm², see `Head.plane_weights`."""
    member = plane_of_face >= 0
    third = np.linalg.norm(face_vectors(vertices, faces), axis=1)[member] / 3
    rows = np.repeat(plane_of_face[member].astype(np.int64), 3)
    shape = (plane_count, len(vertices))
    return sparse.csr_matrix((np.repeat(third, 3), (rows, faces[member].ravel())), shape=shape)


def make_head(
    name: str,
    vertices: NDArray[np.float64],
    faces: NDArray[np.int32],
    region_weights: NDArray[np.float32],
    planes: tuple[Plane, ...],
    plane_of_face: NDArray[np.int16],
    display: DisplayMesh | None = None,
    to_display: sparse.csr_matrix | None = None,
    normals: NDArray[np.float64] | None = None,
    notes: tuple[str, ...] = (),
) -> Head:
    """A `Head` with everything that follows from geometry and labels filled in.

    Without `display`, what is calculated is also what is shown.
    """
    if normals is None:
        normals = vertex_normals(vertices, faces)
    if display is None or to_display is None:
        display = DisplayMesh(vertices, faces, normals, plane_of_face)
        to_display = sparse.identity(len(vertices), format="csr")
    return Head(
        name=name,
        key=_key(vertices, faces, normals, region_weights, plane_of_face, planes),
        vertices=vertices,
        faces=faces,
        normals=normals,
        vertex_area=vertex_areas(vertices, faces),
        region_weights=region_weights,
        planes=planes,
        plane_of_face=plane_of_face,
        plane_weights=weights_of_planes(vertices, faces, plane_of_face, len(planes)),
        display=display,
        to_display=to_display,
        notes=notes,
        shape_key=_key(vertices, faces, normals, region_weights),
    )


def _key(*parts: object) -> str:
    digest = hashlib.sha256()
    for part in parts:
        if isinstance(part, np.ndarray):
            exact = np.round(part, 6) + 0.0 if part.dtype.kind == "f" else part
            digest.update(str(exact.shape).encode() + np.ascontiguousarray(exact).tobytes())
        else:
            digest.update(repr(part).encode())
    return digest.hexdigest()[:32]
