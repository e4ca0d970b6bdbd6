"""Other skin in the sheen: what the surface of each vertex mirrors toward the eye of the skin that it sees."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.shading.bounce import Exchange
from sitterlight.shading.compiled import loop, over_vertices
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
        vertices = len(transfer.start) - 1
        counts = np.zeros(vertices, np.int64)
        over_vertices(_count_shared, vertices, transfer.start, share, counts)
        start = _begins(counts)
        entry, kept = np.empty(start[-1], np.int32), np.empty(start[-1], np.float32)
        over_vertices(_keep_shared, vertices, transfer.start, share, start, entry, kept)
        return Looked(start, entry, kept)

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
    vertices = len(transfer.start) - 1
    blocked = looked.start, looked.entry, looked.share, between.send, between.mirror, between.paths.mirrored
    counts = np.zeros(vertices, np.int64)
    over_vertices(_count, vertices, *blocked, counts)
    start = _begins(counts)
    met, weight = np.empty(start[-1], np.int32), np.empty(start[-1], np.float32)
    over_vertices(_fill, vertices, *blocked, transfer.hit, start, met, weight)
    return Rows(start, met, weight)


def _begins(counts: np.ndarray) -> np.ndarray:
    """Where the entries of each begin, and the last end, from how many each has."""
    return np.concatenate([[0], np.cumsum(counts)])


@loop
def _count_shared(first, last, start, share, counts):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            if share[j] != 0:
                counts[v] += 1


@loop
def _keep_shared(first, last, start, share, begin, entry, kept):
    for v in range(first, last):
        n = begin[v]
        for j in range(start[v], start[v + 1]):
            if share[j] != 0:
                entry[n], kept[n] = j, share[j]
                n += 1


@loop
def _gather(first, last, start, entry, share, row, mirror, values, gathered):
    for v in range(first, last):
        for n in range(start[v], start[v + 1]):
            j = entry[n]
            # Behind the edge of sight shares run on below nothing: what is mirrored twice doesn't.
            if share[n] > 0 and row[j] >= 0:
                for k in range(values.shape[1]):
                    gathered[v, k] += share[n] * mirror[j] * values[row[j], k]


@loop
def _count(first, last, start, entry, share, send, mirror, mirrored, counts):
    for v in range(first, last):
        for n in range(start[v], start[v + 1]):
            j = entry[n]
            if share[n] * send[j] > LEAST:
                counts[v] += 1
            if mirrored[j] >= 0 and share[n] * mirror[j] > LEAST:
                counts[v] += 1


@loop
def _fill(first, last, start, entry, share, send, mirror, mirrored, hit, begin, met, weight):
    for v in range(first, last):
        own = begin[v]
        total, kept = np.float32(0), np.float32(0)
        for n in range(start[v], start[v + 1]):
            j = entry[n]
            straight, aside = share[n] * send[j], share[n] * mirror[j]
            total += straight
            if straight > LEAST:
                met[own], weight[own] = hit[j], straight
                kept += straight
                own += 1
            if mirrored[j] >= 0:
                total += aside
                if aside > LEAST:
                    met[own], weight[own] = mirrored[j], aside
                    kept += aside
                    own += 1
        for each in range(begin[v], own):
            weight[each] *= total / kept
