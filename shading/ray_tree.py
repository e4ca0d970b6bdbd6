"""A search tree of our own for rays, for machines where Embree has no wheel: asked in the same packets.

A tree of boxes over the triangles of a mesh, made in `ray_boxes`. All rays of a packet go down it together, so that the
processor tests one box or triangle against as many of them as it can at once. A ray meets a triangle by the test of
S. Woop, C. Benthin and I. Wald, "Watertight Ray/Triangle Intersection", Journal of Computer Graphics Techniques 2(1),
2013: corners are laid into a plane across the ray, each in one way whatever triangle it belongs to, and the signs of
three areas there decide; so nothing slips between two triangles that share an edge.
"""

from __future__ import annotations

from functools import lru_cache

import numba
import numpy as np
from numba import types

from sitterlight.shading.embree import (
    BEGIN,
    DIRECTION,
    FACE,
    FAR,
    FOR_HITS,
    FOR_SHADOWS,
    RAY,
    ROWS,
    U,
    V,
    words_of,
)
from sitterlight.shading.ray_boxes import DEEPEST, HEADER, boxes

_FORM = types.void(*[types.CPointer(types.float32)] * 4)
_MARGIN = np.float32(1.0000005)
"""What a box is left later than calculated, for rounding: T. Ize, "Robust BVH Ray Traversal", JCGT 2(2), 2013."""
_LEAST = np.float32(1e-18)
"""The least part of a direction that is divided by."""

# Rows of numbers, one for each ray of a packet: where it begins, one over its direction, two directions across it, the
# one along which distance is counted, how far it goes; of the triangle at hand the distance and two weights; of the
# nearest one the weights, and which it is.
_BEGIN, _OVER, _ACROSS, _UP, _ALONG, _FAR, _AT, _U, _V, _NEAR_U, _NEAR_V, _FACE = 0, 3, 6, 9, 12, *range(15, 22)
_ROWS = 22


class Tree:
    """The search tree of one triangle mesh, `vertices (V,3)` and `faces (F,3)`. `scene` is its address, for the kernels
    of `embree`."""

    def __init__(self, vertices: np.ndarray, faces: np.ndarray):
        self._boxes = boxes(vertices, faces)
        self._words = words_of(*_answers(), self._boxes.ctypes.data)
        self.scene = self._words.ctypes.data


@lru_cache(maxsize=1)
def _answers() -> tuple:
    """The two functions of C that answer a packet: what each ray meets first, and whether it meets anything."""
    return _of_C(_meet_first).ctypes, _of_C(_meet_any).ctypes


def _of_C(function):
    # The widths of packets are built in, and what was compiled for others would be taken for it.
    function.__qualname__ = f"{function.__name__}_{FOR_HITS}_{FOR_SHADOWS}"
    try:
        return numba.cfunc(_FORM, error_model="numpy", cache=True)(function)
    except (RuntimeError, OSError):  # nowhere to keep what was compiled
        return numba.cfunc(_FORM, error_model="numpy")(function)


def _meet_first(valid, tree, rays, unused):
    _meet(valid, tree, rays, FOR_HITS, True)


def _meet_any(valid, tree, rays, unused):
    _meet(valid, tree, rays, FOR_SHADOWS, False)


_exactly = numba.njit(nogil=True, error_model="numpy", forceinline=True)
"""Compiled as it stands: a sum in another order would give an edge another sign from its other side. And built into the
function that names the width of its packets, so that loops over them are of a known length: a quarter of the time."""


@_exactly
def _meet(valid, tree, rays, lanes, nearest):
    """Take a packet through the tree and write what it met where Embree would."""
    header = numba.carray(tree, HEADER).view(np.int32)
    tree = numba.carray(tree, header[0])
    packet = numba.carray(rays, (ROWS - RAY, lanes))
    rows = np.empty((_ROWS, lanes), np.float32)
    _prepare(numba.carray(valid, lanes).view(np.int32), packet, rows)
    _descend(tree, header[1], rows, nearest)
    packet[FAR - RAY] = rows[_FAR]
    if nearest:
        packet[U - RAY], packet[V - RAY] = rows[_NEAR_U], rows[_NEAR_V]
        packet.view(np.int32)[FACE - RAY] = rows.view(np.int32)[_FACE]


@_exactly
def _prepare(valid, packet, rows):
    """What is needed of each ray. One that doesn't count ends before it begins."""
    marks = rows.view(np.int32)
    for lane in range(rows.shape[1]):
        most, main = np.float32(0), 0
        for axis in range(3):
            rows[_BEGIN + axis, lane] = packet[BEGIN - RAY + axis, lane]
            part = packet[DIRECTION - RAY + axis, lane]
            if abs(part) > most:
                most, main = abs(part), axis
            if abs(part) < _LEAST:
                part = _LEAST
            rows[_OVER + axis, lane] = np.float32(1) / part
            for row in (_ACROSS, _UP, _ALONG):
                rows[row + axis, lane] = 0
        across, up = (main + 1) % 3, (main + 2) % 3
        over = rows[_OVER + main, lane]
        rows[_ACROSS + across, lane] = 1
        rows[_ACROSS + main, lane] = -packet[DIRECTION - RAY + across, lane] * over
        rows[_UP + up, lane] = 1
        rows[_UP + main, lane] = -packet[DIRECTION - RAY + up, lane] * over
        rows[_ALONG + main, lane] = over
        rows[_FAR, lane] = packet[FAR - RAY, lane] if valid[lane] != 0 else -np.inf
        rows[_NEAR_U, lane] = 0
        rows[_NEAR_V, lane] = 0
        marks[_FACE, lane] = -1


