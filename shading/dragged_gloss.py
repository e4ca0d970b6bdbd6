"""Oil while it is dragged: what was worked out for the last exact picture, with its sheen made stronger or weaker.

Where only the amount of oil changes, sheen changes in proportion, and the body gives what the sheen leaves it. Neither
asks for new geometry. Left out is that light comes to a place from other angles than from an open sphere, and that
bodies give each other a little more or less: some thousandths of the light, until the exact picture follows.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from sitterlight.shading.irradiance import MOST_MIRRORED, Gloss
from sitterlight.shading.matrix import Rows

if TYPE_CHECKING:
    from sitterlight.shading.geometry import Look


class LastSurfaces:
    """The surfaces of the last exact stages: of each head's shape, of what blocks light and of roughness, the key,
    which ends with the oil, and the gloss."""

    def __init__(self):
        self._last: OrderedDict[tuple, tuple[tuple, Gloss]] = OrderedDict()

    def forget(self) -> None:
        """Remember none."""
        self._last.clear()

    def keep(self, surface: tuple, gloss: Gloss) -> None:
        """Remember the surface of an exact stage, in place of another that differs in oil alone."""
        self._last.pop(surface[:3], None)
        self._last[surface[:3]] = surface, gloss
        while len(self._last) > _KEPT:
            self._last.popitem(last=False)

    def standing_in(self, surface: tuple, oil: np.ndarray) -> tuple[tuple, Gloss, np.ndarray] | None:
        """The surface in whose place another may be shown with `oil (V,)`, its gloss, and how many times as oily it is
        to be, (V,); None where there is none."""
        last = self._last.get(surface[:3])
        times = None if last is None else times_as_oily(last[1].oil, oil)
        return None if times is None else (*last, times)


_KEPT = 4


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
        sheens=tuple(sheen * each for sheen in look.sheens),
        glinted=tuple(glints * each * np.median(times) for glints in look.glinted),
        skin=Rows(skin.start, skin.column, skin.weight * np.repeat(times, np.diff(skin.start))),
    )
