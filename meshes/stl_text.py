"""STL as text, of one solid or many: every three vertices are a face, whatever the lines between them say."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

PIECE = 4_000_000  # bytes read at once
LONGEST_LINE = 1_000_000  # bytes
_VERTEX = re.compile(rb"^[ \t]*vertex[ \t]+([^\r\n]+)", re.MULTILINE | re.IGNORECASE)
_FACET = re.compile(rb"^[ \t]*facet\b", re.MULTILINE | re.IGNORECASE)
_END = re.compile(rb"\bendsolid\b[^\r\n]*\s*\Z", re.IGNORECASE)


def is_stl_text(start: bytes) -> bool:
    """Whether a file that begins so is STL as text; some programs begin binary files with "solid" too."""
    return start.lstrip()[:5].lower() == b"solid" and b"facet" in start.lower() and b"\0" not in start


def read_stl_text(path: Path) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Vertices (V, 3) and triangles (F, 3), no vertex shared. ValueError, a few words, for what is not whole."""
    places: list[NDArray[np.float64]] = [np.zeros((0, 3))]
    facets, end = 0, b""
    with path.open("rb") as file:
        for piece in _pieces(file):
            places.append(_places(piece))
            facets += len(_FACET.findall(piece))
            end = (end + piece)[-1000:]
    if not _END.search(end):
        raise ValueError("it has no endsolid at its end; the file is cut off")
    vertices = np.concatenate(places)
    if len(vertices) != 3 * facets:
        raise ValueError("a face of it has not three corners")
    return vertices, np.arange(len(vertices), dtype=np.int32).reshape(-1, 3)


def _pieces(file: BinaryIO) -> Iterator[bytes]:
    """The file in pieces of whole lines, so that one of millions of faces stays small in memory."""
    rest = b""
    while block := file.read(PIECE):
        end = block.rfind(b"\n") + 1
        if not end and len(rest) > LONGEST_LINE:
            raise ValueError(f"a line of more than {LONGEST_LINE} characters")
        if end:
            yield rest + block[:end]
            rest = b""
        rest += block[end:]
    if rest:
        yield rest


def _places(piece: bytes) -> NDArray[np.float64]:
    """(V, 3) what the lines of vertices say."""
    rows = _VERTEX.findall(piece)
    numbers = b" ".join(rows).split()
    if len(numbers) != 3 * len(rows):
        raise ValueError("a vertex of it has not three coordinates")
    try:
        return np.array(numbers, dtype=np.float64).reshape(-1, 3)
    except ValueError:
        raise ValueError("a coordinate of it is not a number") from None
