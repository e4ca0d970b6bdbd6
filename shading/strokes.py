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

from collections.abc import Sequence
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
    return _Places.of(light, eye.with_key(eye.key.parting or eye.key)).parted()


@dataclass(frozen=True, eq=False)
class _Places:
    """The places of all planes that count, plane after plane, (n,): those of plane p from `start[p]` to `start[p + 1]`,
    their vertices, areas as shares of the plane's, XYZ, sheen and Lab. Together, since each step is array work."""

    visible: Array
    start: NDArray[np.intp]
    plane: NDArray[np.intp]
    vertices: NDArray[np.int32]
    area: Array
    XYZ: Array
    sheen: Array
    Lab: Array
    eye: Eye

    @staticmethod
    def of(light: SeenLight, eye: Eye) -> _Places:
        total, seen = (np.asarray(each.sum(axis=1), float).ravel() for each in (light.whole, light.seen))
        visible = np.where(total > 0.0, np.minimum(seen / np.maximum(total, 1e-300), 1.0), 0.0)
        hidden = visible < LEAST_SEEN
        plane, vertices, area = _entries(light, hidden)
        aside = hidden[plane][:, None]
        XYZ = np.where(aside, light.even[vertices], light.XYZ[vertices])
        sheen = np.where(aside, 0.0, light.sheen[vertices])
        area = area / np.maximum(np.bincount(plane, area, len(total)), 1e-300)[plane]
        start = np.searchsorted(plane, np.arange(len(total) + 1))
        return _Places(visible, start, plane, vertices, area, XYZ, sheen, eye.Lab(XYZ), eye)

    def parted(self) -> tuple[PlaneParts, ...]:
        """The planes as strokes."""
        share, spread = self._shares_and_spreads(self.plane, len(self.visible))
        wide = spread > LARGEST_SPREAD
        part = self._parts(wide)
        share_of_part, spread_of_part = self._shares_and_spreads(3 * self.plane + part, 3 * len(self.visible))
        planes = []
        for plane, visible in enumerate(self.visible):
            here = slice(self.start[plane], self.start[plane + 1])
            whole = self._stroke("whole", here, slice(None), share[plane], spread[plane])
            apart = np.unique(part[here]) if wide[plane] else ()
            strokes = tuple(
                self._stroke(
                    _PARTS[k], here, part[here] == k, share_of_part[3 * plane + k], spread_of_part[3 * plane + k]
                )
                for k in apart
            )
            parts = strokes if len(strokes) > 1 else (whole,)
            planes.append(PlaneParts(float(visible), bool(visible < LEAST_SEEN), whole, parts))
        return tuple(planes)

    def _stroke(self, part: str, here: slice, member, share: float, spread: float) -> Stroke:
        weights = self.area[here][member] / max(share, 1e-300)
        return Stroke(part, self.vertices[here][member], weights, float(share), float(spread))

    def _shares_and_spreads(self, group: NDArray[np.intp], count: int) -> tuple[Array, Array]:
        """The share of their plane's area, and the spread, of `count` groups of places; −1 stands for none."""
        member = np.flatnonzero(group >= 0)
        group, XYZ = group[member], self.XYZ[member]
        share = np.bincount(group, self.area[member], count)
        weights = self.area[member] / np.maximum(share, 1e-300)[group]
        mean = np.stack([np.bincount(group, weights * XYZ[:, k], count) for k in range(3)], axis=1)
        apart = delta_E00(self.Lab[member], self.eye.Lab(mean)[group])
        return share, np.sqrt(np.bincount(group, weights * apart**2, count))

    def _parts(self, wide: NDArray[np.bool_]) -> NDArray[np.intp]:
        """What each place belongs to, as a place in _PARTS, where planes that are `wide` are parted."""
        highlight = self._highlights(wide)
        rest = np.where(wide[self.plane] & ~highlight, self.plane, -1)
        _, left = self._shares_and_spreads(rest, len(wide))
        part = np.where(highlight, 2, 0)
        for plane in np.flatnonzero(left > LARGEST_SPREAD):
            here = self.start[plane] + np.flatnonzero(~highlight[self.start[plane] : self.start[plane + 1]])
            lightness = self.Lab[here, 0]
            part[here[lightness < _parting(lightness, self.area[here])]] = 1
        return part

    def _highlights(self, wide: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """The places of wide planes that sheen lifts well above what the plane's median sheen would make of them."""
        median = np.zeros(len(wide))
        for plane in np.flatnonzero(wide):
            here = slice(self.start[plane], self.start[plane + 1])
            median[plane] = _weighted_median(self.sheen[here, 1], self.area[here])
        tried = np.flatnonzero(wide[self.plane])
        plane, sheen = self.plane[tried], self.sheen[tried]
        least = np.minimum(1.0, median[plane] / np.maximum(sheen[:, 1], 1e-12))[:, None]
        calm = self.eye.Lab(self.XYZ[tried] - sheen * (1.0 - least))
        lifted = self.Lab[tried, 0] - calm[:, 0] > HIGHLIGHT_LIFT
        share = np.bincount(plane[lifted], self.area[tried][lifted], len(wide))
        enough = (share >= LEAST_HIGHLIGHT) & (share <= 1.0 - LEAST_PART)
        highlight = np.zeros(len(self.plane), bool)
        highlight[tried] = lifted & enough[plane]
        return highlight


_PARTS = ("lit", "shadow", "highlight")


def _entries(light: SeenLight, hidden: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.int32], Array]:
    """Plane, vertex and area of some size, (n,) each, plane after plane: what is seen, but all of planes `hidden`."""
    found = []
    for matrix, wanted in ((light.seen, ~hidden), (light.whole, hidden)):
        plane = np.repeat(np.arange(len(hidden)), np.diff(matrix.indptr))
        kept = np.flatnonzero(wanted[plane] & (matrix.data > 0.0))
        found.append((plane[kept], matrix.indices[kept], matrix.data[kept]))
    plane, vertices, area = (np.concatenate(each) for each in zip(*found, strict=True))
    order = np.argsort(plane, kind="stable")
    return plane[order], vertices[order], area[order]


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


def stroke_weights(strokes: Sequence[Stroke], vertex_count: int) -> sparse.csr_matrix:
    """(strokes, V), rows sum to 1: takes what vertices have to the means of strokes."""
    start = np.cumsum([0, *(len(stroke.vertices) for stroke in strokes)])
    vertices, weights = (np.concatenate([getattr(s, name) for s in strokes]) for name in ("vertices", "weights"))
    return sparse.csr_matrix((weights, vertices, start), shape=(len(strokes), vertex_count))


def part_means(scene, weights: sparse.csr_matrix, hidden: NDArray[np.bool_], part_XYZ: Array) -> Array:
    """Mean XYZ of each part of a scene over each stroke (P, strokes, 3), cd/m²; `hidden` strokes without sheen."""
    count = len(part_XYZ)
    together = np.concatenate([np.asarray(XYZ, float) for XYZ in part_XYZ], axis=1)
    means = weights @ together
    if hidden.any():
        means[hidden] = weights[hidden] @ (together * alike(scene))
    means = np.ascontiguousarray(means.reshape(-1, count, 3).swapaxes(0, 1))
    is_sheen = np.array([part.path == "sheen" for part in scene.parts])
    means[np.ix_(is_sheen, hidden)] = 0.0
    return means
