"""Recipes for the planes of a head: every target of every row gets its mix from the sitting's palette."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from sitterlight.shading.mixing import ViewingLight, mix_Lab, viewing_light
from sitterlight.shading.paints import Paint, paint, paints
from sitterlight.shading.progress import Progress, part
from sitterlight.shading.recipe import Recipe
from sitterlight.shading.recipes import Preferences, recipes_for
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.targets import PlaneRow, Target

_DARK_EARTH = 45.0


def add_recipes(
    rows: Sequence[PlaneRow], sitting: Sitting, max_paints: int | None = None, preferences: Preferences | None = None
) -> list[PlaneRow]:
    """The rows with a recipe, as targets.json holds it, in each of their targets; wishes as in `recipes_of`.

    Raises ValueError for a paint or light of the sitting that can't be found.
    """
    return with_recipes(rows, recipes_of(rows, sitting, max_paints, preferences))


@dataclass(frozen=True, eq=False)
class MixedHead:
    """The rows of a head with a recipe for each target in order, and the wishes that the recipes follow."""

    sitting: Sitting
    rows: Sequence[PlaneRow] = field(repr=False)
    wish: Preferences
    recipes: Sequence[Recipe] = field(repr=False)

    @cached_property
    def mixed_rows(self) -> list[PlaneRow]:
        """The rows with their recipes, as targets.json holds them, in each of their targets."""
        return with_recipes(self.rows, self.recipes)

    @cached_property
    def strokes(self) -> tuple[tuple[PlaneRow, Target, Recipe], ...]:
        """Every target with its row and its recipe, in order."""
        every = [(row, target) for row in self.rows for target in row.targets]
        return tuple((*stroke, recipe) for stroke, recipe in zip(every, self.recipes, strict=True))


def mixed_head(rows: Sequence[PlaneRow], sitting: Sitting, progress: Progress | None = None) -> MixedHead:
    """The rows with recipes from the sitting's palette, by its wishes. ValueError as for `add_recipes`."""
    chosen = 0.8 if sitting.palette.base == "auto" else 0.0
    wish = preferences_of(rows, sitting, part(progress, 0.0, chosen))
    recipes = recipes_of(rows, sitting, preferences=wish, progress=part(progress, chosen, 1.0))
    return MixedHead(sitting, rows, wish, recipes)


def with_recipes(rows: Sequence[PlaneRow], recipes: Sequence[Recipe]) -> list[PlaneRow]:
    """The rows with these recipes, one for each target in order, as targets.json holds them."""
    left = iter(recipes)
    return [
        replace(row, targets=tuple(replace(target, recipe=_with_others(next(left))) for target in row.targets))
        for row in rows
    ]


def _with_others(recipe: Recipe) -> dict:
    """A recipe as targets.json holds it, with the best mixes of fewer or more paints."""
    return recipe.as_dict() | {"alternatives": recipe.others_as_dicts()}


def recipes_of(
    rows: Sequence[PlaneRow],
    sitting: Sitting,
    max_paints: int | None = None,
    preferences: Preferences | None = None,
    progress: Progress | None = None,
) -> list[Recipe]:
    """One recipe for each target of each row, in order: the values behind `add_recipes`, with all their words.

    Without `max_paints` and `preferences` they are the sitting's own.
    """
    colours = np.array([target.Lab for row in rows for target in row.targets]).reshape(-1, 3)
    palette = paints(sitting.palette.paints, sitting.folder)
    easel, most = sitting.easel, max_paints or sitting.palette.most
    wish = preferences_of(rows, sitting) if preferences is None else preferences
    return recipes_for(colours, palette, easel.light, easel.second_light, most, wish, sitting.folder, progress)


def preferences_of(rows: Sequence[PlaneRow], sitting: Sitting, progress: Progress | None = None) -> Preferences:
    """What the sitting's palette would rather have; a base of "auto" is chosen for these rows."""
    asked = sitting.palette
    wish = Preferences(few_paints=asked.few_paints, transparent_darks=asked.transparent_darks, no_black=asked.no_black)
    if asked.base == "auto":
        return with_base_brown(rows, sitting, wish, progress)
    if asked.base != "none":
        return replace(wish, base=paint(asked.base, sitting.folder).id)
    return wish


def with_base_brown(
    rows: Sequence[PlaneRow], sitting: Sitting, wish: Preferences | None = None, progress: Progress | None = None
) -> Preferences:
    """Preferences that keep one base through all planes: the brown that serves the head best.

    Each dark brown of the palette (or dark earth, or earth, or colour, where it has none) is tried; the least sum of
    ΔE00 over the painted area wins. Without any such paint there is no base.
    """
    wish = wish or Preferences()
    palette, easel = paints(sitting.palette.paints, sitting.folder), sitting.easel
    area = np.array([row.area_mm2 * t.share_of_area for row in rows for t in row.targets])
    browns = _browns(palette, viewing_light(easel.light, sitting.folder))
    if not browns or not area.size:
        return wish
    colours = np.array([target.Lab for row in rows for target in row.targets])
    costs = []
    lights = easel.light, easel.second_light
    for tried, base in enumerate(browns):
        based = replace(wish, base=base.id)
        telling = part(progress, tried / len(browns), (tried + 1) / len(browns))
        found = recipes_for(colours, palette, *lights, sitting.palette.most, based, sitting.folder, telling)
        held = np.array([any(p.paint == base.id for p in r.parts) for r in found])
        costs.append(float((area * np.where(held, [r.delta_e for r in found], 10.0)).sum()))
    return replace(wish, base=browns[int(np.argmin(costs))].id)


def _browns(palette: Sequence[Paint], light: ViewingLight) -> list[Paint]:
    """The paints that may be the base of all: browns (PBr) darker than L* 45, else such earths, else earths, else
    what is neither white nor black."""
    colours = [p for p in palette if not p.is_white and not p.is_black]
    earths = [p for p in colours if p.group == "earth"]
    dark = [p for p in earths if mix_Lab([1.0], (p,), light)[0] < _DARK_EARTH]
    return [p for p in dark if p.colour_index.startswith("PBr")] or dark or earths or colours
