"""Oil while it is dragged: what was worked out for the last exact picture, with its sheen made stronger or weaker.

Where only the amount of oil changes, sheen changes in proportion, and the body gives what the sheen leaves it. Neither
asks for new geometry. Left out is that light comes to a place from other angles than from an open sphere, and that
bodies give each other a little more or less: some thousandths of the light, until the exact picture follows.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from sitterlight.shading.irradiance import MOST_MIRRORED, Gloss
from sitterlight.shading.matrix import Rows
from sitterlight.shading.memory import Memory

if TYPE_CHECKING:
    from sitterlight.shading.geometry import Look


class LastSurfaces:
    """The surface of the last exact stage of each head: the key of its shape, of what blocks light, of roughness and
    of oil."""

    def __init__(self):
        self._last: dict[tuple, tuple] = {}

    def forget(self) -> None:
        """Remember none."""
        self._last.clear()

    def keep(self, surface: tuple) -> None:
        """Remember the surface of an exact stage."""
        self._last[surface[:3]] = surface

    def standing_in(self, surface: tuple, oil: np.ndarray, glosses: Memory) -> tuple[tuple, np.ndarray | None]:
        """A surface in whose place another may be shown with `oil (V,)`, and how many times as oily as that it is,
        (V,); itself and None where it is known, or none can."""
        last = self._last.get(surface[:3])
        if last is None or glosses.holds(surface) or not glosses.holds(last):
            return surface, None
        times = times_as_oily(glosses.of(last, lambda: None).oil, oil)
        return (surface, None) if times is None else (last, times)


def times_as_oily(known: np.ndarray, wanted: np.ndarray) -> np.ndarray | None:
    """How many times as oily as `known` each place is to be, `wanted`, both (V,); None where there is to be oil in a
    place that is known without any."""
    if np.any((wanted > 0) & (known <= 0)):
        return None
    return np.divide(wanted, known, out=np.ones(len(known), np.float32), where=known > 0, casting="unsafe")


def oilier(look: Look, gloss: Gloss, times: np.ndarray, cosine: np.ndarray) -> Look:
    """A look of the known `gloss` as it is with `times (V,)` its oil; `cosine (V,)` of the eye at each vertex."""
    sheen = gloss.sheen_at(cosine)
    leaving = (1 - np.minimum(times * sheen, MOST_MIRRORED)) / (1 - sheen)
    each, skin = times[:, None], look.skin
    return replace(
        look,
        toward_eye=look.toward_eye * leaving[:, None].astype(np.float32),
        sheen=look.sheen * each,
        glints=look.glints * each * np.median(times),
        skin=Rows(skin.start, skin.column, skin.weight * np.repeat(times, np.diff(skin.start))),
    )
