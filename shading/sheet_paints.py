"""Paints on a sheet: names short enough to stand in a recipe beside a chip, and what they stand for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from sitterlight.shading.paints import paint
from sitterlight.shading.recipe import OUT_OF_REACH


def used_paints(table: Mapping[str, Any]) -> list[str]:
    """The paints of all recipes of a table made by `results.targets_table`, in the order of their names."""
    recipes = [target["recipe"] for plane in table["planes"] for target in plane["targets"] if target["recipe"]]
    return sorted({part["paint"] for recipe in recipes for part in recipe["parts"]})


def short_names(paints: list[str]) -> dict[str, str]:
    """A short name for each paint: its Colour Index name, with the initials of what follows it: "PBr7bu"."""
    short = {name: _short(name) for name in paints}
    twice = {name for name, count in Counter(short.values()).items() if count > 1}
    return {name: name if brief in twice else brief for name, brief in short.items()}


def palette_words(paints: list[str]) -> str:
    """What the short names stand for, in one line."""
    return ", ".join(f"{brief} {_name(name)}" for name, brief in short_names(paints).items())


def recipe_words(recipe: Mapping[str, Any] | None, short: Mapping[str, str] | None = None) -> str | None:
    """A recipe such as "3 PW6 + 2 drops PB29"; "≈" before it where the palette does not reach the colour."""
    if not recipe:
        return None
    words = " + ".join(_amount(part, short or {}) for part in recipe["parts"])
    return f"≈ {words}" if (recipe["delta_e"] or 0) > OUT_OF_REACH else words


def _amount(part: Mapping[str, Any], short: Mapping[str, str]) -> str:
    name, drops = short.get(part["paint"], part["paint"]), part.get("drops")
    return f"{drops} {'drop' if drops == 1 else 'drops'} {name}" if drops else f"{part['parts']:g} {name}"


def _short(name: str) -> str:
    index, *rest = name.split()
    return index + "".join(word[0].lower() for word in rest)


def _name(name: str) -> str:
    try:
        return paint(name).name
    except ValueError:  # a paint of the user's own
        return name
