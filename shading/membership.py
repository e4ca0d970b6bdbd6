"""Which regions each vertex belongs to, packed: most belong to one, few to more than two."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False)
class Membership:
    """The regions of vertex v are `region[start[v]:start[v + 1]]`, with `weight` that sum to one."""

    start: np.ndarray
    region: np.ndarray
    weight: np.ndarray

    @staticmethod
    def of(weights: np.ndarray) -> Membership:
        """From `weights (V,R)`."""
        vertex, region = np.nonzero(weights)
        start = np.searchsorted(vertex, np.arange(len(weights) + 1)).astype(np.int64)
        return Membership(start, region.astype(np.int32), weights[vertex, region].astype(np.float32))
