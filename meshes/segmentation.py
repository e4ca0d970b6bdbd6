"""Finding planes in the shape of a mesh: neighbouring patches joined, the most alike first, until few are left.

Patches are alike when they look the same way and lie close together: joining two adds to the sum of squared
distances from their means as in J. Ward, "Hierarchical grouping to optimize an objective function", JASA 58 (1963),
here of normals and places weighted by area, over neighbours only, as M. Garland, A. Willmott and P. Heckbert do for
faces ("Hierarchical face clustering on polygonal surfaces", I3D 2001). Because each joining lies within the next, one
calculation answers for every count of planes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from sitterlight.meshes.head import face_vectors, unit
from sitterlight.meshes.triangles import edge_pairs

FEWEST, MOST = 2, 120  # planes
USUAL_MOST = 80
WIDEST = 22.0  # degrees, root mean square of a plane's normals about their mean, where no count is asked for
PLACE = 0.5  # what half a diagonal counts beside a unit normal
SMOOTHING = 4  # rounds in which faces at a border may change sides


@dataclass(frozen=True, eq=False)
class Hierarchy:
    """All ways to part a mesh of F faces. Joining `k` makes patch F + k out of `joined[k] (2,)`, the cheaper first.

    The first `named` joinings lie within one given label, those up to `touching` join neighbours, the rest join pieces
    that don't touch. `spread (F + joinings,)` degrees of every patch.
    """

    faces: int
    joined: NDArray[np.int64]
    spread: NDArray[np.float64]
    named: int
    touching: int

    @property
    def named_count(self) -> int:
        """How many patches there are when all of one label are joined."""
        return self.faces - self.named

    def parted(self, count: int) -> NDArray[np.int64]:
        """(F,) the patch of each face when there are `count`, or as many as there can be."""
        steps = int(np.clip(self.faces - count, 0, len(self.joined)))
        return self._labels(np.arange(len(self.joined)) < steps)

    def flat_enough(self, widest: float = WIDEST, most: int = USUAL_MOST) -> NDArray[np.int64]:
        """(F,) the fewest patches whose normals spread by at most `widest` degrees, or `most` of them."""
        first = self.faces
        may = (self.spread[first:] <= widest) & (np.arange(len(self.joined)) < self.touching)
        for step, (one, other) in enumerate(self.joined):
            may[step] &= all(part < first or may[part - first] for part in (one, other))
        label = self._labels(may)
        return label if label.max() < most else self.parted(most)

    def _labels(self, done: NDArray[np.bool_]) -> NDArray[np.int64]:
        first = self.faces
        onto = np.arange(first + len(self.joined))
        for step in np.flatnonzero(done)[::-1]:
            onto[self.joined[step]] = onto[first + step]
        _, label = np.unique(onto[:first], return_inverse=True)
        return label.ravel()


def hierarchy(
    vertices: NDArray[np.float64],
    faces: NDArray[np.int32],
    label: NDArray | None = None,
    family: NDArray | None = None,
) -> Hierarchy:
    """Every parting of a mesh.

    With `label (F,)`, faces of one label are joined before any of different ones; with `family (F,)`, labels that touch
    and are of one family next.
    """
    area, features = _features(vertices, faces)
    edges = _different(edge_pairs(faces)[0] // 3, len(faces))
    growing = _Growing(area, area[:, None] * features, edges)
    if label is not None:
        growing.join_alike(label)
        growing.join_scattered(label)
    named = growing.joinings
    if family is not None:
        growing.join_alike(family)
    growing.join_neighbours()
    touching = growing.joinings
    growing.join_the_rest()
    return growing.hierarchy(named, touching)


def _features(vertices: NDArray, faces: NDArray) -> tuple[NDArray, NDArray]:
    """(F,) areas and (F, 6): unit normals, and places where half the diagonal is PLACE."""
    vectors = face_vectors(vertices, faces)
    half = 0.5 * np.linalg.norm(np.ptp(vertices, axis=0))
    middles = vertices[faces].mean(axis=1) - vertices.mean(axis=0)
    area = np.maximum(np.linalg.norm(vectors, axis=1), 1e-12)
    return area, np.hstack([unit(vectors), PLACE * middles / half])


def _different(pairs: NDArray, count: int) -> NDArray[np.int64]:
    """Pairs of different numbers, the smaller first, each once."""
    low, high = pairs.min(axis=1), pairs.max(axis=1)
    key = np.unique(low[low < high] * np.int64(count) + high[low < high])
    return np.stack([key // count, key % count], axis=1)


class _Growing:
    """Patches while they are joined: pairs that are each other's cheapest neighbour, all at once, round by round."""

    def __init__(self, areas: NDArray, sums: NDArray, edges: NDArray):
        self.areas, self.sums, self.edges = areas.copy(), sums, edges
        self.face = np.arange(len(areas))  # some face of each living patch
        self.first = len(areas)
        self.names = np.arange(len(areas))  # the patch that each living one is called by
        self.joined: list[NDArray] = []
        self.costs: list[NDArray] = []
        self.spreads = [_spread(areas, sums)]
        self.height = np.zeros(len(areas))
        self.floor = 0.0  # below which no joining of this stage costs
        self.dice = np.random.default_rng(0)

    @property
    def joinings(self) -> int:
        return sum(map(len, self.joined))

    def join_alike(self, label: NDArray) -> None:
        """Join what touches and has one label, `label (F,)`."""
        while True:
            of_patch = label[self.face]
            alike = self.edges[of_patch[self.edges[:, 0]] == of_patch[self.edges[:, 1]]]
            if not len(alike):
                break
            self._join(alike)
        self._begin_stage()

    def join_scattered(self, label: NDArray) -> None:
        """Join the pieces of each label that don't touch."""
        while True:
            of_patch = label[self.face]
            order = np.argsort(of_patch, kind="stable")
            same = of_patch[order[1:]] == of_patch[order[:-1]]
            if not same.any():
                break
            self._join(np.sort(np.stack([order[:-1][same], order[1:][same]], axis=1), axis=1))
        self._begin_stage()

    def join_neighbours(self) -> None:
        """Join what touches, until nothing does."""
        while len(self.edges):
            self._join(self.edges)
        self._begin_stage()

    def join_the_rest(self) -> None:
        """Join pieces that share no edge, so that any count can be had."""
        while len(self.areas) > 1:
            count = len(self.areas)
            if count <= 200:
                pairs = np.stack(np.triu_indices(count, 1), axis=1)
            else:  # along a line that goes through the places in order
                order = np.lexsort(np.round(self.sums[:, 3:] / self.areas[:, None], 3).T)
                pairs = np.sort(np.stack([order[:-1], order[1:]], axis=1), axis=1)
            self._join(pairs)

    def _begin_stage(self) -> None:
        self.floor = max((float(cost.max()) for cost in self.costs if len(cost)), default=0.0)

    def _join(self, edges: NDArray) -> None:
        cost = self.floor + self._cost(edges)
        order = np.lexsort((self.dice.random(len(edges)), cost))
        rank = np.empty(len(edges), dtype=np.int64)
        rank[order] = np.arange(len(edges))
        best = np.full(len(self.areas), len(edges))
        np.minimum.at(best, edges[:, 0], rank)
        np.minimum.at(best, edges[:, 1], rank)
        mutual = (best[edges[:, 0]] == rank) & (best[edges[:, 1]] == rank)
        one, other = edges[mutual].T
        cost = np.maximum(cost[mutual], np.maximum(self.height[one], self.height[other]))
        self.joined.append(np.stack([self.names[one], self.names[other]], axis=1))
        self.costs.append(cost)
        self._merge(one, other, cost)

    def _cost(self, edges: NDArray) -> NDArray[np.float64]:
        one, other = edges.T
        means = self.sums / self.areas[:, None]
        together = self.areas[one] * self.areas[other] / (self.areas[one] + self.areas[other])
        return together * np.sum((means[one] - means[other]) ** 2, axis=1)

    def _merge(self, one: NDArray, other: NDArray, cost: NDArray) -> None:
        first = sum(map(len, self.spreads))
        self.areas[one] += self.areas[other]
        self.sums[one] += self.sums[other]
        self.height[one] = cost
        self.names[one] = first + np.arange(len(one))
        self.spreads.append(_spread(self.areas[one], self.sums[one]))
        onto = np.arange(len(self.areas))
        onto[other] = one
        living = np.ones(len(self.areas), dtype=bool)
        living[other] = False
        number = np.cumsum(living) - 1
        self.edges = _different(number[onto[self.edges]], int(living.sum())) if len(self.edges) else self.edges
        self.areas, self.sums, self.face = self.areas[living], self.sums[living], self.face[living]
        self.names, self.height = self.names[living], self.height[living]

    def hierarchy(self, named: int, touching: int) -> Hierarchy:
        """The joinings in order of cost within each stage, patches numbered anew to match."""
        spread = np.concatenate(self.spreads)
        if not self.joined:
            return Hierarchy(self.first, np.zeros((0, 2), np.int64), spread, 0, 0)
        joined, costs = np.concatenate(self.joined), np.concatenate(self.costs)
        place = np.arange(len(costs))
        stage = (place >= named).astype(int) + (place >= touching)
        order = np.lexsort((place, costs, stage))
        number = np.arange(self.first + len(joined))
        number[self.first + order] = self.first + np.arange(len(order))
        spread = np.concatenate([spread[: self.first], spread[self.first + order]])
        return Hierarchy(self.first, number[joined[order]], spread, named, touching)


