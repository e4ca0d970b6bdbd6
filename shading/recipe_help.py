"""Which paint of the library would help a palette to a colour that it can't reach."""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.mixing import ViewingLight, many_mix_Lab
from sitterlight.shading.paints import Paint, library
from sitterlight.shading.recipe import OUT_OF_REACH

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

Array = NDArray[np.floating]

_CANDIDATES = 300
_NEW_TO_OLD = (1 / 24, 1 / 10, 1 / 4, 1 / 2, 1.0, 2.0, 5.0)
_OLD_TO_OLD = (1 / 8, 1 / 3, 1.0, 3.0, 8.0)


def what_would_reach(
    target: ArrayLike, delta_e: float, palette: tuple[Paint, ...], light: ViewingLight, no_black: bool = False
) -> str:
    """One phrase: the paint, no black if so wished, that would bring a palette nearest to `target`, from `delta_e`
    away."""
    added, Lab, tree = _with_one_more(palette, light, no_black)
    if not added:
        return "the library has no further paint."
    target = np.asarray(target, float)
    near = tree.query(target, k=min(_CANDIDATES, tree.n))[1]
    distance = delta_E00(target, Lab[near])
    best = int(np.argmin(distance))
    if distance[best] > delta_e - 1.0:
        return "no paint of the library would bring it nearer."
    does = "would reach it" if distance[best] <= OUT_OF_REACH else f"would come nearer (ΔE {distance[best]:.0f})"
    return f"{added[near[best] * len(added) // len(Lab)].label} {does}."


@lru_cache(maxsize=8)
def _with_one_more(
    palette: tuple[Paint, ...], light: ViewingLight, no_black: bool
) -> tuple[tuple[Paint, ...], Array, cKDTree | None]:
    """Every paint not in the palette, and Lab (mixes, 3) of it with up to two of the palette's, paint after paint."""
    here = {p.id for p in palette}
    added = tuple(p for p in library() if p.id not in here and not (no_black and p.is_black))
    parts = _parts(len(palette))
    if not added:
        return added, np.zeros((0, 3)), None
    from scipy.spatial import cKDTree  # here, being slow to load

    Lab = np.concatenate([many_mix_Lab(parts, (*palette, one), light) for one in added])
    return added, Lab, cKDTree(Lab, balanced_tree=False, compact_nodes=False)


def _parts(width: int) -> Array:
    """Parts (mixes, width + 1) of the last paint with none, one or two of the others."""
    rows = [np.eye(width + 1)[-1]]
    for i in range(width):
        for share in _NEW_TO_OLD:
            rows.append(_row(width, {i: 1.0}, share))
    for i, j in combinations(range(width), 2):
        for share in _NEW_TO_OLD:
            for ratio in _OLD_TO_OLD:
                rows.append(_row(width, {i: 1 / (1 + ratio), j: ratio / (1 + ratio)}, share))
    return np.array(rows)


def _row(width: int, old: dict[int, float], share: float) -> Array:
    row = np.zeros(width + 1)
    row[list(old)] = list(old.values())
    row[-1] = share
    return row
