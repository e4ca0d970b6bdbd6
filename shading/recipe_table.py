"""Every mix of a palette that a painter would measure out, and the colour of each: what recipes are looked up in.

A mix has up to four paints, at most one of them white. The others count up to eight together, or up to twelve where
there are few, in parts, or in drops where a paint is strong; white counts up to twenty-four parts. Amounts are held
as whole numbers of drops, twenty to a part.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from itertools import combinations, product
from math import gcd
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sitterlight.shading.memory import Memory
from sitterlight.shading.mixing import ViewingLight, many_mix_Lab
from sitterlight.shading.paints import Paint

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

Array = NDArray[np.floating]

DROPS_IN_PART = 20
"""Drops of a strong tinter that make one part."""

COLOUR_UNITS = 12
"""Most parts and drops, counted together, of all that is not white in one mix."""

COLOUR_UNITS_OF_MANY = 8
"""The same where there are four colours, or three and white: more would take long and come no nearer."""

WHITE_PARTS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24)
"""Parts of white that a mix may have."""


@dataclass(frozen=True, eq=False)
class Mixes:
    """Mixes of a palette: `drops` (mixes, paints) of each paint; `Lab` (mixes, 3)."""

    drops: NDArray[np.uint16] = field(repr=False)
    Lab: Array = field(repr=False)
    tree: cKDTree = field(repr=False)

    def near(self, targets: Array, count: int) -> NDArray[np.intp]:
        """Rows of the `count` mixes nearest to each target in Lab, (targets, count or fewer)."""
        found = self.tree.query(targets, k=min(count, len(self.Lab)))[1]
        return found.reshape(len(targets), -1)


def mixes_of(palette: tuple[Paint, ...], light: ViewingLight, count: int, with_base: int | None = None) -> Mixes | None:
    """All mixes of exactly `count` paints; only those with paint number `with_base`, if given. None if none."""
    key = palette, light, count, with_base
    return REMEMBERED.of(key, lambda: _mixes_of(*key))


REMEMBERED = Memory(24)
"""Tables of mixes by palette, light, number of paints and base."""


def _mixes_of(palette: tuple[Paint, ...], light: ViewingLight, count: int, with_base: int | None) -> Mixes | None:
    drops = np.concatenate([np.zeros((0, len(palette)), np.uint16), *_sets(palette, count, with_base)])
    if not len(drops):
        return None
    from scipy.spatial import cKDTree  # here, being slow to load

    Lab = many_mix_Lab(drops, palette, light)
    return Mixes(drops, Lab, cKDTree(Lab, balanced_tree=False, compact_nodes=False))


def _sets(palette: tuple[Paint, ...], count: int, with_base: int | None) -> list[NDArray[np.uint16]]:
    """The drops (mixes, paints) of every choice of `count` paints."""
    found = []
    for chosen in combinations(range(len(palette)), count):
        whites = [i for i in chosen if palette[i].is_white]
        if len(whites) > 1 or (with_base is not None and with_base not in chosen):
            continue
        colours = [i for i in chosen if i not in whites]
        counts = _counts(len(colours), bool(whites))
        for units in _units([palette[i] for i in colours], bool(whites)):
            drops = np.zeros((len(counts), len(palette)), np.uint16)
            drops[:, colours + whites] = counts * np.array([*units, *[DROPS_IN_PART] * len(whites)], np.uint16)
            found.append(drops)
    return found


def _units(colours: list[Paint], white: bool) -> list[tuple[int, ...]]:
    """The units these paints may be counted in: drops for strong ones, and for one paint that takes drops at a time.

    Something must be left to count in parts; otherwise there is nothing that a drop would be little of.
    """
    usual = tuple(1 if p.is_strong else DROPS_IN_PART for p in colours)
    ways = [usual]
    for i, one in enumerate(colours):
        if one.takes_drops and not one.is_strong:
            ways.append((*usual[:i], 1, *usual[i + 1 :]))
    with_parts = [way for way in ways if white or DROPS_IN_PART in way]
    return with_parts or [(DROPS_IN_PART,) * len(colours)]


@cache
def _counts(colours: int, white: bool) -> NDArray[np.uint16]:
    """Whole numbers (mixes, colours + 1 if white) without common divisor, the colours adding up to few enough."""
    if not colours:
        return np.ones((1, 1), np.uint16)
    most = COLOUR_UNITS_OF_MANY if colours + white > 3 else COLOUR_UNITS
    ways = [c for c in product(range(1, most + 1), repeat=colours) if sum(c) <= most]
    if white:
        ways = [(*c, w) for c in ways for w in WHITE_PARTS]
    return np.array([c for c in ways if gcd(*c) == 1], np.uint16)
