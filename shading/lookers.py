"""Who looks at each vertex of a head: what skin mirrors is dealt to those who see it.

To gather, each would ask all that it looks at, most of which lies in shadow and anywhere in memory. To deal begins with
what there is to deal, and ends in a few sums that are near.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.shading.compiled import kernel, loop, over_vertices
from sitterlight.shading.large_pages import in_large_pages
from sitterlight.shading.matrix import narrowest
from sitterlight.shading.paths import Paths

PARTS = 8
"""Parts of a head that deal into sums of their own: always the same, whoever takes them, for the same last digits."""


@dataclass(frozen=True, eq=False)
class Lookers:
    """Blocked directions by the vertex that is met there: those in which u is looked at from `start[u]` to
    `start[u + 1]`. Of each, `looker (n,)`: who looks, in as few bits as tell vertices apart; `way (n,)` uint16: along
    which of u's ways back, counted from its first; `share (n,)` float32: how much of what is there gets to the looker.
    They go by their ways.
    """

    start: np.ndarray
    looker: np.ndarray
    way: np.ndarray
    share: np.ndarray

    @staticmethod
    def of(ways: Paths, start: np.ndarray, share: np.ndarray) -> Lookers:
        """By the `share (B,)` of all directions in which vertex v looks, from `start[v]` to `start[v + 1]`."""
        free = np.concatenate([[0], np.cumsum(np.bincount(ways.back, minlength=len(ways.sender)))])
        begin = free[ways.start]
        looker, way = np.empty(len(share), narrowest(len(start) - 1)), np.empty(len(share), np.uint16)
        kept = np.empty(len(share), np.float32)
        _sort(ways.sender, ways.start, start, ways.back, share, free, looker, way, kept)
        return in_large_pages(Lookers(begin, looker, way, kept))


def new_sums(vertices: int, columns: int) -> np.ndarray:
    """Room (PARTS,V,K) float32 for what each part deals."""
    return np.empty((PARTS, vertices, columns), np.float32)


def summed(dealt: np.ndarray, scale: float) -> np.ndarray:
    """`scale` times what all parts together have `dealt (PARTS,V,K)`, (V,K) float32."""
    total = np.empty(dealt.shape[1:], np.float32)
    over_vertices(_add_up, len(total), dealt, np.float32(scale), total)
    return total


@kernel
def part_of(vertices, part, parts):
    """The vertices of one of so many parts: from the first, to before the second."""
    return vertices * part // parts, vertices * (part + 1) // parts


@kernel
def _sort(sender, first_way, start, back, share, free, looker, way, kept):
    """Put each direction where it is `free (P,)` for its way back."""
    for v in range(len(start) - 1):
        for j in range(start[v], start[v + 1]):
            p = back[j]
            looker[free[p]], way[free[p]], kept[free[p]] = v, p - first_way[sender[p]], share[j]
            free[p] += 1


@loop
def _add_up(first, last, dealt, scale, total):
    for v in range(first, last):
        for k in range(total.shape[1]):
            together = np.float32(0)
            for part in range(len(dealt)):
                together += dealt[part, v, k]
            total[v, k] = scale * together
