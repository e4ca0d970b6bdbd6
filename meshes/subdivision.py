"""Catmull-Clark subdivision of closed polygon meshes by sparse matrices.

A level of subdivision is a linear map of the vertices, so the relation between a coarse and a
fine mesh is one sparse matrix, usable for positions, colours and any other field alike.

Rules: E. Catmull and J. Clark, "Recursively generated B-spline surfaces on arbitrary topological
meshes", Computer-Aided Design 10 (1978); creases of whole sharpness after T. DeRose, M. Kass and
T. Truong, "Subdivision surfaces in character animation", SIGGRAPH 1998.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse


@dataclass(frozen=True)
class Polygons:
    """Faces of any number of corners: `corners` runs through all of them, `counts` has one number a face."""

    corners: NDArray[np.int64]
    counts: NDArray[np.int64]

    @classmethod
    def from_lists(cls, faces: list[list[int]]) -> Polygons:
        """Faces given as lists of vertex numbers."""
        counts = np.array([len(face) for face in faces], dtype=np.int64)
        return cls(np.concatenate([np.asarray(face, dtype=np.int64) for face in faces]), counts)

    def lists(self) -> list[list[int]]:
        """The faces as lists of vertex numbers."""
        return [part.tolist() for part in np.split(self.corners, np.cumsum(self.counts)[:-1])]

    @property
    def face_of_corner(self) -> NDArray[np.int64]:
        """(corners,) the face that each corner belongs to."""
        return np.repeat(np.arange(len(self.counts)), self.counts)

    @property
    def next_corner(self) -> NDArray[np.int64]:
        """(corners,) index of the following corner of the same face."""
        starts = np.cumsum(self.counts) - self.counts
        following = np.arange(len(self.corners)) + 1
        following[starts + self.counts - 1] = starts
        return following


@dataclass(frozen=True)
class Refined:
    """One finer level: `matrix` (new, old) takes vertices to it, `parent` names each new quad's old face.

    The first corner of each new quad is an old vertex, the third the middle of the old face, so
    a cut from first to third corner falls alike on both sides of a symmetric mesh.
    """

    matrix: sparse.csr_matrix
    faces: Polygons
    parent: NDArray[np.int64]
    crease_edges: NDArray[np.int64]
    crease_sharpness: NDArray[np.int64]


def _sparse(rows: NDArray, columns: NDArray, values: NDArray | float, shape: tuple[int, int]) -> sparse.csr_matrix:
    values = np.broadcast_to(np.asarray(values, dtype=float), np.shape(rows))
    return sparse.csr_matrix((values, (rows, columns)), shape=shape)


def edges_of(faces: Polygons) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(edges, 2) vertex pairs, smaller number first, and (corners,) the edge leaving each corner."""
    pairs = np.stack([faces.corners, faces.corners[faces.next_corner]], axis=1)
    return np.unique(np.sort(pairs, axis=1), axis=0, return_inverse=True)


