"""The ladder: nine skins from the deepest (1) to the fairest (9), evenly spaced to the eye.

Made by make_skin_ladder.py on the main trend of the people measured; see there for what the deep end leans
on.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from sitterlight.shading.skin import DATA, SkinAmounts

LADDER: tuple[int, ...] = tuple(range(1, 10))
"""The numbers of the skins."""


def ladder_amounts(number: int) -> SkinAmounts:
    """The amounts of skin `number`, 1 deepest to 9 fairest. Raises ValueError for any other number."""
    if number not in LADDER:
        raise ValueError(f"skin ladder: {number!r} is not on it; it must be a whole number from 1 to 9")
    return _rows()[int(number) - 1]


@cache
def _rows() -> tuple[SkinAmounts, ...]:
    rows = np.loadtxt(DATA / "skin_ladder.csv", delimiter=",", skiprows=1)
    return tuple(SkinAmounts(*(float(value) for value in row[1:])) for row in rows)
