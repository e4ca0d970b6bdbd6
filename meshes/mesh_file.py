"""Triangles from a mesh file: OBJ, PLY, STL or GLB, whatever program wrote it.

A file is read by itself: textures, materials and remote parts are never looked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.machine import memory_left
from sitterlight.meshes.mesh_header import check_header
from sitterlight.meshes.obj_file import MOST_FACES, read_obj
from sitterlight.meshes.ply_file import is_read_here, read_plain_ply
from sitterlight.meshes.ply_layout import LONGEST_HEADER
from sitterlight.meshes.stl_text import is_stl_text, read_stl_text
from sitterlight.meshes.triangles import used

EXTENSIONS = (".obj", ".ply", ".stl", ".glb")
GUESS = "guess"  # a unit or axis that is to be found out from the mesh
UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
AXES = ("+x", "-x", "+y", "-y", "+z", "-z")
LARGEST_FILE = 800_000_000  # bytes
TAKES = {
    "stl": 3.5, "stl text": 2.0, "ply": 7.0, "ply text": 3.5, "rare ply": 16.0, "rare ply text": 20.0, "glb": 13.0,
    "obj": 2.5,
}  # fmt: skip
"""Bytes of memory for each byte of the file, at the fullest while a head is made of it, as measured with one to five
million faces."""

TAKES_ANYWAY = 350e6
LITTLE_FILE = 10_000_000  # bytes; what is smaller is read without asking
FARTHEST = 1e9  # in the file's own unit; a squared area of that size is still a number in single precision
_COLOURS = "its own colours were left out: the colour of skin is calculated"
_TEXTURES = "its materials and textures were left out: the colour of skin is calculated"


class NoRoomError(ValueError):
    """A mesh for which this machine has not enough memory: the rest of a sentence."""


@dataclass(frozen=True)
class MeshFile:
    """What a file holds: vertices (V, 3) in its own unit and axes, faces (F, 3), and what was passed over, in words."""

    vertices: NDArray[np.float64]
    faces: NDArray[np.int32]
    passed_over: tuple[str, ...] = ()


def read_mesh(path: Path) -> MeshFile:
    """The mesh in a file; ValueError, one sentence that names the file, when it is missing, empty or broken."""
    if not path.is_file():
        raise ValueError(f"{path}: there is no such mesh file.")
    size = path.stat().st_size
    if size == 0:
        raise ValueError(f"{path}: the file is empty; a mesh with faces was expected.")
    if size > LARGEST_FILE:
        raise ValueError(f"{path}: the file has {size / 1e6:.0f} MB; at most {LARGEST_FILE / 1e6:.0f} MB are read.")
    kind = path.suffix.lower().lstrip(".")
    try:
        check_header(path, kind)
        _check_memory(path, kind, size)
        mesh = _read(path, kind)
    except NoRoomError as problem:
        raise ValueError(f"{path}: {problem}.") from None
    except (ValueError, OSError, MemoryError) as problem:
        reason = (str(problem) or type(problem).__name__).splitlines()[0].rstrip(".")
        remedy = "" if ";" in reason else "; write it out again from where it was made"
        raise ValueError(f"{path}: this is not a whole {kind.upper()} mesh ({reason}){remedy}.") from None
    if len(mesh.faces) == 0:
        raise ValueError(f"{path}: the file holds no faces; a mesh of triangles or polygons was expected.")
    if len(mesh.faces) > MOST_FACES:
        raise ValueError(
            f"{path}: the mesh has {len(mesh.faces) / 1e6:.1f} million faces; at most"
            f" {MOST_FACES / 1e6:.0f} million are read: write it out again with fewer."
        )
    if mesh.faces.min() < 0 or mesh.faces.max() >= len(mesh.vertices):
        raise ValueError(f"{path}: a face names a vertex that the file does not have.")
    return mesh if _lies_within_reach(mesh.vertices) else _without_stray_vertices(path, mesh)


def _check_memory(path: Path, kind: str, size: int) -> None:
    """ValueError where the system would end the program, or another one, while the file is read."""
    if size <= LITTLE_FILE:
        return
    with path.open("rb") as file:
        start = file.read(LONGEST_HEADER)
    is_text = (kind == "stl" and is_stl_text(start[:1000])) or (kind == "ply" and b"format ascii" in start[:1000])
    is_rare = kind == "ply" and not is_read_here(start)
    name = ("rare " if is_rare else "") + kind + (" text" if is_text else "")
    needed, left = TAKES_ANYWAY + TAKES[name] * size, memory_left()
    if needed > left:
        raise NoRoomError(
            f"reading {size / 1e6:.0f} MB of {'text' if is_text else kind.upper()} takes about"
            f" {needed / 1e9:.1f} GB of memory, and {left / 1e9:.1f} GB are left: close other programs, or write the"
            " mesh out with fewer faces"
        )


def _lies_within_reach(vertices: NDArray[np.floating]) -> bool:
    return bool(vertices.min() >= -FARTHEST and vertices.max() <= FARTHEST)  # False, too, where one is not a number


def _without_stray_vertices(path: Path, mesh: MeshFile) -> MeshFile:
    """The mesh without the vertices that no face has, which may lie anywhere; ValueError where a face's own do."""
    vertices, faces = used(mesh.vertices, mesh.faces)
    if not np.isfinite(vertices).all():
        raise ValueError(f"{path}: a vertex has a coordinate that is not a finite number.")
    if not _lies_within_reach(vertices):
        raise ValueError(
            f"{path}: a vertex has the coordinate {np.abs(vertices).max():.3g}; whatever its unit, a mesh lies within"
            " a thousand million of its origin: write it out again."
        )
    return MeshFile(vertices, faces, mesh.passed_over)


