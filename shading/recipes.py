"""Recipes: the mixes of a palette that come nearest to given colours.

All mixes a painter would measure out are looked up (`recipe_table`), the nearest few are computed exactly and the
best is bettered part by part. Nothing is ever negative, and amounts are small whole numbers.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sitterlight.shading.cautions import cautions
from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.found_mixes import Found
from sitterlight.shading.mixing import ViewingLight, mix_Lab, viewing_light
from sitterlight.shading.paint_chips import TINT_WHITE, paint_Lab
from sitterlight.shading.paints import Paint, PaintError
from sitterlight.shading.progress import Progress, part, tell
from sitterlight.shading.recipe import OUT_OF_REACH, Recipe, parts_of
from sitterlight.shading.recipe_help import what_would_reach
from sitterlight.shading.recipe_table import DROPS_IN_PART, WHITE_PARTS, Mixes, mixes_of
from sitterlight.shading.recipe_words import holdings, lack, mixing_orders

Array = NDArray[np.floating]

_CANDIDATES = 48
_AT_ONCE = 40
_MOST_COLOUR_UNITS = 16
_GOOD_ENOUGH = 0.7
_PAINT_WORTH = 0.35
_FEW_PAINT_WORTH = 1.0
_FAR_TUBES_WORTH = 0.015
_DARK_BELOW = 45.0
_ALLOWANCE = 2.0
_SEARCHED, _WRITTEN = 0.6, 0.8
"""Shares of the work that are done when mixes are found, and when those to recommend are written."""

MOST_TUBES = 14
"""Tubes of a palette that mixes are looked for among."""


@dataclass(frozen=True)
class Preferences:
    """What the painter would rather have, at the cost of up to 2 ΔE00.

    few_paints: a further paint must be worth 1.0 ΔE00, not 0.35. base: a paint that every mix should hold.
    transparent_darks: below L* 45 no white and no opaque paint. no_black: leave black tubes closed.
    """

    few_paints: bool = False
    base: str | None = None
    transparent_darks: bool = False
    no_black: bool = False


def recipes_for(
    targets_Lab: ArrayLike,
    palette: tuple[Paint, ...],
    easel_light: str = "D50",
    second_light: str = "A",
    max_paints: int = 4,
    preferences: Preferences | None = None,
    folder: str | Path | None = None,
    progress: Progress | None = None,
) -> list[Recipe]:
    """One recipe for each target Lab (N, 3), in D65 notation.

    The paint is judged under `easel_light` with sight used to it: its colour there is taken to D65 by full CAT16
    and compared by ΔE00. Of more than fourteen tubes, those that serve these targets best in pairs are used. Each
    recipe brings along the best mixes of fewer and more paints, up to `max_paints`, while a further one helps.
    `progress` is told the share done between pieces of some milliseconds.
    Raises ValueError for a light, base or number of paints that can't be had.
    """
    targets = np.asarray(targets_Lab, float).reshape(-1, 3)
    if not 1 <= max_paints <= 4:
        raise PaintError(f"max_paints: {max_paints} is not possible; a recipe has 1 to 4 paints.")
    if not len(targets):
        return []
    preferences = preferences or Preferences()
    light = viewing_light(easel_light, folder)
    palette = _shortlist(targets, _allowed(palette, preferences), light, preferences.base)
    chosen, by_count = _choose(targets, palette, light, max_paints, preferences, part(progress, 0.0, _SEARCHED))
    second = viewing_light(second_light, folder)
    write = _Writer(targets, palette, light, second, second_light, preferences)
    recipes = write(chosen, np.arange(len(targets)), part(progress, _SEARCHED, _WRITTEN), help_out=True)
    others, least = [[] for _ in recipes], np.full(len(targets), np.inf)
    for done, found in enumerate(by_count):
        nearer = np.flatnonzero(found.delta_e < least)
        for t, recipe in zip(nearer, write(found, nearer), strict=True):
            others[t].append(recipe)
        least = np.minimum(least, found.delta_e)
        tell(progress, _WRITTEN + (1.0 - _WRITTEN) * (done + 1) / len(by_count))
    return [replace(recipe, alternatives=tuple(some)) for recipe, some in zip(recipes, others, strict=True)]


def _allowed(palette: tuple[Paint, ...], preferences: Preferences) -> tuple[Paint, ...]:
    """The palette without black, if so wished. Raises PaintError where the base is not in it."""
    left = tuple(p for p in palette if not (preferences.no_black and p.is_black))
    if not left:
        raise PaintError("Without black this palette has no paint left; add a tube that is not black.")
    if preferences.base is not None and preferences.base not in {p.id for p in left}:
        raise PaintError(f'The base "{preferences.base}" is not in the palette; choose one of its paints.')
    return left


def _shortlist(targets: Array, palette: tuple[Paint, ...], light: ViewingLight, base: str | None) -> tuple[Paint, ...]:
    """At most fourteen tubes: the base, the best white, then those most often in the nearest pairs."""
    if len(palette) <= MOST_TUBES:
        return palette
    pairs = mixes_of(palette, light, 2)
    used = pairs.drops[pairs.near(targets, 4 * _CANDIDATES)] > 0
    votes = used.sum(axis=(0, 1)) / len(targets)
    whites = [i for i, p in enumerate(palette) if p.is_white]
    if whites:
        votes[max(whites, key=lambda i: votes[i])] = np.inf
    votes[[i for i, p in enumerate(palette) if p.id == base]] = np.inf
    kept = sorted(np.argsort(-votes, kind="stable")[:MOST_TUBES])
    return tuple(palette[i] for i in kept)


def _choose(
    targets: Array,
    palette: tuple[Paint, ...],
    light: ViewingLight,
    most: int,
    preferences: Preferences,
    progress: Progress | None = None,
) -> tuple[Found, list[Found]]:
    """The mix to recommend for each target, and the best of each number of paints."""
    worth = _FEW_PAINT_WORTH if preferences.few_paints else _PAINT_WORTH
    by_count, handy = _search(targets, palette, light, most, progress=progress)
    chosen = _cheapest(by_count + handy, worth)
    if preferences.base is not None:
        base = [p.id for p in palette].index(preferences.base)
        found, handy = _search(targets, palette, light, most, base, progress)
        held = _cheapest(found + handy, worth)
        chosen = _prefer(held, chosen, np.full(len(targets), True))
    if preferences.transparent_darks:
        clear = [i for i, p in enumerate(palette) if p.is_transparent]
        if clear:
            found, handy = _search(targets, tuple(palette[i] for i in clear), light, most, progress=progress)
            glazes = _cheapest(found + handy, worth).widened(clear, len(palette))
            chosen = _prefer(glazes, chosen, targets[:, 0] < _DARK_BELOW)
    return chosen, by_count


def _search(
    targets: Array,
    palette: tuple[Paint, ...],
    light: ViewingLight,
    most: int,
    base: int | None = None,
    progress: Progress | None = None,
) -> tuple[list[Found], list[Found]]:
    """For each target the nearest mix of exactly 1, 2, … paints; and of the near ones those made of tubes that lie
    near themselves."""
    found, handy, counts = [], [], min(most, len(palette))
    for count in range(1, counts + 1):
        mixes = mixes_of(palette, light, count, base)
        if mixes is None:
            continue
        best, near = _looked_up(targets, mixes, palette, light, part(progress, (count - 1) / counts, count / counts))
        found.append(_bettered(targets, best, palette, light, part(progress, count / counts, count / counts)))
        handy.append(near)
    return found, handy


def _looked_up(
    targets: Array, mixes: Mixes, palette: tuple[Paint, ...], light: ViewingLight, progress: Progress | None
) -> tuple[Found, Found]:
    """Of the mixes near each target the nearest, and the one that costs least, some targets at a time."""
    found = []
    for first in range(0, len(targets), _AT_ONCE):
        some = targets[first : first + _AT_ONCE]
        found.append(_nearest(some, mixes.drops[mixes.near(some, _CANDIDATES)].astype(np.int64), palette, light))
        tell(progress, min(first + _AT_ONCE, len(targets)) / len(targets))
    best, near = zip(*found, strict=True)
    return Found.joined(best), Found.joined(near)


def _nearest(
    targets: Array, drops: NDArray[np.int64], palette: tuple[Paint, ...], light: ViewingLight
) -> tuple[Found, Found]:
    """Of candidate mixes (targets, candidates, paints) the nearest to each target, computed exactly; and the one that
    costs least when it counts, too, how far its tubes lie from it."""
    Lab = mix_Lab(drops, palette, light)
    delta_e = delta_E00(targets[:, None], Lab)
    far = _far_tubes(drops, Lab, palette, light)
    every = np.arange(len(targets))

    def of(best: NDArray[np.intp]) -> Found:
        return Found(drops[every, best], Lab[every, best], delta_e[every, best], far[every, best])

    return of(np.argmin(delta_e, axis=1)), of(np.argmin(delta_e + far, axis=1))


def _far_tubes(drops: NDArray[np.int64], Lab: Array, palette: tuple[Paint, ...], light: ViewingLight) -> Array:
    """What it costs that colours of a mix cancel each other: the mean distance in a* and b* between the mix and the
    tints of its colours, white aside, each by its share.

    A brown out of green and red takes much paint of both, and exact parts; out of an umber it is nearly there.
    """
    tints = np.array([paint_Lab(p, TINT_WHITE, light)[1:] for p in palette])
    weight = drops * [0.0 if p.is_white else 1.0 for p in palette]
    weight = weight / np.maximum(weight.sum(axis=-1, keepdims=True), 1e-9)
    away = np.linalg.norm(Lab[..., None, 1:] - tints, axis=-1)
    return _FAR_TUBES_WORTH * (weight * away).sum(axis=-1)


def _bettered(
    targets: Array, found: Found, palette: tuple[Paint, ...], light: ViewingLight, progress: Progress | None = None
) -> Found:
    """Climb from each mix to a neighbour with one part or drop more or less, for as long as that brings it nearer."""
    white = np.array([p.is_white for p in palette])
    ways = np.concatenate([np.eye(len(palette), dtype=np.int64), -np.eye(len(palette), dtype=np.int64)])
    for _ in range(8):
        tell(progress, 1.0)
        unit = np.where(found.drops % DROPS_IN_PART == 0, DROPS_IN_PART, 1)[:, None]
        around = found.drops[:, None] + ways * unit
        counts = around // unit
        allowed = ((around > 0) == (found.drops > 0)[:, None]).all(axis=2) & (around >= 0).all(axis=2)
        allowed &= ((around % DROPS_IN_PART == 0) == (unit > 1)).all(axis=2)
        allowed &= (counts * ~white).sum(axis=2) <= _MOST_COLOUR_UNITS
        allowed &= (counts * white).sum(axis=2) <= WHITE_PARTS[-1]
        around = np.where(allowed[..., None], around, found.drops[:, None])
        better, _ = _nearest(targets, around, palette, light)
        gain = better.delta_e < found.delta_e - 0.02
        if not gain.any():
            break
        found = better.where(gain, found)
    return found


def _cheapest(by_count: list[Found], worth: float) -> Found:
    """For each target the mix whose distance, number of paints and far tubes together cost least."""
    best = by_count[0]
    cost = np.full(len(best.delta_e), np.inf)
    for found in by_count:
        paints = (found.drops > 0).sum(axis=1)
        own = np.maximum(found.delta_e, _GOOD_ENOUGH) + worth * paints + found.far + 0.05 * found.delta_e
        best, cost = found.where(own < cost, best), np.minimum(own, cost)
    return best


def _prefer(wished: Found, free: Found, where: NDArray[np.bool_]) -> Found:
    """The wished mix where it reaches the target or costs no more than the allowance."""
    near = wished.delta_e <= np.maximum(free.delta_e + _ALLOWANCE, 0.8 * OUT_OF_REACH)
    return wished.where(where & near, free)


@dataclass(frozen=True, eq=False)
class _Writer:
    """Turns found mixes into recipes with all their words."""

    targets: Array
    palette: tuple[Paint, ...]
    light: ViewingLight
    second: ViewingLight
    second_name: str
    preferences: Preferences

    def __call__(
        self, found: Found, targets: NDArray[np.intp], progress: Progress | None = None, help_out: bool = False
    ) -> list[Recipe]:
        """A recipe for each of these targets, by their numbers."""
        recipes = []
        for first in range(0, len(targets), _AT_ONCE):
            recipes += self._some(found, targets[first : first + _AT_ONCE], help_out, progress)
            tell(progress, len(recipes) / len(targets))
        return recipes

    def _some(self, found: Found, targets: NDArray[np.intp], help_out: bool, progress) -> list[Recipe]:
        amounts, Lab = found.drops[targets].astype(float), found.Lab[targets]
        changes = holdings(Lab, mix_Lab(amounts, self.palette, self.second), self.second_name)
        orders = mixing_orders(amounts, self.palette, self.light, self.preferences.base)
        return [
            Recipe(
                target_Lab=tuple(float(v) for v in self.targets[t]),
                parts=parts_of(found.drops[t], self.palette),
                Lab=tuple(float(v) for v in found.Lab[t]),
                delta_e=float(found.delta_e[t]),
                inconstancy=change,
                holds=holds,
                missing=self._missing(found, t, progress) if help_out and found.delta_e[t] > OUT_OF_REACH else "",
                order=order,
                cautions=cautions(p for p, drops in zip(self.palette, found.drops[t], strict=True) if drops > 0),
            )
            for t, (change, holds), order in zip(targets, changes, orders, strict=True)
        ]

    def _missing(self, found: Found, t: int, progress: Progress | None) -> str:
        """What a palette lacks for a target that it can't reach."""
        tell(progress, 0.0)
        about = self.targets[t], float(found.delta_e[t]), self.palette, self.light, self.preferences.no_black
        return f"{lack(self.targets[t], found.Lab[t])} for this palette: {what_would_reach(*about)}"