def _spread(areas: NDArray, sums: NDArray) -> NDArray[np.float64]:
    """Degrees, the root mean square of normals about their mean, from the length of their mean."""
    length = np.linalg.norm(sums[:, :3], axis=1) / areas
    return np.degrees(np.sqrt(np.maximum(0.0, 2 * (1 - np.clip(length, 0, 1)))))


def smoothed(vertices: NDArray, faces: NDArray[np.int32], label: NDArray, fixed: NDArray | None = None) -> NDArray:
    """Labels with quieter borders: a face goes over to a label that two of its neighbours have."""
    pairs = edge_pairs(faces)[0] // 3
    label = label.copy()
    for turn in range(SMOOTHING):
        near = np.full((len(faces), 3), -9)
        filled = np.zeros(len(faces), dtype=np.int64)
        for one, other in (pairs.T, pairs[:, ::-1].T):
            order = np.argsort(one, kind="stable")
            place = filled[one[order]] + np.arange(len(order)) - np.searchsorted(one[order], one[order])
            near[one[order], np.minimum(place, 2)] = label[other[order]]
            filled += np.bincount(one, minlength=len(faces))
        two = np.where(near[:, 0] == near[:, 1], near[:, 0], np.where(near[:, 1] == near[:, 2], near[:, 1], -9))
        two = np.where((near[:, 0] == near[:, 2]) & (near[:, 0] != -9), near[:, 0], two)
        changes = (two != -9) & (two != label) & (np.arange(len(faces)) % 2 == turn % 2)
        if fixed is not None:
            changes &= ~fixed
        label[changes] = two[changes]
    return label


