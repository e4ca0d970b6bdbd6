"""Equal-area directions of the whole sphere, and the cells around them.

The pixels of HEALPix in nested order (Górski et al. 2005, Astrophysical Journal 622, 759, section 5 and
appendix): every cell covers the same solid angle, and the four children of cell p are 4p … 4p+3 of the next finer
set, so that a cell mean is a mean of consecutive rows. The polar axis is y, the head's up.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

_RING_OF_FACE = np.array([2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4])
_LONGITUDE_OF_FACE = np.array([1, 3, 5, 7, 0, 2, 4, 6, 1, 3, 5, 7])


@lru_cache(maxsize=8)
def equal_area_directions(resolution: int) -> np.ndarray:
    """Unit vectors (12·resolution², 3) at the centres of equal-area cells; `resolution` is a power of two."""
    if resolution < 1 or resolution & (resolution - 1):
        raise ValueError(f"The resolution of a direction set is a power of two, not {resolution}.")
    pixel = np.arange(12 * resolution**2)
    face, within = np.divmod(pixel, resolution**2)
    x, y = _even_bits(within), _even_bits(within >> 1)
    ring = _RING_OF_FACE[face] * resolution - x - y - 1
    height, in_ring, shift = _ring_geometry(ring, resolution)
    place = (_LONGITUDE_OF_FACE[face] * in_ring + x - y + 1 + shift) / 2.0
    longitude = (place - (shift + 1) * 0.5) * (np.pi / 2) / in_ring
    radius = np.sqrt(1 - height**2)
    directions = np.stack([radius * np.sin(longitude), height, radius * np.cos(longitude)], axis=1)
    directions.setflags(write=False)
    return directions


def cell_means(values: np.ndarray, cells: int) -> np.ndarray:
    """Means over cells, (cells, …), of `values (n·cells, …)` given at a finer nested set of directions."""
    return values.reshape(cells, -1, *values.shape[1:]).mean(axis=1)


def cell_of(directions: np.ndarray, resolution: int) -> np.ndarray:
    """Index (N,) int32 of the nested cell that each of `directions (N,3)` lies in (nearest centre)."""
    from scipy.spatial import cKDTree

    return _tree(resolution, cKDTree).query(directions)[1].astype(np.int32)


@lru_cache(maxsize=4)
def _tree(resolution: int, kind):
    return kind(equal_area_directions(resolution))


def _even_bits(value: np.ndarray) -> np.ndarray:
    result = np.zeros_like(value)
    for bit in range(16):
        result |= ((value >> (2 * bit)) & 1) << bit
    return result


def _ring_geometry(ring: np.ndarray, resolution: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Height above the equator, quarter-ring count and half-step shift of each ring."""
    north, south = ring < resolution, ring > 3 * resolution
    in_ring = np.where(north, ring, np.where(south, 4 * resolution - ring, resolution))
    cap = in_ring**2 / (3.0 * resolution**2)
    belt = (2 * resolution - ring) * 2.0 / (3.0 * resolution)
    height = np.where(north, 1 - cap, np.where(south, cap - 1, belt))
    shift = np.where(north | south, 0, (ring - resolution) & 1)
    return height, in_ring, shift
