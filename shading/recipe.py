"""A recipe as a value: parts of tubes, the colour they make, and how far that is from what was wanted."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import gcd

import numpy as np
from numpy.typing import NDArray

from sitterlight.shading.paints import Paint
from sitterlight.shading.recipe_table import DROPS_IN_PART

Array = NDArray[np.floating]

OUT_OF_REACH = 3.0
"""ΔE00 beyond which a recipe does not count as reaching its target."""

WORTH_TELLING = 5.0
"""ΔE00 up to which another mix is worth telling."""


@dataclass(frozen=True)
class Part:
    """So much of one paint: `parts` by volume, and in `drops` where it is a strong tinter beside others."""

    paint: str
    parts: float
    drops: int | None = None
    name: str = ""

    @property
    def amount(self) -> str:
        """ "3 parts" or "2 drops", in the singular where it is one."""
        count, unit = (self.drops, "drop") if self.drops else (self.parts, "part")
        return f"{count:g} {unit}{'' if count == 1 else 's'}"


@dataclass(frozen=True)
class Recipe:
    """The mix for one target. Lab is the mix's own, in the target's notation; delta_e is ΔE00 between the two.

    Empty words (missing, cautions) mean there is nothing to say. `alternatives` are the best mixes of fewer or
    more paints, each without alternatives of its own.
    """

    target_Lab: tuple[float, float, float]
    parts: tuple[Part, ...]
    Lab: tuple[float, float, float]
    delta_e: float
    inconstancy: float
    holds: str
    missing: str
    order: str
    cautions: tuple[str, ...]
    alternatives: tuple[Recipe, ...] = field(default=(), repr=False)

    @property
    def out_of_reach(self) -> bool:
        return self.delta_e > OUT_OF_REACH

    @property
    def text(self) -> str:
        """ "3 parts titanium white PW6, 1 part red ochre PR102", most first."""
        return ", ".join(f"{p.amount} {p.name or p.paint}" for p in self.parts)

    def as_dict(self) -> dict:
        """What targets.json and `mix --json` hold; parts of a drop are its share of a part."""
        return {
            "parts": self._parts_as_dicts(),
            "delta_e": round(self.delta_e, 2),
            "Lab": [round(v, 2) for v in self.Lab],
            "out_of_reach": self.out_of_reach,
            "missing": self.missing or None,
            "second_light": {"delta_e": round(self.inconstancy, 2), "words": self.holds},
            "order": self.order,
            "cautions": list(self.cautions),
        }

    def others_as_dicts(self) -> list[dict]:
        """The best mixes of fewer or more paints, each with parts, ΔE00 and its own Lab."""
        return [
            {
                "parts": other._parts_as_dicts(),
                "delta_e": round(other.delta_e, 2),
                "Lab": [round(v, 2) for v in other.Lab],
            }
            for other in self.alternatives
            if other.parts != self.parts
        ]

    def _parts_as_dicts(self) -> list[dict]:
        return [{"paint": p.paint, "parts": p.parts} | ({"drops": p.drops} if p.drops else {}) for p in self.parts]


def parts_of(drops: NDArray[np.integer], palette: tuple[Paint, ...]) -> tuple[Part, ...]:
    """Parts from drops (paints,) of the recipe table, most first; what is less than whole parts stays in drops."""
    used = [int(i) for i in np.flatnonzero(drops)]
    divisor = _common([int(drops[i]) for i in used])
    found = []
    for i in used:
        count = int(drops[i]) // divisor
        parts, left = divmod(count, DROPS_IN_PART)
        amount = round(count / DROPS_IN_PART, 4) if left else parts
        found.append(Part(palette[i].id, amount, count if left else None, palette[i].label))
    return tuple(sorted(found, key=lambda p: -p.parts))


def _common(drops: list[int]) -> int:
    """The number that all amounts may be divided by so that whole parts stay whole parts and whole drops, drops."""
    divisor = gcd(*drops)
    if all(d % DROPS_IN_PART == 0 for d in drops):
        return divisor // DROPS_IN_PART
    whole = [d // DROPS_IN_PART for d in drops if d % DROPS_IN_PART == 0]
    return gcd(*whole, *(d for d in drops if d % DROPS_IN_PART))


def volumes(recipe: Recipe, palette: tuple[Paint, ...]) -> Array:
    """Parts (paints,) by volume of a recipe, in the order of the palette."""
    by_id = {p.paint: p.parts for p in recipe.parts}
    return np.array([float(by_id.get(p.id, 0.0)) for p in palette])
