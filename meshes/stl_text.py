"""STL as text, of one solid or many: every three vertices are a face, whatever the lines between them say."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

_VERTEX = re.compile(rb"^[ \t]*vertex[ \t]+([^\r\n]+)", re.MULTILINE | re.IGNORECASE)
_FACET = re.compile(rb"^[ \t]*facet\b", re.MULTILINE | re.IGNORECASE)
_END = re.compile(rb"\bendsolid\b[^\r\n]*\s*\Z", re.IGNORECASE)


def is_stl_text(start: bytes) -> bool:
    """Whether a file that begins so is STL as text; some programs begin binary files with "solid" too."""
    return start.lstrip()[:5].lower() == b"solid" and b"facet" in start.lower() and b"\0" not in start


def read_stl_text(path: Path) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Vertices (V, 3) and triangles (F, 3), no vertex shared. ValueError, a few words, for what is not whole."""
    content = path.read_bytes()
    if not _END.search(content[-1000:]):
        raise ValueError("it has no endsolid at its end; the file is cut off")
    rows = _VERTEX.findall(content)
    if len(rows) % 3 or len(rows) != 3 * len(_FACET.findall(content)):
        raise ValueError("a face of it has not three corners")
    numbers = b" ".join(rows).split()
    if len(numbers) != 3 * len(rows):
        raise ValueError("a vertex of it has not three coordinates")
    try:
        vertices = np.array(numbers, dtype=np.float64).reshape(-1, 3)
    except ValueError:
        raise ValueError("a coordinate of it is not a number") from None
    return vertices, np.arange(len(vertices), dtype=np.int32).reshape(-1, 3)
