"""Equal-area directions of the whole sphere, and the cells around them.

The pixels of HEALPix in nested order (Górski et al. 2005, Astrophysical Journal 622, 759, section 5 and
appendix): every cell covers the same solid angle, and the four children of cell p are 4p … 4p+3 of the next finer
set, so that a cell mean is a mean of consecutive rows. The polar axis is y, the head's up.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from sitterlight.shading.compiled import kernel

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


@kernel
def cell_of(x, y, z, resolution):
    """Index of the nested cell that the unit vector (x, y, z) lies in; compiled, for one direction at a time."""
    longitude = np.arctan2(x, z) / (np.pi / 2)
    if longitude < 0:
        longitude += 4.0
    if abs(y) <= 2.0 / 3.0:
        rising = resolution * (0.5 + longitude)
        falling = resolution * 0.75 * y
        up = int(rising - falling)
        down = int(rising + falling)
        face_up, face_down = up // resolution, down // resolution
        if face_up == face_down:
            face = (face_up & 3) + 4
        elif face_up < face_down:
            face = face_up & 3
        else:
            face = (face_down & 3) + 8
        ix = down % resolution
        iy = resolution - 1 - up % resolution
    else:
        quarter = min(int(longitude), 3)
        part = longitude - quarter
        reach = resolution * np.sqrt(3.0 * (1.0 - abs(y)))
        up = min(int(part * reach), resolution - 1)
        down = min(int((1.0 - part) * reach), resolution - 1)
        if y >= 0:
            face, ix, iy = quarter, resolution - 1 - down, resolution - 1 - up
        else:
            face, ix, iy = quarter + 8, up, down
    cell = 0
    for bit in range(10):
        cell |= ((ix >> bit) & 1) << (2 * bit)
        cell |= ((iy >> bit) & 1) << (2 * bit + 1)
    return face * resolution * resolution + cell


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
