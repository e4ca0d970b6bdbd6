"""Mixes found for many colours at once, as arrays, and how the better of two is kept for each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating]


@dataclass(frozen=True, eq=False)
class Found:
    """The best mix for each target: drops (targets, paints), Lab (targets, 3), ΔE00 (targets,).

    far: what it costs, in ΔE00, that its tubes lie far from it in hue and chroma (targets,).
    """

    drops: NDArray[np.int64]
    Lab: Array
    delta_e: Array
    far: Array

    @staticmethod
    def joined(found: Sequence[Found]) -> Found:
        """What was found for some targets after what was found for others."""
        return Found(*(np.concatenate([getattr(one, each.name) for one in found]) for each in fields(Found)))

    def where(self, condition: NDArray[np.bool_], other: Found) -> Found:
        """These mixes where the condition (targets,) holds, elsewhere the others."""
        pick = condition[:, None]
        return Found(
            np.where(pick, self.drops, other.drops),
            np.where(pick, self.Lab, other.Lab),
            np.where(condition, self.delta_e, other.delta_e),
            np.where(condition, self.far, other.far),
        )

    def widened(self, places: list[int], width: int) -> Found:
        """The same of a palette of `width` paints, among which these have `places`."""
        drops = np.zeros((len(self.drops), width), np.int64)
        drops[:, places] = self.drops
        return replace(self, drops=drops)