def _read(path: Path, kind: str) -> MeshFile:
    if kind == "obj":
        with path.open("rb") as file:
            vertices, faces, dressed, coloured = read_obj(file)
        return MeshFile(vertices, faces, ((_TEXTURES,) if dressed else ()) + ((_COLOURS,) if coloured else ()))
    if kind == "stl":
        with path.open("rb") as file:
            start = file.read(1000)
        if is_stl_text(start):
            return MeshFile(*read_stl_text(path))
        found = _read_binary_stl(path)
        if found is not None:
            return found
    if kind == "ply":
        plain = read_plain_ply(path)
        if plain is not None:
            return MeshFile(plain[0], plain[1], (_COLOURS,) if plain[2] else ())
    return _read_by_trimesh(path, kind)


_STL_FACE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def _read_binary_stl(path: Path) -> MeshFile | None:
    """The faces of a binary STL file, or None where its length says that it is none."""
    with path.open("rb") as file:
        head = file.read(84)
    size = path.stat().st_size
    if len(head) < 84:
        return None
    told = int(np.frombuffer(head[80:84], "<u4")[0])
    if size != 84 + 50 * told:
        if head[:5].lower() != b"solid" and size < 84 + 50 * told:
            raise ValueError(f"it ends after {(size - 84) // 50} of {told} faces")
        return None
    if told > MOST_FACES:
        raise ValueError(f"more than {MOST_FACES / 1e6:.0f} million faces")
    # Read, not mapped: a mapped file that somebody cuts off in the meantime would end the program.
    records = np.fromfile(path, dtype=_STL_FACE, count=told, offset=84)
    if len(records) < told:
        raise ValueError("it became shorter while it was read")
    corners = np.array(records["corners"], dtype=np.float32).reshape(-1, 3)
    return MeshFile(corners, np.arange(len(corners), dtype=np.int32).reshape(-1, 3))


def _read_by_trimesh(path: Path, kind: str) -> MeshFile:
    import trimesh

    # From an open file, so that nothing beside it (textures, materials, remote parts) is looked for.
    try:
        with path.open("rb") as file, np.errstate(all="ignore"):
            loaded = trimesh.load_scene(file, file_type=kind, process=False)
        parts = [part for part in loaded.dump() if isinstance(part, trimesh.Trimesh) and len(part.faces)]
    except Exception:  # whatever that reader trips over, the file is what is wrong; its words help nobody
        raise ValueError("what it holds is cut off or damaged; write it out again") from None
    if not parts:
        return MeshFile(np.zeros((0, 3)), np.zeros((0, 3), np.int32))
    starts = np.cumsum([0] + [len(part.vertices) for part in parts])
    vertices = np.vstack([np.asarray(part.vertices, dtype=float) for part in parts])
    faces = np.vstack(
        [(np.asarray(part.faces) + start).astype(np.int32) for part, start in zip(parts, starts[:-1], strict=True)]
    )
    visuals = {part.visual.kind for part in parts}
    passed = ((_TEXTURES,) if "texture" in visuals else ()) + ((_COLOURS,) if visuals & {"vertex", "face"} else ())
    return MeshFile(vertices, faces, passed)
