"""Reading the usual binary PLY file of triangles as it lies, so that millions of faces stay small in memory.

Only what scanners mostly write: little-endian, plain vertex properties, then faces with nothing but a list of three
vertices each. Everything else is left to trimesh.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

LONGEST_HEADER = 20_000  # bytes
_KINDS = {
    "char": "i1", "uchar": "u1", "short": "<i2", "ushort": "<u2", "int": "<i4", "uint": "<u4", "float": "<f4",
    "double": "<f8", "int8": "i1", "uint8": "u1", "int16": "<i2", "uint16": "<u2", "int32": "<i4", "uint32": "<u4",
    "float32": "<f4", "float64": "<f8",
}  # fmt: skip


def read_plain_ply(path: Path) -> tuple[NDArray[np.floating], NDArray[np.int32], bool] | None:
    """Vertices (V, 3), triangles (F, 3) and whether vertices have colours; None where the file is of another kind.

    ValueError, a few words, where a face is broken.
    """
    with path.open("rb") as file:
        head = file.read(LONGEST_HEADER)
    end = head.find(b"end_header\n")
    if not head.startswith(b"ply") or end < 0:
        return None
    layout = _layout(head[:end].decode("ascii", "replace").splitlines())
    if layout is None:
        return None
    vertex, vertex_count, face, face_count = layout
    start = end + len(b"end_header\n")
    whole = start + vertex_count * vertex.itemsize + face_count * face.itemsize
    size = path.stat().st_size
    if vertex_count == 0 or face_count == 0 or whole != size:
        return None
    vertices = np.memmap(path, dtype=vertex, mode="r", offset=start, shape=(vertex_count,))
    faces = np.memmap(path, dtype=face, mode="r", offset=start + vertex_count * vertex.itemsize, shape=(face_count,))
    if not np.all(faces["count"] == 3):
        return None
    corners = np.array(faces["corners"])
    if corners.max() >= vertex_count or corners.min() < 0:
        raise ValueError("a face names a vertex that the file does not have")
    places = np.stack([vertices[axis] for axis in "xyz"], axis=1)
    coloured = any(name in vertex.names for name in ("red", "r", "diffuse_red"))
    return places, corners.astype(np.int32), coloured


def _layout(lines: list[str]) -> tuple[np.dtype, int, np.dtype, int] | None:
    """What a vertex and a face are made of and how many there are, or None where it is not the usual."""
    vertex: list[tuple[str, str]] = []
    counts: dict[str, int] = {}
    corners = element = None
    for line in lines[1:]:
        words = line.split()
        if not words or words[0] in ("comment", "obj_info"):
            continue
        if words[0] == "format" and words[1:2] != ["binary_little_endian"]:
            return None
        if words[0] == "element" and len(words) == 3 and words[2].isdigit():
            element = words[1]
            counts[element] = int(words[2])
        elif words[0] == "property" and element == "vertex" and len(words) == 3 and words[1] in _KINDS:
            vertex.append((words[2], _KINDS[words[1]]))
        elif element == "face" and corners is None and words[:2] == ["property", "list"] and len(words) == 5:
            if words[2] not in ("uchar", "uint8"):
                return None
            corners = _KINDS.get(words[3])
        elif words[0] != "format":
            return None
    names = [name for name, _ in vertex]
    if list(counts) != ["vertex", "face"] or corners not in ("<i4", "<u4") or len(set(names)) != len(names):
        return None
    if not {"x", "y", "z"} <= set(names):
        return None
    face = np.dtype([("count", "u1"), ("corners", corners, 3)])
    return np.dtype(vertex), counts["vertex"], face, counts["face"]
