"""Recipes for the planes of a head: every target of every row gets its mix from the sitting's palette."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sitterlight.shading.paints import paints
from sitterlight.shading.recipe import Recipe
from sitterlight.shading.recipes import Preferences, recipes_for
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.targets import PlaneRow


def add_recipes(
    rows: Sequence[PlaneRow], sitting: Sitting, max_paints: int = 4, preferences: Preferences | None = None
) -> list[PlaneRow]:
    """The rows with a recipe, as targets.json holds it, in each of their targets.

    Raises ValueError for a paint or light of the sitting that can't be found.
    """
    recipes = iter(recipes_of(rows, sitting, max_paints, preferences))
    done = []
    for row in rows:
        targets = tuple(replace(target, recipe=next(recipes).as_dict()) for target in row.targets)
        done.append(replace(row, targets=targets))
    return done


def recipes_of(
    rows: Sequence[PlaneRow], sitting: Sitting, max_paints: int = 4, preferences: Preferences | None = None
) -> list[Recipe]:
    """One recipe for each target of each row, in order: the values behind `add_recipes`, with all their words."""
    colours = np.array([target.Lab for row in rows for target in row.targets]).reshape(-1, 3)
    palette = paints(sitting.palette.paints, sitting.folder)
    easel = sitting.easel
    return recipes_for(colours, palette, easel.light, easel.second_light, max_paints, preferences, sitting.folder)


def with_base_brown(rows: Sequence[PlaneRow], sitting: Sitting) -> Preferences:
    """Preferences that keep one base through all planes: the paint, not white, that serves the head best.

    Each earth of the palette (or each colour, where it has none) is tried; the least sum of ΔE00 over the painted
    area wins. Without any such paint there is no base.
    """
    palette = paints(sitting.palette.paints, sitting.folder)
    earths = [p for p in palette if p.group == "earth"] or [p for p in palette if not p.is_white]
    area = np.array([row.area_mm2 * t.share_of_area for row in rows for t in row.targets])
    if not earths or not area.size:
        return Preferences()
    colours = np.array([target.Lab for row in rows for target in row.targets])
    easel = sitting.easel
    costs = []
    for base in earths:
        wish = Preferences(base=base.id)
        found = recipes_for(colours, palette, easel.light, easel.second_light, 4, wish, sitting.folder)
        held = np.array([any(p.paint == base.id for p in r.parts) for r in found])
        costs.append(float((area * np.where(held, [r.delta_e for r in found], 10.0)).sum()))
    return Preferences(base=earths[int(np.argmin(costs))].id)