def without_islands(
    vertices: NDArray, faces: NDArray[np.int32], label: NDArray, share: float, least: float = 0.0
) -> NDArray:
    """Labels whose stray pieces, of less than `share` of the label's area or `least` mm², went over to a neighbour."""
    label = label.copy()
    area = np.linalg.norm(face_vectors(vertices, faces), axis=1)
    pairs = edge_pairs(faces)[0] // 3
    for _ in range(3):
        same = label[pairs[:, 0]] == label[pairs[:, 1]]
        graph = sparse.coo_matrix((np.ones(same.sum(), np.int8), tuple(pairs[same].T)), (len(faces),) * 2)
        count, piece = connected_components(graph, directed=False)
        piece_area = np.bincount(piece, area, count)
        piece_label = np.empty(count, dtype=label.dtype)
        piece_label[piece] = label
        shifted = piece_label - label.min()
        total = np.bincount(shifted, piece_area)
        stray = (piece_area < share * total[shifted]) | (piece_area < least)
        border = piece[pairs[~same]]
        if not stray.any() or not len(border):
            break
        target = _longest_border(border, stray, count)
        moves = stray & (target >= 0)
        new = piece_label.copy()
        new[moves] = piece_label[target[moves]]
        label = new[piece]
    return label


def _longest_border(border: NDArray, stray: NDArray[np.bool_], count: int) -> NDArray[np.int64]:
    """(pieces,) the neighbour, itself no stray, that a stray piece has most edges with; −1 where it has none."""
    both = np.concatenate([border, border[:, ::-1]])
    both = both[stray[both[:, 0]] & ~stray[both[:, 1]]]
    key, edges = np.unique(both[:, 0] * np.int64(count) + both[:, 1], return_counts=True)
    order = np.argsort(edges, kind="stable")
    result = np.full(count, -1)
    result[key[order] // count] = key[order] % count
    return result


def spread(normals: NDArray, area: NDArray) -> float:
    """Area-weighted mean angle of normals (n, 3) from their mean, degrees."""
    mean = unit((normals * area[:, None]).sum(axis=0, keepdims=True))[0]
    angle = np.degrees(np.arccos(np.clip(normals @ mean, -1, 1)))
    return float(np.average(angle, weights=area))
