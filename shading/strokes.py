"""Which parts of a plane are one stroke of paint: the whole, or up to three: lit, shadow, highlight.

The spread of a plane is the area-weighted root mean square of ΔE00 between the seen colour of its places and the
seen colour of its mean. Up to 4 the plane is one stroke. Above, first its highlight is taken out: the places that
sheen lifts by more than 6 in L* above what the plane's median sheen would make of them. If the rest still spreads
above 4, it is parted at the one L* that leaves the least variance of L* in the two sides: lit and shadow. A part
below a twentieth of the plane (a highlight below a fiftieth) is too small for a stroke of its own.

Only what the eye sees counts, by area on the mesh that is looked at (`sight`). A plane of which it sees less than a
fiftieth is hidden: its colour is that of the whole plane without sheen, alike to all sides.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.eye import Eye
from sitterlight.shading.sight import seen_of_planes

Array = NDArray[np.floating]

LARGEST_SPREAD = 4.0
HIGHLIGHT_LIFT = 6.0
LEAST_PART = 0.05
LEAST_HIGHLIGHT = 0.02
LEAST_SEEN = 0.02


@dataclass(frozen=True, eq=False)
class Stroke:
    """One part of a plane. vertices (n,) and weights (n,) that sum to 1; share_of_area of the plane's area that
    counts (seen, or whole where the plane is hidden), spread in ΔE00 about the stroke's own mean."""

    part: str
    vertices: NDArray[np.int32]
    weights: Array
    share_of_area: float
    spread: float


@dataclass(frozen=True, eq=False)
class PlaneParts:
    """A plane as strokes. visible: share of its area that the eye sees; whole: the plane as if one stroke."""

    visible: float
    hidden: bool
    whole: Stroke
    strokes: tuple[Stroke, ...]


@dataclass(frozen=True, eq=False)
class SeenLight:
    """Scene XYZ (V, 3), cd/m², parted for the search: all of it, the sheen in it, and the body's alike to all sides;
    seen, whole (planes, V): the
    area of each plane, mm², that the eye sees and all of it, by the vertices whose light it has."""

    XYZ: Array
    sheen: Array
    even: Array
    seen: sparse.csr_matrix
    whole: sparse.csr_matrix


def seen_light(scene) -> SeenLight:
    """What a scene sends to the eye, with its sheen apart."""
    is_sheen = np.array([part.path == "sheen" for part in scene.parts])
    sheen = np.asarray(scene.part_XYZ)[is_sheen].sum(0, dtype=float)
    body = np.asarray(scene.part_XYZ)[~is_sheen].sum(0, dtype=float)
    even = body * alike(scene)
    return SeenLight(body + sheen, sheen, even, seen_of_planes(scene), sparse.csr_matrix(scene.head.plane_weights))


def alike(scene) -> Array:
    """What makes of the body's light toward the eye its mean to all sides (V, 1): where the eye looks along a surface
    the body sends it less than elsewhere, which is nothing to a plane that is hidden."""
    return 1.0 / np.asarray(scene.toward_eye, float)


def part_planes(light: SeenLight, eye: Eye) -> tuple[PlaneParts, ...]:
    """Every plane as strokes, for an eye with its key."""
    eye = eye.with_key(eye.key.parting or eye.key)
    return tuple(_part(plane, light, eye) for plane in range(light.whole.shape[0]))


def _part(plane: int, light: SeenLight, eye: Eye) -> PlaneParts:
    total, (vertices, area) = _row(light.whole, plane)[1].sum(), _row(light.seen, plane)
    visible = float(min(area.sum() / total, 1.0)) if total > 0.0 else 0.0
    hidden = visible < LEAST_SEEN
    if hidden:
        vertices, area = _row(light.whole, plane)
    area = area / max(area.sum(), 1e-300)
    XYZ, sheen = light.XYZ[vertices], light.sheen[vertices]
    if hidden:
        XYZ, sheen = light.even[vertices], np.zeros_like(sheen)
    place = _Place(vertices, area, XYZ, sheen, eye)
    whole = place.stroke("whole", np.ones(len(vertices), bool))
    strokes = place.strokes() if whole.spread > LARGEST_SPREAD else (whole,)
    return PlaneParts(visible, hidden, whole, strokes)


def _row(matrix: sparse.csr_matrix, row: int) -> tuple[NDArray, Array]:
    """Vertices and areas of one plane, those of some size."""
    entries = slice(matrix.indptr[row], matrix.indptr[row + 1])
    some = matrix.data[entries] > 0.0
    return matrix.indices[entries][some], matrix.data[entries][some]


class _Place:
    """The places of one plane that count, while it is being parted."""

    def __init__(self, vertices: NDArray, area: Array, XYZ: Array, sheen: Array, eye: Eye) -> None:
        self.vertices, self.area, self.XYZ, self.sheen, self.eye = vertices, area, XYZ, sheen, eye
        self.Lab = eye.Lab(XYZ)

    def stroke(self, part: str, member: NDArray[np.bool_]) -> Stroke:
        share = float(self.area[member].sum())
        weights = self.area[member] / max(share, 1e-300)
        return Stroke(part, self.vertices[member], weights, share, self._spread(member, weights))

    def _spread(self, member: NDArray[np.bool_], weights: Array) -> float:
        if not member.any():
            return 0.0
        mean = self.eye.Lab(weights @ self.XYZ[member])
        return float(np.sqrt(weights @ delta_E00(self.Lab[member], mean) ** 2))

    def strokes(self) -> tuple[Stroke, ...]:
        highlight = self._highlight()
        rest = ~highlight
        parts = [self.stroke("lit", rest)]
        if parts[0].spread > LARGEST_SPREAD:
            shadow = rest & (self.Lab[:, 0] < _parting(self.Lab[rest, 0], self.area[rest]))
            if shadow.any():
                parts = [self.stroke("lit", rest & ~shadow), self.stroke("shadow", shadow)]
        if highlight.any():
            return (*parts, self.stroke("highlight", highlight))
        return tuple(parts) if len(parts) > 1 else (self.stroke("whole", rest),)

    def _highlight(self) -> NDArray[np.bool_]:
        """The places that sheen lifts well above what the plane's median sheen would make of them (n,)."""
        Y = self.sheen[:, 1]
        median = _weighted_median(Y, self.area)
        least = np.minimum(1.0, median / np.maximum(Y, 1e-12))[:, None]
        calm = self.eye.Lab(self.XYZ - self.sheen * (1.0 - least))
        highlight = self.Lab[:, 0] - calm[:, 0] > HIGHLIGHT_LIFT
        share = self.area[highlight].sum()
        return highlight if LEAST_HIGHLIGHT <= share <= 1.0 - LEAST_PART else np.zeros_like(highlight)


def _weighted_median(values: Array, weights: Array) -> float:
    order = np.argsort(values)
    running = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(running, 0.5 * running[-1])])


def _parting(lightness: Array, weights: Array) -> float:
    """The L* that parts places best in two (Otsu 1979, IEEE Transactions SMC 9, 62); −inf if none does."""
    order = np.argsort(lightness)
    L, w = lightness[order], weights[order] / weights.sum()
    below, moment = np.cumsum(w)[:-1], np.cumsum(w * L)[:-1]
    allowed = (below >= LEAST_PART) & (below <= 1.0 - LEAST_PART) & (np.diff(L) > 0.0)
    if not allowed.any():
        return -np.inf
    between = (moment - below * (w @ L)) ** 2 / (below * (1.0 - below))
    best = int(np.argmax(np.where(allowed, between, -1.0)))
    return float(0.5 * (L[best] + L[best + 1]))
