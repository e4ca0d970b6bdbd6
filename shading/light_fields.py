"""What a stage knows of light: one source's field on a head, and the stage as one eye sees it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from sitterlight.shading.glints import Glints
from sitterlight.shading.matrix import Rows
from sitterlight.shading.memory import Memory


@dataclass(frozen=True, eq=False)
class LightField:
    """One source on one head, weights of irradiance per vertex and each of its K basis spectra, float32.

    `direct (V,W·K)` entered the body straight, spread under the skin by each of W widths; `mirrored (V,K)` entered
    by way of other skin's sheen; `bounced (N,n·K)` entered after 1 … n bounces, for each of `later_bounces.Senders`.
    `glints` tell what each vertex mirrors of a patch; None for a dome and where that is left out.
    """

    direct: np.ndarray
    mirrored: np.ndarray
    bounced: np.ndarray
    glints: Glints | None
    _plain: Callable[[], np.ndarray]
    glow: Memory = field(default_factory=lambda: Memory(8))
    """What bodies that were lit by it last gave back; see lighting.Lighting."""

    @cached_property
    def plain(self) -> np.ndarray:
        """Irradiance weights (V,K) as a light meter reads them."""
        return self._plain()


@dataclass(frozen=True, eq=False)
class Look:
    """A stage seen by one eye. `sees (V,)`; `toward_eye (V,1)`: (1 − E(o)) / (1 − Ē) of each body that the eye sees
    and of those around, one elsewhere. Radiance weights of each source's basis spectra, (V,K): `sheens` of the lights
    themselves, `glinted` of lights that other skin mirrors. `skin (V,V)`: the bodies that the sheen mirrors.
    `shown`: what sheens and glints last were to an observer; see glance.seen_XYZ.
    """

    sees: np.ndarray
    toward_eye: np.ndarray
    sheens: tuple[np.ndarray, ...]
    glinted: tuple[np.ndarray, ...]
    skin: Rows
    shown: Memory = field(default_factory=lambda: Memory(2), init=False)

    @property
    def sheen(self) -> np.ndarray:
        """The `sheens` side by side, (V,ΣK)."""
        return _side_by_side(self.sheens)

    @property
    def glints(self) -> np.ndarray:
        """What is `glinted` side by side, (V,ΣK)."""
        return _side_by_side(self.glinted)


def _side_by_side(columns: tuple[np.ndarray, ...]) -> np.ndarray:
    """Each column together in memory, which is soonest put together so."""
    rows, first = np.empty((sum(each.shape[1] for each in columns), len(columns[0])), np.float32), 0
    for each in columns:
        rows[first : first + each.shape[1]] = each.T
        first += each.shape[1]
    return rows.T
