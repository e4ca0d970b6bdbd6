"""Other skin in the sheen: what the surface of each vertex mirrors toward the eye of the skin that it sees."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.shading.bounce import Exchange
from sitterlight.shading.compiled import loop, over_vertices
from sitterlight.shading.large_pages import in_large_pages
from sitterlight.shading.matrix import Rows
from sitterlight.shading.paths import Paths
from sitterlight.shading.transfer import Transfer

LEAST = 3e-5
"""Shares below this are left to the others of the same vertex."""


@dataclass(frozen=True, eq=False)
class Looked:
    """What the eye sees mirrored of blocked directions, those alone that have a share in it: the way `back (n,)` and
    the `share (n,)` of each, those of vertex v from `start[v]` to `start[v + 1]`."""

    start: np.ndarray
    back: np.ndarray
    share: np.ndarray

    @staticmethod
    def of(transfer: Transfer, ways: Paths, share: np.ndarray) -> Looked:
        """From the `share (B,)` of all blocked directions."""
        vertices = len(transfer.start) - 1
        counts = np.zeros(vertices, np.int64)
        over_vertices(_count_shared, vertices, transfer.start, share, counts)
        start = _begins(counts)
        back, kept = np.empty(start[-1], np.int32), np.empty(start[-1], np.float32)
        over_vertices(_keep_shared, vertices, transfer.start, ways.back, share, start, back, kept)
        return in_large_pages(Looked(start, back, kept))

    def gathered(self, row: np.ndarray, mirror: np.ndarray, values: np.ndarray) -> np.ndarray:
        """Σ over what a vertex mirrors of its share times `mirror (P,)` times `values` (…,K) at `row (P,)`, none where
        that is −1; (V,K) float32."""
        result = np.zeros((len(self.start) - 1, values.shape[1]), np.float32)
        over_vertices(_gather, len(result), self.start, self.back, self.share, row, mirror, values, result)
        return result


def reflected_skin(between: Exchange, looked: Looked) -> Rows:
    """(V,V) float32: from radiance of bodies, before the angle they are seen at, to the sheen that mirrors them.

    A body is met straight, or as a mirror image in the skin that is met.
    """
    vertices = len(looked.start) - 1
    blocked = looked.start, looked.back, looked.share, between.send, between.mirror, between.paths.mirrored
    counts = np.zeros(vertices, np.int64)
    over_vertices(_count, vertices, *blocked, counts)
    start = _begins(counts)
    met, weight = np.empty(start[-1], np.int32), np.empty(start[-1], np.float32)
    over_vertices(_fill, vertices, *blocked, between.paths.sender, start, met, weight)
    return in_large_pages(Rows(start, met, weight))


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
def _keep_shared(first, last, start, back, share, begin, kept_back, kept):
    for v in range(first, last):
        n = begin[v]
        for j in range(start[v], start[v + 1]):
            if share[j] != 0:
                kept_back[n], kept[n] = back[j], share[j]
                n += 1


@loop
def _gather(first, last, start, back, share, row, mirror, values, gathered):
    for v in range(first, last):
        for n in range(start[v], start[v + 1]):
            p = back[n]
            # Behind the edge of sight shares run on below nothing: what is mirrored twice doesn't.
            if share[n] > 0 and row[p] >= 0:
                for k in range(values.shape[1]):
                    gathered[v, k] += share[n] * mirror[p] * values[row[p], k]


@loop
def _count(first, last, start, back, share, send, mirror, mirrored, counts):
    for v in range(first, last):
        for n in range(start[v], start[v + 1]):
            p = back[n]
            if share[n] * send[p] > LEAST:
                counts[v] += 1
            if mirrored[p] >= 0 and share[n] * mirror[p] > LEAST:
                counts[v] += 1


@loop
def _fill(first, last, start, back, share, send, mirror, mirrored, sender, begin, met, weight):
    for v in range(first, last):
        own = begin[v]
        total, kept = np.float32(0), np.float32(0)
        for n in range(start[v], start[v + 1]):
            p = back[n]
            straight, aside = share[n] * send[p], share[n] * mirror[p]
            total += straight
            if straight > LEAST:
                met[own], weight[own] = sender[p], straight
                kept += straight
                own += 1
            if mirrored[p] >= 0:
                total += aside
                if aside > LEAST:
                    met[own], weight[own] = mirrored[p], aside
                    kept += aside
                    own += 1
        for each in range(begin[v], own):
            weight[each] *= total / kept
