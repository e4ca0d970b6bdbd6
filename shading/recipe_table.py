"""Every mix of a palette that a painter would measure out, and the colour of each: what recipes are looked up in.

A mix has up to four paints, at most one of them white. The others count up to eight parts together, in drops where
a paint is strong; white counts up to twenty-four parts. A drop is a twentieth of a part.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, lru_cache
from itertools import combinations, product
from math import gcd

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from sitterlight.shading.mixing import ViewingLight, many_mix_Lab
from sitterlight.shading.paints import Paint

Array = NDArray[np.floating]

DROP = 0.05
"""A drop of a strong tinter, in parts."""

COLOUR_UNITS = 8
"""Most parts, or drops, of all that is not white in one mix."""

WHITE_PARTS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24)
"""Parts of white that a mix may have."""


@dataclass(frozen=True, eq=False)
class Mixes:
    """Mixes of a palette: `units` (mixes, paints) are parts, or drops of strong paints; `Lab` (mixes, 3)."""

    units: NDArray[np.uint8] = field(repr=False)
    Lab: Array = field(repr=False)
    tree: cKDTree = field(repr=False)

    def near(self, targets: Array, count: int) -> NDArray[np.intp]:
        """Rows of the `count` mixes nearest to each target in Lab, (targets, count or fewer)."""
        found = self.tree.query(targets, k=min(count, len(self.Lab)))[1]
        return found.reshape(len(targets), -1)


def unit_sizes(palette: tuple[Paint, ...]) -> Array:
    """Volume (paints,) of one unit of each paint: a part, or a drop of a strong one."""
    return np.array([DROP if p.is_strong else 1.0 for p in palette])


@lru_cache(maxsize=24)
def mixes_of(palette: tuple[Paint, ...], light: ViewingLight, count: int, with_base: int | None = None) -> Mixes | None:
    """All mixes of exactly `count` paints; only those with paint number `with_base`, if given. None if none."""
    units = np.concatenate([np.zeros((0, len(palette)), np.uint8), *_sets(palette, count, with_base)])
    if not len(units):
        return None
    Lab = many_mix_Lab(units * unit_sizes(palette).astype(np.float32), palette, light)
    return Mixes(units, Lab, cKDTree(Lab, balanced_tree=False, compact_nodes=False))


def _sets(palette: tuple[Paint, ...], count: int, with_base: int | None) -> list[NDArray[np.uint8]]:
    """The units (mixes, paints) of every choice of `count` paints."""
    found = []
    for chosen in combinations(range(len(palette)), count):
        whites = [i for i in chosen if palette[i].is_white]
        if len(whites) > 1 or (with_base is not None and with_base not in chosen):
            continue
        colours = [i for i in chosen if i not in whites]
        counts = _counts(len(colours), bool(whites))
        units = np.zeros((len(counts), len(palette)), np.uint8)
        units[:, colours + whites] = counts
        found.append(units)
    return found


@cache
def _counts(colours: int, white: bool) -> NDArray[np.uint8]:
    """Whole numbers (mixes, colours + 1 if white) without common divisor, the colours adding up to 8 or less."""
    if not colours:
        return np.ones((1, 1), np.uint8)
    ways = [c for c in product(range(1, COLOUR_UNITS + 1), repeat=colours) if sum(c) <= COLOUR_UNITS]
    if white:
        ways = [(*c, w) for c in ways for w in WHITE_PARTS]
    return np.array([c for c in ways if gcd(*c) == 1], np.uint8)
