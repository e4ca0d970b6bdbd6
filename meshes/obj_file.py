"""Reading the faces of a Wavefront OBJ file piece by piece, so that a file of millions of faces stays small in memory.

Only `v` and `f` lines count. Texture places, normals, groups, materials and lines are passed over;
nothing beside the file is opened.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.polygons import cut_polygons

PIECE = 16_000_000  # bytes read at once
LONGEST_LINE = 1_000_000  # bytes
MOST_FACES = 12_000_000
_VERTEX = re.compile(rb"^[ \t]*v[ \t]+([^\r\n#]+)", re.MULTILINE)
_FACE = re.compile(rb"^[ \t]*f[ \t]+([^\r\n#]+)", re.MULTILINE)
_DRESS = re.compile(rb"^[ \t]*(?:mtllib|usemtl|vt)[ \t]", re.MULTILINE)
_BEHIND_SLASH = re.compile(rb"/\S*")


@dataclass
class _Found:
    """What has been read so far. `polygons`: (corners, counts) of each piece."""

    vertices: list[NDArray] = field(default_factory=list)
    polygons: list[tuple[NDArray, NDArray]] = field(default_factory=list)
    vertex_count: int = 0
    face_count: int = 0
    dressed: bool = False
    coloured: bool = False


def read_obj(file: BinaryIO) -> tuple[NDArray[np.float64], NDArray[np.int32], bool, bool]:
    """Vertices (V, 3), triangles (F, 3), whether materials or texture places and whether vertex colours were met.

    Polygons are cut into triangles. ValueError, a few words, for what is not whole.
    """
    found = _Found()
    for piece in _pieces(file):
        _take(piece, found)
        if found.face_count > MOST_FACES:
            raise ValueError(f"more than {MOST_FACES / 1e6:.0f} million faces")
    if not found.vertices or not found.polygons:
        raise ValueError("no vertices or no faces in it")
    vertices = np.concatenate(found.vertices)
    for corners, _ in found.polygons:
        if corners.min() < 0 or corners.max() >= len(vertices):
            raise ValueError("a face names a vertex that the file does not have")
    faces = np.concatenate([cut_polygons(vertices, corners, counts) for corners, counts in found.polygons])
    return vertices, faces, found.dressed, found.coloured


def _pieces(file: BinaryIO) -> Iterator[bytes]:
    """The file in pieces of whole lines; a line that ends in a backslash goes on in the next."""
    rest = b""
    while block := file.read(PIECE):
        rest += block
        end = rest.rfind(b"\n")
        while end > 0 and rest[max(0, end - 2) : end].rstrip(b"\r").endswith(b"\\"):
            end = rest.rfind(b"\n", 0, end)
        if end < 0:
            if len(rest) > LONGEST_LINE:
                raise ValueError(f"a line of more than {LONGEST_LINE} characters")
            continue
        yield _joined(rest[: end + 1])
        rest = rest[end + 1 :]
    if rest:
        yield _joined(rest)


def _joined(piece: bytes) -> bytes:
    return re.sub(rb"\\\r?\n", b" ", piece) if b"\\" in piece else piece


def _take(piece: bytes, found: _Found) -> None:
    if not found.dressed:
        found.dressed = _DRESS.search(piece) is not None
    before = found.vertex_count
    lines = _VERTEX.findall(piece)
    if lines:
        vertices, coloured = _vertices(lines)
        found.vertices.append(vertices)
        found.vertex_count += len(vertices)
        found.coloured |= coloured
    lines = _FACE.findall(piece)
    if lines:
        corners, counts = _corners(lines)
        if len(counts) == 0:
            return
        if np.any(corners == 0):
            raise ValueError("a face names vertex 0; they are counted from 1")
        if np.any(corners < 0):
            corners = _counted_back(piece, corners, counts, before)
        found.polygons.append((corners - (corners > 0), counts))
        found.face_count += int(np.sum(counts - 2))


def _vertices(lines: list[bytes]) -> tuple[NDArray[np.float64], bool]:
    width = len(lines[0].split())
    numbers = numbers_in(b" ".join(lines), float)
    if width < 3 or len(numbers) != width * len(lines) or not _alike(lines, width):
        rows = [line.split() for line in lines]
        if min(map(len, rows)) < 3:
            raise ValueError("a vertex has fewer than three coordinates")
        width = max(map(len, rows))
        numbers = numbers_in(b" ".join(b" ".join(row[:3]) for row in rows), float)
        if len(numbers) != 3 * len(rows):
            raise ValueError("a vertex has a coordinate that is not a number")
        return numbers.reshape(-1, 3), width >= 6
    return np.ascontiguousarray(numbers.reshape(-1, width)[:, :3]), width >= 6


def _alike(lines: list[bytes], width: int) -> bool:
    return bool(np.all(_token_counts(b"\n".join(lines)) == width))


def _corners(lines: list[bytes]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(corners,) as numbered in the file, from 1 or counted back, and (faces,) corners of each face."""
    text = _BEHIND_SLASH.sub(b"", b"\n".join(lines))
    counts = _token_counts(text)
    corners = numbers_in(text, np.int64)
    if len(corners) != counts.sum():
        raise ValueError("a face names something that is not the number of a vertex")
    if counts.min() < 3:
        keep = np.repeat(counts >= 3, counts)
        corners, counts = corners[keep], counts[counts >= 3]
    return corners, counts


def _token_counts(text: bytes) -> NDArray[np.int64]:
    """(lines,) how many words each line of the text has."""
    letters = np.frombuffer(text, dtype=np.uint8)
    blank = letters <= 32
    begins = ~blank
    begins[1:] &= blank[:-1]
    line = np.cumsum(letters == 10)
    return np.bincount(line[begins], minlength=text.count(b"\n") + 1)


def numbers_in(text: bytes, kind: type) -> NDArray:
    """The numbers in a text up to the first word that is none; ValueError where that is found out otherwise."""
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # for text that ends in no number: counted by the caller
        try:
            return np.fromstring(text, dtype=kind, sep=" ")
        except ValueError:
            raise ValueError("something that is not a number where one was expected") from None


def _counted_back(piece: bytes, corners: NDArray, counts: NDArray, before: int) -> NDArray[np.int64]:
    """Corners counted back from the last vertex before their line, as numbers from 1."""
    vertex_at = np.array([match.start() for match in _VERTEX.finditer(piece)], dtype=np.int64)
    face_at = [
        match.start() for match in _FACE.finditer(piece) if len(_BEHIND_SLASH.sub(b"", match.group(1)).split()) >= 3
    ]
    known = before + np.searchsorted(vertex_at, np.array(face_at, dtype=np.int64))
    last = np.repeat(known, counts)
    result = np.where(corners < 0, last + 1 + corners, corners)
    if result.min() < 1:
        raise ValueError("a face names a vertex that the file does not have")
    return result
