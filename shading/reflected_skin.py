"""Other skin in the sheen: what the surface of each vertex mirrors toward the eye of the skin that it sees."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.shading.bounce import Exchange
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.matrix import Rows
from sitterlight.shading.transfer import Transfer

LEAST = 3e-5
"""Shares below this are left to the others of the same vertex."""


@dataclass(frozen=True, eq=False)
class Looked:
    """What the eye sees mirrored of blocked directions, those alone that have a share in it: `entry (n,)` among the
    transfer's blocked directions and the `share (n,)` of each, those of vertex v from `start[v]` to `start[v + 1]`."""

    start: np.ndarray
    entry: np.ndarray
    share: np.ndarray

    @staticmethod
    def of(transfer: Transfer, share: np.ndarray) -> Looked:
        """From the `share (B,)` of all blocked directions."""
        entry = np.flatnonzero(share).astype(np.int32)
        return Looked(np.searchsorted(entry, transfer.start), entry, share[entry])

    def gathered(self, row: np.ndarray, mirror: np.ndarray, values: np.ndarray) -> np.ndarray:
        """Σ over what a vertex mirrors of its share times `mirror (B,)` times `values` (…,K) at `row (B,)`, none where
        that is −1; (V,K) float32."""
        result = np.zeros((len(self.start) - 1, values.shape[1]), np.float32)
        over_vertices(_gather, len(result), self.start, self.entry, self.share, row, mirror, values, result)
        return result


def reflected_skin(transfer: Transfer, between: Exchange, looked: Looked) -> Rows:
    """(V,V) float32: from radiance of bodies, before the angle they are seen at, to the sheen that mirrors them.

    A body is met straight, or as a mirror image in the skin that is met.
    """
    vertices, entry = len(transfer.start) - 1, looked.entry
    straight, aside = looked.share * between.send[entry], looked.share * between.mirror[entry]
    blocked = looked.start, transfer.hit[entry], straight, between.paths.mirrored[entry], aside
    counts = np.zeros(vertices, np.int64)
    over_vertices(_count, vertices, *blocked, counts)
    start = np.concatenate([[0], np.cumsum(counts)])
    met, weight = np.empty(start[-1], np.int32), np.empty(start[-1], np.float32)
    over_vertices(_fill, vertices, *blocked, start, met, weight)
    return Rows(start, met, weight)


@kernel
def _gather(first, last, start, entry, share, row, mirror, values, gathered):
    for v in range(first, last):
        for n in range(start[v], start[v + 1]):
            j = entry[n]
            # Behind the edge of sight shares run on below nothing: what is mirrored twice doesn't.
            if share[n] > 0 and row[j] >= 0:
                for k in range(values.shape[1]):
                    gathered[v, k] += share[n] * mirror[j] * values[row[j], k]


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
