"""Which cell of a nested direction set a direction lies in, by a look-up instead of trigonometry.

The sphere is unfolded onto a square as an octahedron (Cigolle and others 2014, Journal of Computer Graphics Techniques
3(2)), and every place of a fine grid over that square knows the cell at its middle. Directions within half a step of
the grid (0.3°) of a cell's edge may be given to its neighbour.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from sitterlight.shading.compiled import kernel
from sitterlight.shading.directions import cell_of

_SIDE = 256


@lru_cache(maxsize=4)
def cell_map(resolution: int) -> np.ndarray:
    """The cells (256,256) int32 of the direction set of a resolution, by place on the unfolded sphere."""
    result = np.empty((_SIDE, _SIDE), np.int32)
    _fill(np.int64(resolution), result)
    result.setflags(write=False)
    return result


@kernel
def cell_toward(cells, x, y, z):
    """The cell of the unit vector (x, y, z), from a `cell_map`."""
    place = place_toward(len(cells), x, y, z)
    return cells[place // len(cells), place % len(cells)]


@kernel
def place_toward(side, x, y, z):
    """Where the unit vector (x, y, z) lies in a `cell_map` of that side, as one number, row by row."""
    one, half = np.float32(1), np.float32(0.5)
    size = one / (abs(x) + abs(y) + abs(z))
    u, v = x * size, z * size
    below = y < 0
    across, along = one - abs(v), one - abs(u)
    across, along = across if u >= 0 else -across, along if v >= 0 else -along
    u, v = across if below else u, along if below else v
    steps, last = np.float32(side), np.int32(side - 1)
    row = min(np.int32((u * half + half) * steps), last)
    column = min(np.int32((v * half + half) * steps), last)
    return np.int32(row * np.int32(side) + column)


@kernel
def _fill(resolution, result):
    side = len(result)
    for row in range(side):
        for column in range(side):
            u, v = 2 * (row + 0.5) / side - 1, 2 * (column + 0.5) / side - 1
            x, z = u, v
            y = 1 - abs(u) - abs(v)
            if y < 0:
                x = (1 - abs(v)) * (1.0 if u >= 0 else -1.0)
                z = (1 - abs(u)) * (1.0 if v >= 0 else -1.0)
            length = np.sqrt(x * x + y * y + z * z)
            result[row, column] = cell_of(x / length, y / length, z / length, resolution)
