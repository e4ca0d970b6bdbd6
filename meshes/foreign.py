"""Reading a head from any mesh file: OBJ, PLY, STL or GLB.

The mesh keeps its own origin, which is taken for the place between the ears, unless that lies
outside its bounding box: then the middle of the box becomes the origin, and a note says so.
Everything of such a head is plain "skin".
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.facets import facets, plane_names
from sitterlight.meshes.head import Head, face_vectors, make_head
from sitterlight.meshes.mesh_file import read_mesh
from sitterlight.meshes.regions import REGIONS
from sitterlight.meshes.repair import mended
from sitterlight.meshes.sizing import gathered, loss_in_words, sampled, simplified
from sitterlight.meshes.triangles import extent_of, split_at_corners, subdivided_flat, welded

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
AXES = ("+x", "-x", "+y", "-y", "+z", "-z")
SMALLEST, LARGEST = 1.0, 20_000.0  # mm across


def read_head(path: Path, unit: str = "mm", up: str = "+y", front: str = "+z") -> Head:
    """The head in a mesh file, welded and turned into our frame.

    Raises ValueError with one sentence when the file is missing, empty, broken or has no faces.
    """
    mesh = read_mesh(path)
    vertices = mesh.vertices @ _axes(up, front).T * UNITS[unit]
    extent = extent_of(vertices, mesh.faces)
    if not SMALLEST <= extent <= LARGEST:
        raise ValueError(
            f'{path}: the mesh is {extent:.3g} mm across when its unit is "{unit}"; between {SMALLEST:g} and'
            f" {LARGEST:g} mm can be used: set another unit."
        )
    try:
        return head_from_triangles(path.stem, vertices, mesh.faces, mesh.passed_over)
    except ValueError as problem:
        raise ValueError(f"{path}: {problem}") from None


def head_from_triangles(
    name: str, vertices: NDArray[np.float64], faces: NDArray[np.int32], passed_over: tuple[str, ...] = ()
) -> Head:
    """A head from triangles in our frame, mm: mended, corners sharper than 40° kept sharp, planes found."""
    notes = list(passed_over)
    vertices, faces = welded(vertices, faces, notes)
    count, original = len(faces), sampled(vertices)
    vertices, faces = gathered(vertices, faces)
    vertices, faces = mended(vertices, faces, notes)
    smaller = simplified(vertices, faces)
    if len(smaller[1]) < count:
        notes.append(loss_in_words(count, original, *smaller))
    vertices, faces = smaller
    vertices = _centred(vertices, notes)
    vertices, faces = subdivided_flat(vertices, faces)
    vertices, faces, normals = split_at_corners(vertices, faces)
    plane_of_face = facets(vertices, faces)
    planes = plane_names(vertices, faces, plane_of_face)
    weights = np.zeros((len(vertices), len(REGIONS)), dtype=np.float32)
    weights[:, 0] = 1.0
    return make_head(name, vertices, faces, weights, planes, plane_of_face, normals=normals, notes=tuple(notes))


def _axes(up: str, front: str) -> NDArray[np.float64]:
    """Rotation from the file's axes to ours, rows x (left), y (up), z (front)."""

    def vector(axis: str) -> NDArray[np.float64]:
        result = np.zeros(3)
        result["xyz".index(axis[1])] = 1.0 if axis[0] == "+" else -1.0
        return result

    y, z = vector(up), vector(front)
    return np.array([np.cross(y, z), y, z])


def _centred(vertices: NDArray[np.float64], notes: list[str]) -> NDArray[np.float64]:
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    room = 0.01 * (high - low).max()
    if np.all(low - room <= 0) and np.all(high + room >= 0):
        return vertices
    notes.append("its origin lay outside the mesh, so the middle of its bounding box was made the origin")
    return vertices - (low + high) / 2


def total_area(vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> float:
    """The area of all faces, mm²."""
    return float(np.linalg.norm(face_vectors(vertices, faces), axis=1).sum())
