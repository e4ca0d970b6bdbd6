"""One view of a lit head, ready for the screen. What makes one is in `appearance`; here nothing is calculated."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.shading.legend_words import Legend


@dataclass(frozen=True, eq=False)
class Appearance:
    """One view of a lit head. Either `of_vertex (D,4)` or `of_face (G,4)` uint8, the last channel 0 where a place
    is marked; or `steps`: a number per vertex (D,), the edges between steps and a colour (n,3) uint8 for each."""

    legend: Legend
    of_vertex: np.ndarray | None = None
    of_face: np.ndarray | None = None
    steps: tuple[np.ndarray, np.ndarray, np.ndarray] | None = None
