"""A plan for mixing a whole head: which piles to make, how much of each by painted area, and in what order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sitterlight.shading.cautions import cautions_and_general
from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.families import FAMILIES
from sitterlight.shading.paints import Paint, paints
from sitterlight.shading.recipe import Recipe, volumes
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.targets import PlaneRow

Array = NDArray[np.floating]

SAME_PILE = 3.5
"""ΔE00 within which strokes are painted from one pile."""

SMALL_PILE = 0.02
"""Share of the painted area below which a pile is not worth its place: a near one is turned a little instead."""

_NEAR_PILE = 9.0


@dataclass(frozen=True)
class Pile:
    """One mix to lay out: its recipe, its share of the painted area, and the strokes painted with it."""

    recipe: Recipe
    family: str
    share_of_area: float
    strokes: tuple[str, ...]

    @property
    def words(self) -> str:
        share = f"{100 * self.share_of_area:.0f} %" if self.share_of_area >= 0.01 else "less than 1 %"
        return f"{self.recipe.text}, for {share} of the area"


@dataclass(frozen=True)
class MixingPlan:
    """Piles in the order of mixing, the family of the largest area first; each paint's share of the paint needed, most
    first."""

    base: str | None
    piles: tuple[Pile, ...]
    paints: tuple[tuple[str, float], ...]
    words: tuple[str, ...]
    cautions: tuple[str, ...]

    def as_dict(self) -> dict:
        """What targets.json holds."""
        return {
            "base": self.base,
            "paints": [{"paint": id, "share": share} for id, share in self.paints],
            "piles": [
                {
                    "family": pile.family,
                    "share_of_area": pile.share_of_area,
                    "recipe": pile.recipe.as_dict(),
                    "strokes": list(pile.strokes),
                }
                for pile in self.piles
            ],
            "cautions": list(self.cautions),
        }


def mixing_plan(
    rows: Sequence[PlaneRow], recipes: Sequence[Recipe], sitting: Sitting, base: str | None = None
) -> MixingPlan:
    """The plan for rows and their recipes, one for each target in order (`plane_recipes.recipes_of`). `base` is the
    paint that was asked to be in every mix, by its id.

    Strokes within ΔE00 3.5 of a pile share it; larger areas found piles first, and piles under 2 % of the area
    join a near one. Only what the eye sees is counted.
    """
    palette = paints(sitting.palette.paints, sitting.folder)
    strokes = [(row, target) for row in rows for target in row.targets]
    areas = np.array([r.area_mm2 * max(r.visible, 0.0) * t.share_of_area for r, t in strokes])
    if not strokes or areas.sum() <= 0.0:
        return MixingPlan(None, (), (), (), ())
    areas = areas / areas.sum()
    Lab = np.array([r.Lab for r in recipes])
    groups = _without_small(_groups(Lab, areas), Lab, areas)
    piles = [_pile(group, strokes, recipes, areas) for group in groups]
    extent = {family: sum(p.share_of_area for p in piles if p.family == family) for family in FAMILIES}
    piles.sort(key=lambda pile: (-extent[pile.family], FAMILIES.index(pile.family), -pile.share_of_area))
    need = _need(piles, palette)
    asked = [p for p in palette if p.id == base and need[p.id] > 0.0]
    base = asked[0] if asked else _base(piles, palette, need)
    used = [p for p in palette if need[p.id] > 0.0]
    shares = tuple((p.id, need[p.id]) for p in sorted(used, key=lambda p: -need[p.id]))
    return MixingPlan(
        base.id if base else None, tuple(piles), shares, _words(piles, base, shares), cautions_and_general(used)
    )


def _groups(Lab: Array, areas: Array) -> list[list[int]]:
    """Strokes that share a pile; the first of each group is the pile's own mix."""
    left = [int(i) for i in np.argsort(-areas, kind="stable") if areas[i] > 0.0]
    groups = []
    while left:
        is_near = delta_E00(Lab[left], Lab[left[0]]) <= SAME_PILE
        groups.append([i for i, near in zip(left, is_near, strict=True) if near])
        left = [i for i, near in zip(left, is_near, strict=True) if not near]
    return groups


def _without_small(groups: list[list[int]], Lab: Array, areas: Array) -> list[list[int]]:
    """Groups of little area joined to the nearest large one, where there is one near."""
    large = [list(g) for g in groups if areas[g].sum() >= SMALL_PILE]
    first, left = Lab[[g[0] for g in large]], []
    for group in (g for g in groups if areas[g].sum() < SMALL_PILE):
        away = delta_E00(Lab[group[0]], first)
        if len(away) and away.min() <= _NEAR_PILE:
            large[int(np.argmin(away))] += group
        else:
            left.append(group)
    return large + left


def _pile(group: list[int], strokes: list, recipes: Sequence[Recipe], areas: Array) -> Pile:
    names = []
    for i in group:
        row, target = strokes[i]
        side = "" if row.side == "centre" else f" {row.side}"
        part = "" if target.part == "whole" else f" ({target.part})"
        names.append(f"{row.name}{side}{part}")
    return Pile(recipes[group[0]], strokes[group[0]][1].family, float(areas[group].sum()), tuple(names))


def _need(piles: Sequence[Pile], palette: tuple[Paint, ...]) -> dict[str, float]:
    """Share (by volume) of each paint in all the paint needed; every area takes a film of the same thickness."""
    total = np.zeros(len(palette))
    for pile in piles:
        parts = volumes(pile.recipe, palette)
        total += pile.share_of_area * parts / parts.sum()
    return {p.id: float(v) for p, v in zip(palette, total / total.sum(), strict=True)}


def _base(piles: Sequence[Pile], palette: tuple[Paint, ...], need: dict[str, float]) -> Paint | None:
    """The colour to begin with: the one that takes part in most of the area, by its share of the mixes, earths
    counting double."""
    colours = [p for p in palette if not p.is_white and not p.is_black and need[p.id] > 0.0]

    def weight(one: Paint) -> float:
        return need[one.id] * _reach(piles, one) * (2.0 if one.group == "earth" else 1.0)

    return max(colours, key=weight, default=None)


def _reach(piles: Sequence[Pile], one: Paint) -> float:
    """Share of the painted area whose mixes hold a paint."""
    return sum(pile.share_of_area for pile in piles if any(part.paint == one.id for part in pile.recipe.parts))


def _words(piles: Sequence[Pile], base: Paint | None, shares: tuple[tuple[str, float], ...]) -> tuple[str, ...]:
    lines = []
    if base:
        lines.append(f"{base.name.capitalize()} goes into the mixes of {100 * _reach(piles, base):.0f} % of this head.")
    lines.append("Squeeze out, by volume: " + ", ".join(f"{id} {100 * max(s, 0.01):.0f} %" for id, s in shares) + ".")
    for family in dict.fromkeys(pile.family for pile in piles):
        here = [pile for pile in piles if pile.family == family]
        lines += [f"{family.capitalize()}: {pile.words}: {', '.join(pile.strokes)}." for pile in here]
    return tuple(lines)
