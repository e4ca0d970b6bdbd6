"""The lights of a sitting as sources: spectra with a place, in absolute units.

Two kinds only. A `Dome` gives light from every direction of the sphere, infinitely far: a sky, the ground, walls.
A `Patch` is a small light given by samples of its face: the sun, a lamp, a window; each sample gets shadow rays of
its own. Both have a few basis spectra, so that a light whose colour changes over its extent stays exact:

    radiance = weights @ basis        W/(m² sr nm)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from hashlib import blake2b

import numpy as np

from sitterlight.illuminants.observer import luminous
from sitterlight.shading.compiled import kernel
from sitterlight.shading.directions import cell_means, equal_area_directions
from sitterlight.shading.memory import Memory
from sitterlight.shading.surface_kernels import DISTANT, NEAR, NEAR_FACING

_FINE = 64
_HORIZON_WIDTH = 0.02


class Pattern:
    """How light is spread over a dome: radiance weights (N,K) for unit directions (N,3) in the room frame.

    It knows no strength, so that it and all that is worked out from it outlast a change of strength.
    """

    def __init__(self, weights: Callable[[np.ndarray], np.ndarray]):
        self._weights = weights
        self._cells, self._irradiance = Memory(4), Memory(16)

    def __call__(self, directions: np.ndarray) -> np.ndarray:
        return self._weights(directions)

    @cached_property
    def fine(self) -> np.ndarray:
        """Radiance weights (M,K) at the fine equal-area directions of the room frame."""
        return self(fine_directions())

    def cells(self, resolution: int, rotation: np.ndarray) -> np.ndarray:
        """Mean weights (N,K) float32 over the cells of a head-frame direction set, head→room `rotation`."""
        key = (resolution, rotation.tobytes())
        return self._cells.of(key, lambda: self._mean_of_cells(resolution, rotation))

    def irradiance(self, normal: np.ndarray) -> np.ndarray:
        """Weights (K,) of the irradiance of an unobstructed surface with unit `normal (3,)`."""
        return self._irradiance.of(np.asarray(normal, float).tobytes(), lambda: self._sum_before(normal))

    def _mean_of_cells(self, resolution: int, rotation: np.ndarray) -> np.ndarray:
        fine = self.fine
        if not np.array_equal(rotation, np.eye(3)):
            fine = self(fine_directions() @ rotation.T)
        return np.ascontiguousarray(cell_means(fine, 12 * resolution**2), dtype=np.float32)

    def _sum_before(self, normal: np.ndarray) -> np.ndarray:
        cosine = np.maximum(fine_directions() @ normal, 0)
        return np.pi * (cosine @ self.fine) / cosine.sum()


Mixed = tuple[tuple[float, np.ndarray], ...]
"""Amounts of other bases (K,81) that a basis is the sum of."""


@dataclass(frozen=True, eq=False)
class Dome:
    """Light from all around: radiance is that of `pattern` times `basis`, of which `mixed` tells what it comes from."""

    name: str
    kind: str
    basis: np.ndarray
    pattern: Pattern
    place: tuple[float, float] | None = None
    mixed: Mixed = ()

    @property
    def luminance_of_basis(self) -> np.ndarray:
        """Luminous equivalent of each basis spectrum, (K,)."""
        return luminous(self.basis)

    def irradiance(self, normal: np.ndarray) -> np.ndarray:
        """Weights (K,) of the irradiance of an unobstructed surface with unit `normal (3,)` at the origin."""
        return self.pattern.irradiance(normal)

    def mean_radiance(self) -> np.ndarray:
        """Weights (K,) of the mean radiance over the whole sphere."""
        return self.pattern.fine.mean(axis=0)

    def cells(self, resolution: int, rotation: np.ndarray) -> np.ndarray:
        """Mean weights (N,K) float32 over the cells of a head-frame direction set, head→room `rotation`."""
        return self.pattern.cells(resolution, rotation)


@dataclass(frozen=True, eq=False)
class Patch:
    """A small light, by `points (S,3)`: unit directions where it is `distant`, else places in mm, room frame.

    `facing (S,3)` is the normal of the face at each sample, or None where it gives alike to all sides.
    `weights (S,K)`: radiance times solid angle (distant) or times area in mm² (near). `spread`: its half-width seen
    from the head, radians.
    """

    name: str
    kind: str
    basis: np.ndarray
    points: np.ndarray
    weights: np.ndarray
    distant: bool
    facing: np.ndarray | None = None
    place: tuple[float, float] | None = None
    spread: float = 0.0

    @property
    def luminance_of_basis(self) -> np.ndarray:
        """Luminous equivalent of each basis spectrum, (K,)."""
        return luminous(self.basis)

    @cached_property
    def digest(self) -> bytes:
        """What tells its place and its samples from others'."""
        parts = (self.points, self.weights, np.zeros(0) if self.facing is None else self.facing)
        return blake2b(b"".join(map(np.ndarray.tobytes, parts)) + bytes([self.distant]), digest_size=16).digest()

    @cached_property
    def middle(self) -> np.ndarray:
        """The mean (3,) of its points."""
        return self.points.mean(axis=0)

    @cached_property
    def order(self) -> np.ndarray:
        """An order (S,) of its samples in which each stands farthest from all before it."""
        return spread_order(self.points)

    @cached_property
    def rows(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Its samples in this order, each number of all of them together, float32: `points (3,S)`, `facing (3,S)`, all
        zero where it has none, and `weights (K,S)`."""
        facing = np.zeros_like(self.points) if self.facing is None else self.facing
        samples = np.concatenate([self.points, facing, self.weights], axis=1)[self.order]
        rows = np.ascontiguousarray(samples.T, np.float32)
        return rows[:3], rows[3:6], rows[6:]

    @property
    def place_kind(self) -> int:
        """Which of the kinds of `surface_kernels` it is."""
        if self.distant:
            return DISTANT
        return NEAR if self.facing is None else NEAR_FACING

    def thinned(self, count: int) -> Patch:
        """The same light by `count` samples, each in the middle of those that it stands for."""
        if len(self.points) <= count:
            return self
        first = self.points[self.order[:count]]
        owner = np.linalg.norm(self.points[:, None] - first, axis=2).argmin(axis=1)
        gather = (owner == np.arange(count)[:, None]).astype(float)
        points = gather @ self.points / gather.sum(axis=1, keepdims=True)
        if self.distant:
            points /= np.linalg.norm(points, axis=1, keepdims=True)
        facing = None if self.facing is None else gather @ self.facing / gather.sum(axis=1, keepdims=True)
        return replace(self, points=points, weights=gather @ self.weights, facing=facing)

    def toward(self, positions: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Unit directions (V,S,3) from `positions (V,3)` mm in the room, and solid-angle weights (V,S,K)."""
        if self.distant:
            shape = (len(positions), *self.points.shape)
            return np.broadcast_to(self.points, shape), np.broadcast_to(
                self.weights, (len(positions), *self.weights.shape)
            )
        offset = self.points[None] - positions[:, None]
        square = (offset**2).sum(axis=-1)
        directions = offset / np.sqrt(square)[..., None]
        factor = 1 / square
        if self.facing is not None:
            factor = factor * np.maximum(-(directions * self.facing).sum(axis=-1), 0)
        return directions, self.weights[None] * factor[..., None]

    def irradiance(self, normal: np.ndarray) -> np.ndarray:
        """Weights (K,) of the irradiance of an unobstructed surface with unit `normal (3,)` at the origin."""
        return _irradiance(self, np.asarray(normal, float).tobytes())

    def mean_radiance(self) -> np.ndarray:
        """Weights (K,) of the mean radiance over the whole sphere, seen from the origin."""
        return self.toward(np.zeros((1, 3)))[1][0].sum(axis=0) / (4 * np.pi)


@lru_cache(maxsize=64)
def _irradiance(patch: Patch, normal: bytes) -> np.ndarray:
    """Of a patch that stays it is asked for again and again, by the white card and by the ground."""
    directions, weights = patch.points, patch.weights
    if not patch.distant:
        (directions,), (weights,) = patch.toward(np.zeros((1, 3)))
    irradiance = np.maximum(directions @ np.frombuffer(normal), 0) @ weights
    irradiance.setflags(write=False)
    return irradiance


Source = Dome | Patch


def mixture(source: Source) -> Mixed:
    """What a light is the sum of: most are of one piece. What another light gives to it often keeps its spectrum while
    its amount changes, and what skin makes of that spectrum is known then."""
    return source.mixed if isinstance(source, Dome) and source.mixed else ((1.0, source.basis),)


def spectrum_of(source: Source, weights: np.ndarray) -> np.ndarray:
    """Spectrum (81,) of basis weights (K,)."""
    return weights @ source.basis


def spread_order(points: np.ndarray) -> np.ndarray:
    """An order (S,) of `points (S,3)` in which each stands farthest from all before it."""
    order = np.zeros(len(points), np.int64)
    _spread(np.ascontiguousarray(points, np.float64), np.full(len(points), np.finfo(float).max), order)
    return order


@kernel
def _spread(points, nearest, order):
    for turn in range(len(order)):
        last, far = order[turn], 0
        nearest[last] = -1
        for s in range(len(points)):
            x, y, z = points[s, 0] - points[last, 0], points[s, 1] - points[last, 1], points[s, 2] - points[last, 2]
            nearest[s] = min(nearest[s], x * x + y * y + z * z)
            if nearest[s] > nearest[far]:
                far = s
        if turn + 1 < len(order):
            order[turn + 1] = far


def above_horizon(height: np.ndarray) -> np.ndarray:
    """How much of a fine cell at `height` above the horizon is above it: 0 to 1, one half at the horizon."""
    return np.clip(0.5 + height / _HORIZON_WIDTH, 0, 1)


def fine_directions() -> np.ndarray:
    """The directions (M,3) at which a dome is described."""
    return equal_area_directions(_FINE)
