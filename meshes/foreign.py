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
from sitterlight.meshes.regions import REGIONS
from sitterlight.meshes.triangles import decimated, oriented, split_at_corners, subdivided_flat, welded

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
AXES = ("+x", "-x", "+y", "-y", "+z", "-z")
EXTENSIONS = (".obj", ".ply", ".stl", ".glb")
LARGEST_FILE = 600_000_000  # bytes
WORKING_FACES = 150_000  # more are brought down to this
SMALLEST, LARGEST = 1.0, 20_000.0  # mm across


def read_head(path: Path, unit: str = "mm", up: str = "+y", front: str = "+z") -> Head:
    """The head in a mesh file, welded and turned into our frame.

    Raises ValueError with one sentence when the file is missing, empty, broken or has no faces.
    """
    vertices, faces = _read_triangles(path)
    vertices = vertices @ _axes(up, front).T * UNITS[unit]
    extent = float(np.ptp(vertices[np.unique(faces)], axis=0).max())
    if not SMALLEST <= extent <= LARGEST:
        raise ValueError(
            f'{path}: the mesh is {extent:.3g} mm across when its unit is "{unit}"; between {SMALLEST:g} and'
            f" {LARGEST:g} mm can be used: set another unit."
        )
    try:
        return head_from_triangles(path.stem, vertices, faces)
    except ValueError as problem:
        raise ValueError(f"{path}: {problem}") from None


def head_from_triangles(name: str, vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> Head:
    """A head from triangles in our frame, mm: welded, corners sharper than 40° kept sharp, planes found."""
    notes: list[str] = []
    vertices, faces = welded(vertices, faces, notes)
    vertices, faces = decimated(vertices, faces, WORKING_FACES, notes)
    faces = oriented(vertices, faces, notes)
    vertices = _centred(vertices, notes)
    vertices, faces = subdivided_flat(vertices, faces)
    vertices, faces, normals = split_at_corners(vertices, faces)
    plane_of_face = facets(vertices, faces)
    planes = plane_names(vertices, faces, plane_of_face)
    weights = np.zeros((len(vertices), len(REGIONS)), dtype=np.float32)
    weights[:, 0] = 1.0
    return make_head(name, vertices, faces, weights, planes, plane_of_face, normals=normals, notes=tuple(notes))


def _read_triangles(path: Path) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    import trimesh

    if not path.is_file():
        raise ValueError(f"{path}: there is no such mesh file.")
    size = path.stat().st_size
    if size == 0:
        raise ValueError(f"{path}: the file is empty; a mesh with faces was expected.")
    if size > LARGEST_FILE:
        raise ValueError(f"{path}: the file has {size / 1e6:.0f} MB; at most {LARGEST_FILE / 1e6:.0f} MB are read.")
    kind = path.suffix.lower().lstrip(".")
    extra = {"skip_materials": True} if kind == "obj" else {}
    try:
        # From an open file, so that nothing beside it (textures, materials, remote parts) is looked for.
        with path.open("rb") as file:
            loaded = trimesh.load_scene(file, file_type=kind, process=False, **extra)
        parts = [part for part in loaded.dump() if isinstance(part, trimesh.Trimesh) and len(part.faces)]
    except Exception as problem:  # whatever the reader trips over, the file is what is wrong
        reason = (str(problem) or type(problem).__name__).splitlines()[0].rstrip(".")
        raise ValueError(f"{path}: this is not a whole {kind.upper()} mesh ({reason}).") from None
    if not parts:
        raise ValueError(f"{path}: the file holds no faces; a mesh of triangles or polygons was expected.")
    starts = np.cumsum([0] + [len(part.vertices) for part in parts])
    vertices = np.vstack([np.asarray(part.vertices, dtype=float) for part in parts])
    faces = np.vstack([np.asarray(part.faces) + start for part, start in zip(parts, starts, strict=False)])
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise ValueError(f"{path}: a face names a vertex that the file does not have.")
    if not np.isfinite(vertices[np.unique(faces)]).all():
        raise ValueError(f"{path}: a vertex has a coordinate that is not a finite number.")
    return vertices, faces.astype(np.int32)


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
