"""What the head of a mesh file promises, held against the bytes that are there, before anything is read by it.

A file may claim a milliard of vertices, lean on other files, or place one mesh in the room a million times; readers
of meshes would believe it and take all the memory there is. Formats: PLY (Turk, Georgia Tech 1994), STL (3D Systems
1988), glTF 2.0 (ISO/IEC 12113:2022), from memory.
"""

from __future__ import annotations

import json
import struct
from pathlib import Path

from sitterlight.meshes.stl_text import is_stl_text

MOST_FACES = 20_000_000
MOST_PARTS = 2_000
DEEPEST = 50
LONGEST_HEADER = 100_000
LONGEST_DESCRIPTION = 50_000_000

_PLY_SIZES = {
    name: size
    for names, size in (
        (("char", "uchar", "int8", "uint8"), 1),
        (("short", "ushort", "int16", "uint16"), 2),
        (("int", "uint", "int32", "uint32", "float", "float32"), 4),
        (("double", "float64", "int64", "uint64"), 8),
    )
    for name in names
}
_PLY_FORMATS = ("ascii", "binary_little_endian", "binary_big_endian")
_ARCHIVES = {b"PK\x03\x04": "ZIP", b"\x1f\x8b": "gzip", b"7z\xbc\xaf": "7z", b"BZh": "bzip2", b"\xfd7zXZ": "xz"}


def check_header(path: Path, kind: str) -> None:
    """Raise ValueError, a part of a sentence that says what is wrong, where a mesh file of this `kind`
    ("obj", "ply", "stl", "glb") promises what it cannot hold. What passes may still turn out to be broken."""
    size = path.stat().st_size
    with path.open("rb") as file:
        start = file.read(LONGEST_HEADER)
        for mark, name in _ARCHIVES.items():
            if start.startswith(mark):
                raise ValueError(f"it is a {name} archive; unpack it first")
        if kind == "ply":
            _check_ply(start, size)
        elif kind == "stl":
            _check_stl(start, size)
        elif kind == "glb":
            _check_glb(start, file.read(LONGEST_DESCRIPTION), size)
        elif b"\0" in start:
            raise ValueError("it holds zero bytes, where OBJ is text")


def _check_ply(start: bytes, size: int) -> None:
    if not start.startswith(b"ply"):
        raise ValueError('it does not begin with "ply"')
    end = start.find(b"end_header")
    if end < 0:
        raise ValueError("its header has no end; the file is cut off")
    lines = [line.split() for line in start[:end].decode("latin-1").splitlines()]
    form = next((line[1] for line in lines if line[:1] == ["format"] and len(line) > 1), "")
    if form not in _PLY_FORMATS:
        raise ValueError(f"its header names no known format; allowed are {', '.join(_PLY_FORMATS)}")
    needed = total = 0
    count = None
    for line in lines:
        if line[:1] == ["element"]:
            count = _count(line)
            total += count
        elif line[:1] == ["property"] and count is not None:
            # In text every value takes a digit and a space or line end.
            needed += count * (2 if form == "ascii" else _smallest(line))
    if needed > size - end:
        raise ValueError(
            f"it is too short for the {total} vertices and faces that its header promises; it is cut off or damaged"
        )


def _count(line: list[str]) -> int:
    if len(line) != 3 or not line[2].isascii() or not line[2].isdigit() or len(line[2]) > 12:
        raise ValueError("a count in its header is no whole number")
    return int(line[2])


def _smallest(line: list[str]) -> int:
    """Bytes that a property takes at least: for a list only its length."""
    kind = line[2] if line[1:2] == ["list"] and len(line) > 3 else line[1] if len(line) > 2 else ""
    if kind not in _PLY_SIZES:
        raise ValueError("a property in its header is of no known type")
    return _PLY_SIZES[kind]


def _check_stl(start: bytes, size: int) -> None:
    if is_stl_text(start[:1000]):
        return
    if min(size, len(start)) < 84:
        raise ValueError("it is too short; the file is cut off")
    (faces,) = struct.unpack("<I", start[80:84])
    if 84 + 50 * faces > size:
        raise ValueError(f"it ends after {(size - 84) // 50} of {faces} faces")


def _check_glb(start: bytes, more: bytes, size: int) -> None:
    if start[:4] != b"glTF" or len(start) < 20:
        raise ValueError('it does not begin with "glTF"')
    version, whole, length = struct.unpack("<III", start[4:16])
    if version != 2:
        raise ValueError(f"it is of version {version}; version 2 is read")
    if whole > size or length > size - 20 or length > LONGEST_DESCRIPTION:
        raise ValueError("it is shorter than it says; the file is cut off")
    try:
        described = json.loads((start + more)[20 : 20 + length])
    except (ValueError, RecursionError):
        raise ValueError("its description is not JSON") from None
    try:
        _check_described(described)
    except (TypeError, KeyError, IndexError, AttributeError):
        raise ValueError("its description is not glTF") from None


def _check_described(described: dict) -> None:
    for extension in described.get("extensionsRequired", []):
        if "draco" in extension or "meshopt" in extension:
            raise ValueError("it is compressed in a way that is not read; write it out without compression")
    for buffer in described.get("buffers", []):
        if not str(buffer.get("uri", "data:")).startswith("data:"):
            raise ValueError(
                "it keeps its mesh in another file or place, where nothing is read; write it out as one GLB"
            )
    accessors = described.get("accessors", [])
    if any(_is_no_count(accessor["count"]) for accessor in accessors):
        raise ValueError("a count in it is no whole number")
    if sum(accessor["count"] for accessor in accessors if "bufferView" not in accessor) > MOST_PARTS:
        raise ValueError("it promises values that it does not hold")
    _check_nodes(described, accessors)


def _is_no_count(value: object) -> bool:
    return type(value) is not int or not 0 <= value < 2**32


def _check_nodes(described: dict, accessors: list[dict]) -> None:
    """A mesh may be placed in the room many times, but within bounds; a node has one parent and no loop above it."""
    sizes = [sum(_size(part, accessors) for part in mesh["primitives"]) for mesh in described.get("meshes", [])]
    nodes = described.get("nodes", [])
    placed = [sizes[node["mesh"]] for node in nodes if node.get("mesh") is not None]
    if len(placed) > MOST_PARTS or len(sizes) > MOST_PARTS:
        raise ValueError(f"it has more than {MOST_PARTS} parts; join them first")
    if max(sum(placed), sum(sizes)) > 3 * MOST_FACES:
        raise ValueError(
            f"it places more than {MOST_FACES / 1e6:.0f} million faces in the room; write it out again with fewer"
        )
    _check_depth([node.get("children", []) for node in nodes])


def _check_depth(children: list[list[int]]) -> None:
    parents = {child: parent for parent, below in enumerate(children) for child in below}
    if len(parents) < sum(map(len, children)):
        raise ValueError("a part of it hangs on two others")
    depth = dict.fromkeys(set(range(len(children))) - set(parents), 0)
    level = list(depth)
    while level:
        below = [child for parent in level for child in children[parent]]
        depth |= dict.fromkeys(below, depth[level[0]] + 1)
        level = below
        if len(depth) and level and depth[level[0]] > DEEPEST:
            raise ValueError(f"its parts hang more than {DEEPEST} deep on one another; join them first")
    if len(depth) < len(children):
        raise ValueError("its parts hang on one another in a loop")


def _size(part: dict, accessors: list[dict]) -> int:
    """How many corners or vertices a part has, whichever are more."""
    named = [part["attributes"].get("POSITION"), part.get("indices")]
    return max((accessors[index]["count"] for index in named if index is not None), default=0)