def refine(
    faces: Polygons,
    vertex_count: int,
    crease_edges: NDArray[np.int64] | None = None,
    crease_sharpness: NDArray[np.int64] | None = None,
) -> Refined:
    """One level of Catmull-Clark on a closed mesh.

    crease_edges (creases, 2) vertex pairs stay sharp for as many levels as crease_sharpness says.
    Raises ValueError when an edge has not exactly two faces.
    """
    edges, edge_of_corner = edges_of(faces)
    edge_of_corner = edge_of_corner.ravel()
    face_count, edge_count, old = len(faces.counts), len(edges), vertex_count
    if np.any(np.bincount(edge_of_corner, minlength=edge_count) != 2):
        raise ValueError("subdivision needs a closed mesh: some edge does not have exactly two faces.")
    face_of_corner = faces.face_of_corner
    face_mean = _sparse(face_of_corner, faces.corners, 1 / faces.counts[face_of_corner], (face_count, old))
    edge_rows = np.repeat(np.arange(edge_count), 2)
    edge_mean = _sparse(edge_rows, edges.ravel(), 0.5, (edge_count, old))
    edge_faces = _sparse(edge_of_corner, face_of_corner, 0.5, (edge_count, face_count))

    sharp = _sharpness_of_edges(edges, crease_edges, crease_sharpness, old)
    smooth_edge = 0.5 * edge_mean + 0.5 * edge_faces @ face_mean
    edge_points = sparse.diags((sharp == 0) * 1.0) @ smooth_edge + sparse.diags((sharp > 0) * 1.0) @ edge_mean
    vertex_points = _vertex_points(faces, edges, edge_mean, face_mean, sharp, old)
    matrix = sparse.vstack([vertex_points, edge_points, face_mean]).tocsr()

    previous = np.empty_like(faces.next_corner)
    previous[faces.next_corner] = np.arange(len(previous))
    quads = np.stack(
        [
            faces.corners,
            old + edge_of_corner,
            old + edge_count + face_of_corner,
            old + edge_of_corner[previous],
        ],
        axis=1,
    )
    kept = sharp > 1
    ends = edges[kept]
    middle = old + np.flatnonzero(kept)
    halves = np.concatenate([np.stack([ends[:, 0], middle], 1), np.stack([ends[:, 1], middle], 1)])
    return Refined(
        matrix,
        Polygons(quads.ravel(), np.full(len(quads), 4)),
        face_of_corner,
        halves,
        np.tile(sharp[kept] - 1, 2),
    )


def _sharpness_of_edges(
    edges: NDArray, crease_edges: NDArray | None, crease_sharpness: NDArray | None, vertex_count: int
) -> NDArray[np.int64]:
    sharp = np.zeros(len(edges), dtype=np.int64)
    if crease_edges is None or len(crease_edges) == 0:
        return sharp
    wanted = np.sort(np.asarray(crease_edges, dtype=np.int64), axis=1)
    number = edges[:, 0] * vertex_count + edges[:, 1]
    place = np.searchsorted(number, wanted[:, 0] * vertex_count + wanted[:, 1])
    sharp[place] = crease_sharpness
    return sharp


def _vertex_points(
    faces: Polygons,
    edges: NDArray,
    edge_mean: sparse.csr_matrix,
    face_mean: sparse.csr_matrix,
    sharp: NDArray,
    vertex_count: int,
) -> sparse.csr_matrix:
    """Smooth rule (Q + 2R + (n − 3) S) / n; on a crease (1, 6, 1) / 8 along it; corners of three creases stay."""
    valence = np.bincount(edges.ravel(), minlength=vertex_count).astype(float)
    inverse = 1 / np.maximum(valence, 1)
    edge_rows = np.repeat(np.arange(len(edges)), 2)
    to_edges = _sparse(edges.ravel(), edge_rows, 1.0, (vertex_count, len(edges)))
    to_faces = _sparse(faces.corners, faces.face_of_corner, 1.0, (vertex_count, len(faces.counts)))
    average_face = sparse.diags(inverse) @ to_faces @ face_mean
    average_edge = sparse.diags(inverse) @ to_edges @ edge_mean
    smooth = sparse.diags(inverse) @ (average_face + 2 * average_edge) + sparse.diags((valence - 3) * inverse)
    creases = np.bincount(edges[sharp > 0].ravel(), minlength=vertex_count)
    along = 0.25 * to_edges @ sparse.diags((sharp > 0) * 1.0) @ edge_mean + 0.5 * sparse.identity(vertex_count)
    still = sparse.identity(vertex_count, format="csr")
    pick = [creases < 2, creases == 2, creases > 2]
    return sum(sparse.diags(rule * 1.0) @ points for rule, points in zip(pick, [smooth, along, still], strict=True))


def triangles(quads: Polygons) -> tuple[NDArray[np.int32], NDArray[np.int64]]:
    """(2·quads, 3) triangles, each quad cut from its first to its third corner, and the quad of each."""
    four = quads.corners.reshape(-1, 4)
    faces = np.stack([four[:, [0, 1, 2]], four[:, [0, 2, 3]]], axis=1).reshape(-1, 3)
    return faces.astype(np.int32), np.repeat(np.arange(len(four)), 2)
