"""The ways to all samples of a patch from one place at once.

A loop over numbers that lie together in memory is done eight at a time by the processor.
"""

from __future__ import annotations

import numpy as np

from sitterlight.shading.bits import WORD
from sitterlight.shading.compiled import kernel, unsigned
from sitterlight.shading.surface_kernels import DISTANT, NEAR_FACING

_HALF = 32
"""Bits that are taken at a time: as many bits as a float32 has."""
_ONE, _NONE = np.float32(1), np.float32(0)


@kernel
def as_numbers(words, numbers):
    """The bits of `words (W,)` as `numbers (S,)`, 1 or 0."""
    for first in range(0, len(numbers), _HALF):
        half = np.uint32(words[first // WORD] >> unsigned(first % WORD) & unsigned(2**_HALF - 1))
        for n in range(min(_HALF, len(numbers) - first)):
            numbers[first + n] = np.float32(np.int32(half >> np.uint32(n) & np.uint32(1)))


@kernel
def ways_from_afar(kind, points, ways):
    """The same as `ways_to_samples` from all places at once, where all of them see the samples alike."""
    if kind == DISTANT:
        for s in range(points.shape[1]):
            ways[0, s], ways[1, s], ways[2, s], ways[3, s] = points[0, s], points[1, s], points[2, s], _ONE


@kernel
def ways_to_samples(kind, points, facing, px, py, pz, ways):
    """Unit vectors from the place (px, py, pz) to all samples, into `ways[:3]` of (4,S), and into `ways[3]` what turns
    the samples' weights into solid angles; `ways_from_afar` stay."""
    if kind == DISTANT:
        return
    for s in range(points.shape[1]):
        x, y, z = points[0, s] - px, points[1, s] - py, points[2, s] - pz
        over = _ONE / np.sqrt(x * x + y * y + z * z)
        x, y, z = x * over, y * over, z * over
        factor = over * over
        if kind == NEAR_FACING:
            factor *= max(-(x * facing[0, s] + y * facing[1, s] + z * facing[2, s]), _NONE)
        ways[0, s], ways[1, s], ways[2, s], ways[3, s] = x, y, z, factor