@_exactly
def _descend(tree, triangles, rows, nearest):
    """From box to box, of two the one first that lies toward where the rays come from."""
    marks, found = tree.view(np.int32), rows.view(np.int32)
    waiting = np.empty(DEEPEST, np.int32)
    waiting[0] = HEADER
    left = 1
    while left > 0:
        left -= 1
        box = waiting[left]
        if not _enters(rows, tree[box], tree[box + 1], tree[box + 2], tree[box + 3], tree[box + 4], tree[box + 5]):
            continue
        first, kind = marks[box + 6], marks[box + 7]
        if kind < 0:
            axis = -1 - kind
            forward = rows[_OVER + axis, 0] > 0
            waiting[left] = first + 8 if forward else first
            waiting[left + 1] = first if forward else first + 8
            left += 2
            continue
        for index in range(first, first + kind):
            corner = triangles + 10 * index
            if _crosses(rows, tree[corner : corner + 9]):
                _keep(rows, found, marks[corner + 9], nearest)


@_exactly
def _enters(rows, low_x, low_y, low_z, high_x, high_y, high_z):
    """Whether any ray enters a box before it ends."""
    some = False
    for lane in range(rows.shape[1]):
        x, y, z = rows[_BEGIN, lane], rows[_BEGIN + 1, lane], rows[_BEGIN + 2, lane]
        over_x, over_y, over_z = rows[_OVER, lane], rows[_OVER + 1, lane], rows[_OVER + 2, lane]
        ax, bx = (low_x - x) * over_x, (high_x - x) * over_x
        ay, by = (low_y - y) * over_y, (high_y - y) * over_y
        az, bz = (low_z - z) * over_z, (high_z - z) * over_z
        enter = _larger(_larger(_smaller(ax, bx), _smaller(ay, by)), _larger(_smaller(az, bz), np.float32(0)))
        leave = _smaller(_smaller(_larger(ax, bx), _larger(ay, by)), _larger(az, bz)) * _MARGIN
        some |= enter <= _smaller(leave, rows[_FAR, lane])
    return some


@_exactly
def _crosses(rows, corners):
    """Whether any ray meets a triangle before it ends; how far along each, infinite where it doesn't, and the weights
    of the second and third corner."""
    some = False
    for lane in range(rows.shape[1]):
        ax, ay, az = _laid(rows, lane, corners[0], corners[1], corners[2])
        bx, by, bz = _laid(rows, lane, corners[3], corners[4], corners[5])
        cx, cy, cz = _laid(rows, lane, corners[6], corners[7], corners[8])
        a = cx * by - cy * bx
        b = ax * cy - ay * cx
        c = bx * ay - by * ax
        whole = a + b + c
        one = np.float32(1) / whole
        at = (a * az + b * bz + c * cz) * one
        inside = (_smaller(_smaller(a, b), c) >= 0) | (_larger(_larger(a, b), c) <= 0)
        inside &= (whole != 0) & (at > 0) & (at < rows[_FAR, lane])
        rows[_AT, lane] = at if inside else np.float32(np.inf)
        rows[_U, lane] = b * one
        rows[_V, lane] = c * one
        some |= inside
    return some


@_exactly
def _laid(rows, lane, x, y, z):
    """A corner as a ray sees it: its place across the ray, and how far along."""
    x -= rows[_BEGIN, lane]
    y -= rows[_BEGIN + 1, lane]
    z -= rows[_BEGIN + 2, lane]
    across = x * rows[_ACROSS, lane] + y * rows[_ACROSS + 1, lane] + z * rows[_ACROSS + 2, lane]
    up = x * rows[_UP, lane] + y * rows[_UP + 1, lane] + z * rows[_UP + 2, lane]
    along = x * rows[_ALONG, lane] + y * rows[_ALONG + 1, lane] + z * rows[_ALONG + 2, lane]
    return across, up, along


@_exactly
def _keep(rows, found, face, nearest):
    """Let the rays that meet the triangle at hand end there; where any will do, end altogether."""
    for lane in range(rows.shape[1]):
        if rows[_AT, lane] < rows[_FAR, lane]:
            rows[_FAR, lane] = rows[_AT, lane] if nearest else -np.inf
            rows[_NEAR_U, lane] = rows[_U, lane]
            rows[_NEAR_V, lane] = rows[_V, lane]
            found[_FACE, lane] = face


@_exactly
def _smaller(a, b):
    return a if a < b else b


@_exactly
def _larger(a, b):
    return a if a > b else b
