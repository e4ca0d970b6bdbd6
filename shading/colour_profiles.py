"""ICC profiles of the two screens we draw for, made from their primaries: sRGB and Display P3.

Version 4 matrix profiles (ICC.1:2022, sections 7, 8.3, 9.2 and 10.18): primaries adapted to D50 by the linear Bradford
transform, the sRGB transfer curve as a parametric curve of type 3. The same profile has the same bytes each time.
"""

from __future__ import annotations

import struct
from functools import lru_cache

import numpy as np

from sitterlight.shading.colour_spaces import D65_WHITE, white_from_xy

# IEC 61966-2-1; SMPTE EG 432-1 with the white of D65.
PRIMARIES = {
    "sRGB": ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06)),
    "Display P3": ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060)),
}
SPACES = tuple(PRIMARIES)

_PCS_WHITE = np.array([0.9642, 1.0, 0.8249])
# Annex E of the ICC specification.
_BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
_CURVE = (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)


def XYZ_from_linear(space: str) -> np.ndarray:
    """Linear values of one of SPACES to XYZ relative to D65, (3, 3)."""
    primaries = np.stack([white_from_xy(*xy) for xy in PRIMARIES[space]], axis=1)
    return primaries * np.linalg.solve(primaries, D65_WHITE)


@lru_cache(maxsize=2)
def profile(space: str) -> bytes:
    """The content of an ICC profile of one of SPACES. KeyError for another name."""
    cone = _BRADFORD @ _PCS_WHITE / (_BRADFORD @ D65_WHITE)
    adapt = np.linalg.solve(_BRADFORD, cone[:, None] * _BRADFORD)
    columns = adapt @ XYZ_from_linear(space)
    curve = b"para\0\0\0\0" + struct.pack(">HH", 3, 0) + b"".join(_fixed(value) for value in _CURVE)
    tags = {b"desc": _text(space), b"cprt": _text("no rights reserved"), b"wtpt": _triple(_PCS_WHITE)}
    tags |= {name: _triple(columns[:, k]) for k, name in enumerate((b"rXYZ", b"gXYZ", b"bXYZ"))}
    tags |= dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve)
    tags[b"chad"] = b"sf32\0\0\0\0" + b"".join(_fixed(value) for value in adapt.ravel())
    return _assembled(tags)


def _assembled(tags: dict[bytes, bytes]) -> bytes:
    places: dict[bytes, int] = {}
    body, start = b"", 128 + 4 + 12 * len(tags)
    for content in tags.values():
        if content not in places:
            places[content] = start + len(body)
            body += content + b"\0" * (-len(content) % 4)
    table = struct.pack(">I", len(tags))
    for name, content in tags.items():
        table += name + struct.pack(">II", places[content], len(content))
    return _header(start + len(body)) + table + body


def _header(size: int) -> bytes:
    made = struct.pack(">6H", 2026, 1, 1, 0, 0, 0)
    white = b"".join(_fixed(value) for value in _PCS_WHITE)
    start = struct.pack(">I4sI", size, b"\0" * 4, 0x04300000) + b"mntrRGB XYZ " + made + b"acsp"
    return (start + b"\0" * 28 + white).ljust(128, b"\0")


def _fixed(value: float) -> bytes:
    return struct.pack(">i", round(value * 65536))


def _triple(values: np.ndarray) -> bytes:
    return b"XYZ \0\0\0\0" + b"".join(_fixed(value) for value in values)


def _text(words: str) -> bytes:
    content = words.encode("utf-16-be")
    return b"mluc\0\0\0\0" + struct.pack(">II4sII", 1, 12, b"enUS", len(content), 28) + content
