"""The boxes of a search tree for rays: the triangles of a mesh parted in two, and again, where that costs rays least.

Where to part is decided by surface: a ray meets a box about as often as the box has surface (J. D. MacDonald and
K. S. Booth, "Heuristics for ray tracing using space subdivision", The Visual Computer 6, 1990), tried at a few places
along each axis (I. Wald, "On fast Construction of SAH-based Bounding Volume Hierarchies", IEEE Symposium on Interactive
Ray Tracing, 2007).
"""

from __future__ import annotations

import numpy as np

from sitterlight.shading.compiled import kernel

HEADER = 8
DEEPEST = 96
"""How many boxes may wait while others are searched."""
_BY_HALVES = 40
"""From this depth on triangles are parted by number, so that a tree ends before it is as deep as that."""
_PLACES = 16
_FEW = 8
"""No box holds more triangles than this."""
_WIDER = 1e-5
"""How much wider boxes are than what is in them, of the largest coordinate: a ray that the test of a triangle lets
through, for rounding, its box must not stop."""
_TRIANGLE = 1.5
"""What a triangle costs a packet of rays, against two boxes."""


def boxes(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """The search tree of `faces (F,3)` over `vertices (V,3)`: one array of float32 words, some of them whole numbers.

    A header of 8: how many words there are and where triangles begin. Boxes of 8: least and largest x, y, z; the word
    where the first of two boxes within begins and −1 − the axis that parts these; or the first triangle in it and how
    many. Triangles of 10: three corners and the face's number.
    """
    corners = np.ascontiguousarray(np.asarray(vertices, np.float32)[np.asarray(faces)].reshape(-1, 9))
    count = len(corners)
    made = np.zeros((max(2 * count - 1, 1), 8), np.float32)
    order = np.arange(count)
    used = _part(corners, np.float32(_WIDER * np.abs(corners).max(initial=0)), order, made, made.view(np.int32))
    header = np.zeros(HEADER, np.int32)
    triangles = np.empty((count, 10), np.float32)
    triangles[:, :9] = corners[order]
    triangles.view(np.int32)[:, 9] = order
    header[1] = HEADER + 8 * used
    header[0] = header[1] + triangles.size
    return np.concatenate([header.view(np.float32), made[:used].ravel(), triangles.ravel()])


@kernel
def _part(corners, wider, order, made, marks):
    """Fill the boxes `made` and put the triangles in `order`; how many boxes there are."""
    bounds = np.empty((len(corners), 6), np.float32)
    for f in range(len(corners)):
        for axis in range(3):
            a, b, c = corners[f, axis], corners[f, 3 + axis], corners[f, 6 + axis]
            bounds[f, axis], bounds[f, 3 + axis] = min(a, b, c) - wider, max(a, b, c) + wider
    waiting = np.zeros((DEEPEST, 4), np.int64)  # box, first and last triangle, depth
    waiting[0, 2] = len(order)
    left, used = 1, 1
    while left > 0:
        left -= 1
        box, first, last, depth = waiting[left]
        _surround(bounds, order, first, last, made[box])
        axis, place = _best_place(bounds, order, first, last, made[box], depth)
        if axis < 0:
            marks[box, 6], marks[box, 7] = first, last - first
            continue
        middle = _sort(bounds, order, first, last, axis, place) if depth < _BY_HALVES else (first + last) // 2
        if middle in (first, last):
            middle = (first + last) // 2
        marks[box, 6], marks[box, 7] = HEADER + 8 * used, -1 - axis
        for half in range(2):
            waiting[left, 0], waiting[left, 3] = used + half, depth + 1
            waiting[left, 1], waiting[left, 2] = (middle, last) if half else (first, middle)
            left += 1
        used += 2
    return used


@kernel
def _surround(bounds, order, first, last, box):
    for axis in range(3):
        box[axis], box[3 + axis] = 3e38, -3e38
    for index in range(first, last):
        f = order[index]
        for axis in range(3):
            box[axis] = min(box[axis], bounds[f, axis])
            box[3 + axis] = max(box[3 + axis], bounds[f, 3 + axis])


@kernel
def _best_place(bounds, order, first, last, box, depth):
    """The axis and the place on it, twice its coordinate, that part triangles at the least cost; −1 where parting costs
    more than it saves."""
    count = last - first
    if count <= 1:
        return -1, np.float32(0)
    best, best_axis, best_place = _TRIANGLE * count * _surface(box) + 0.0, -1, np.float32(0)
    if count > _FEW:
        best = 3e38
    numbers = np.empty(_PLACES, np.int64)
    parts, right = np.empty((_PLACES, 6), np.float32), np.empty((_PLACES, 6), np.float32)
    widest, most = 0, np.float32(-1)
    for axis in range(3):
        low, high = np.float32(3e38), np.float32(-3e38)
        for index in range(first, last):
            middle = bounds[order[index], axis] + bounds[order[index], 3 + axis]
            low, high = min(low, middle), max(high, middle)
        if high - low > most:
            widest, most = axis, high - low
        if high <= low:
            continue
        scale = _PLACES / (high - low)
        _fill(bounds, order, first, last, axis, low, scale, numbers, parts)
        right[:] = parts
        for place in range(_PLACES - 2, -1, -1):
            _join(right[place], right[place + 1])
        before = 0
        for place in range(1, _PLACES):
            if place > 1:
                _join(parts[place - 1], parts[place - 2])
            before += numbers[place - 1]
            if before == 0 or before == count:
                continue
            cost = _surface(box) + _TRIANGLE * (
                before * _surface(parts[place - 1]) + (count - before) * _surface(right[place])
            )
            if cost < best:
                best, best_axis, best_place = cost, axis, low + np.float32(place / scale)
    if best_axis < 0 and count > _FEW:
        best_axis = widest
    return best_axis, best_place


@kernel
def _fill(bounds, order, first, last, axis, low, scale, numbers, parts):
    """How many triangles lie between neighbouring places, and the boxes around these."""
    for place in range(_PLACES):
        numbers[place] = 0
        for side in range(3):
            parts[place, side], parts[place, 3 + side] = 3e38, -3e38
    for index in range(first, last):
        f = order[index]
        place = min(int((bounds[f, axis] + bounds[f, 3 + axis] - low) * scale), _PLACES - 1)
        numbers[place] += 1
        _join(parts[place], bounds[f])


@kernel
def _join(box, other):
    for axis in range(3):
        box[axis] = min(box[axis], other[axis])
        box[3 + axis] = max(box[3 + axis], other[3 + axis])


@kernel
def _surface(box):
    """Half the surface of a box."""
    x, y, z = box[3] - box[0], box[4] - box[1], box[5] - box[2]
    return x * y + y * z + z * x


@kernel
def _sort(bounds, order, first, last, axis, place):
    """Put the triangles before a place in front; where the others begin."""
    while first < last:
        f = order[first]
        if bounds[f, axis] + bounds[f, 3 + axis] < place:
            first += 1
        else:
            last -= 1
            order[first], order[last] = order[last], f
    return first
