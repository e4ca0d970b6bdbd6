"""Other skin in the sheen: what the surface of each vertex mirrors toward the eye of the skin that it sees."""

from __future__ import annotations

import numpy as np

from sitterlight.shading.bounce import Exchange
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.matrix import Rows
from sitterlight.shading.transfer import Transfer

LEAST = 3e-5
"""Shares below this are left to the others of the same vertex."""


def reflected_skin(transfer: Transfer, between: Exchange, share: np.ndarray) -> Rows:
    """(V,V) float32: from radiance of bodies, before the angle they are seen at, to the sheen that mirrors them.

    `share (B,)`: that of each blocked direction in what its vertex mirrors. A body is met straight, or as a mirror
    image in the skin that is met.
    """
    vertices = len(transfer.start) - 1
    straight, aside = share * between.send, share * between.mirror
    blocked = transfer.start, transfer.hit, straight, between.paths.mirrored, aside
    counts = np.zeros(vertices, np.int64)
    over_vertices(_count, vertices, *blocked, counts)
    start = np.concatenate([[0], np.cumsum(counts)])
    met, weight = np.empty(start[-1], np.int32), np.empty(start[-1], np.float32)
    over_vertices(_fill, vertices, *blocked, start, met, weight)
    return Rows(start, met, weight)


@kernel
def _count(first, last, start, hit, straight, mirrored, aside, counts):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            if straight[j] > LEAST:
                counts[v] += 1
            if mirrored[j] >= 0 and aside[j] > LEAST:
                counts[v] += 1


@kernel
def _fill(first, last, start, hit, straight, mirrored, aside, begin, met, weight):
    for v in range(first, last):
        n = begin[v]
        total, kept = np.float32(0), np.float32(0)
        for j in range(start[v], start[v + 1]):
            total += straight[j]
            if straight[j] > LEAST:
                met[n], weight[n] = hit[j], straight[j]
                kept += straight[j]
                n += 1
            if mirrored[j] >= 0:
                total += aside[j]
                if aside[j] > LEAST:
                    met[n], weight[n] = mirrored[j], aside[j]
                    kept += aside[j]
                    n += 1
        for entry in range(begin[v], n):
            weight[entry] *= total / kept
