"""Light on its way through several bounces, each path known by the regions that sent it as far as that tells.

Which kinds of light (path_kinds.py) a vertex keeps apart is decided once for a head and its gloss, by what would come
to it if everything were lit alike. What lies below the limits here is counted as the nearest of those it keeps.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.bounce_kernels import (
    arrive,
    arrive_alone,
    bounce_on,
    count_as,
    follow_on,
    sort_rows,
)
from sitterlight.shading.compiled import over_vertices
from sitterlight.shading.matrix import Rows, narrowest
from sitterlight.shading.membership import Membership
from sitterlight.shading.path_kinds import ALIKE, CLOTHES, LONGEST, PUPIL, UNLIKE, Kinds

LEAST_ALIKE, LEAST_UNLIKE, LEAST_OF_CLOTHES = 5e-4, 1e-4, 2e-4
"""Shares of even light that are kept apart: of a region like others, of the eyes and their products, and of those of
the clothes, about which more light falls. By these a vertex has as many rows as it receives light from regions."""
_ORDERS = 3
"""In so many orders the way from vertex to vertex is kept: for the first bounce, the second, and all others."""
_TYPICAL = 0.5
"""What a bounce leaves of the light, when the limits are asked about."""


@dataclass(frozen=True, eq=False)
class Senders:
    """The kinds of light that each vertex receives: `region (N,)`, those of vertex v from `start[v]` to `start[v + 1]`,
    the number of a region or beyond it that of a pair."""

    start: np.ndarray
    region: np.ndarray


@dataclass(frozen=True, eq=False)
class Leaving:
    """Light about to bounce once more. `rows`: what leaves each vertex in each state, from the light before; those of
    vertex v from `start[v]` to `start[v + 1]`. `state`: which; `place (V,states)` uint16: where each vertex keeps it
    on arrival, in the slots of its rows. `along (V,V)`: the way there, from what leaves bodies to what enters them."""

    along: Rows
    rows: Rows
    start: np.ndarray
    state: np.ndarray
    place: np.ndarray

    def arriving_at(self, place: np.ndarray) -> Leaving:
        """The same with `place (V,S)` of all states, of which only those that occur are kept."""
        occurring = np.bincount(self.state, minlength=place.shape[1]) > 0
        state = (np.cumsum(occurring) - 1)[self.state].astype(np.uint8)
        return replace(self, state=state, place=np.ascontiguousarray(place[:, occurring]))


@dataclass(frozen=True, eq=False)
class Bounces:
    """The bounces between vertices: `senders`, the rows of what is known then, of these `kinds`; `leaving`: before the
    first bounce, the second …"""

    kinds: Kinds
    senders: Senders
    leaving: tuple[Leaving, ...]

    @staticmethod
    def of(matrix: Rows, membership: Membership, bounces: int) -> Bounces:
        """Between vertices of these regions; `matrix (V,V)`: from what leaves bodies to what enters them."""
        kinds = Kinds.of(bounces)
        received, light = _even_light(matrix, membership, kinds)
        counted = _counted_as(received, kinds)
        kept = (counted == np.arange(counted.shape[1])) & (received.max(axis=1, initial=0) > 0)[:, None]
        start = np.concatenate([[0], np.cumsum(kept.sum(axis=1))]).astype(np.int64)
        kind = np.nonzero(kept)[1]
        row = np.take_along_axis(np.cumsum(kept, axis=1, dtype=np.int16) - 1, counted.astype(np.int64), axis=1)
        leaving = []
        for number, order in enumerate(kinds.orders[:bounces]):
            if number == 0:
                leaves = _first_leaving(matrix, membership)
            else:
                about = kinds.orders[number - 1], order, _counted_as(light[number - 1], kinds)
                leaves = _leaving(matrix, start, kind, membership, kinds, *about)
            # A kind that is counted as another lies in the slot of that region's power.
            slot = np.where(kept[:, order.kind], order.slot, number)
            place = row[:, order.kind] * kinds.powers.shape[1] + slot
            leaving.append(leaves.arriving_at(np.maximum(place, 0).astype(np.uint16)))
        present = np.union1d(np.arange(len(REGIONS)), kind)
        senders = Senders(start, np.searchsorted(present, kind).astype(np.int32))
        occurring = Kinds(kinds.regions[present], kinds.powers[present], kinds.orders)
        return Bounces(occurring, senders, tuple(_by_states(leaving)))

    def of_light(self, entered: np.ndarray, bounces: int) -> np.ndarray:
        """Irradiance weights (N, bounces·K) float32 in the slots of each row, from light that `entered (V,K)`."""
        slots, count = self.kinds.powers.shape[1], len(self.senders.region)
        known = np.empty((count * slots, entered.shape[1]), np.float32)
        before = entered
        for number, leaving in enumerate(self.leaving[:bounces]):
            along = leaving.along.start, leaving.along.column, leaving.along.weight
            leaves = leaving.rows @ before
            to = leaving.start, leaving.state, leaving.place, slots * self.senders.start
            anew = number == 0
            if known.shape[1] == 1:
                over_vertices(arrive_alone, len(along[0]) - 1, *along, *to, leaves.ravel(), anew, known.ravel())
            else:
                over_vertices(arrive, len(along[0]) - 1, *along, *to, leaves, anew, known)
            before = known
        columns = known.shape[1]
        return known.reshape(count, slots, columns)[:, :bounces].reshape(count, bounces * columns)


def _even_light(matrix: Rows, membership: Membership, kinds: Kinds) -> tuple[np.ndarray, list[np.ndarray]]:
    """What vertices receive of each kind, (V,Q), and what leaves them before the second bounce, the third …, if all are
    lit alike. A pair counts with all its products; bounces beyond the fourth are like it."""
    bounces, regions = len(kinds.orders), len(REGIONS)
    light = np.zeros((len(membership.start) - 1, regions), np.float32)
    light[_owners(membership.start), membership.region] = _TYPICAL * membership.weight
    light = matrix @ light
    if bounces == 1:
        return light, []
    second = kinds.orders[1].kind
    received, leaves = np.zeros((len(light), len(second)), np.float32), []
    received[:, :regions] = light
    steps = [kinds.orders[0].to, kinds.orders[1].to]
    if bounces > 2:  # a third bounce on another region of a pair stays of that pair's kind
        steps[1] = np.searchsorted(second, kinds.orders[2].kind)[steps[1]].astype(np.int32)
    of = membership.start, membership.region, membership.weight
    for number in range(min(bounces, LONGEST) - 1):
        left = np.zeros_like(received)
        share = kinds.orders[min(number, 1)].share * np.float32(_TYPICAL)
        over_vertices(bounce_on, len(left), *of, light, steps[min(number, 1)], share, left)
        # What leaves no vertex in such a share arrives at none.
        enough = left.max(axis=0, initial=0) > LEAST_UNLIKE
        light = np.zeros_like(left)
        light[:, enough] = matrix @ left[:, enough]
        received += light
        leaves.append(left)
    # Where a pair has two kinds, the further one has products of the longest paths only.
    further = (np.diff(kinds.regions, axis=0, prepend=-1) == 0).all(axis=1)
    pair = np.cumsum(~further) - 1
    total = received[:, pair]
    if further.any():
        total[:, further] = light[:, pair[further]]
    leaves = [left[:, pair] for left in leaves]
    return total, leaves + [leaves[-1]] * (bounces - LONGEST)


def _counted_as(light: np.ndarray, kinds: Kinds) -> np.ndarray:
    """The kind that each kind of light is counted as, (V,Q) uint8: itself where there is enough of it."""
    least = np.full(len(kinds.regions), LEAST_UNLIKE, np.float32)
    least[list(ALIKE)] = LEAST_ALIKE
    least[(kinds.regions == CLOTHES).any(axis=1)] = LEAST_OF_CLOTHES
    # A product is nearer to the power of its darker region: (a − o)·a and (a − o)·o are the errors.
    darkness = np.full(len(REGIONS), 1)
    darkness[[*UNLIKE, PUPIL]] = 0, 2, 3, 4
    swap = np.diff(darkness[kinds.regions], axis=1)[:, 0] > 0
    towards = np.where(swap[:, None], kinds.regions[:, ::-1], kinds.regions).astype(np.int32)
    alike = np.isin(np.arange(len(darkness)), ALIKE)
    counted = np.zeros(light.shape, np.uint8)
    over_vertices(count_as, len(light), light, least, towards, alike, counted)
    return counted


def _first_leaving(matrix: Rows, membership: Membership) -> Leaving:
    rows = Rows(np.arange(len(membership.region) + 1), _owners(membership.start), membership.weight)
    return Leaving(matrix, rows, membership.start, membership.region, np.zeros(0, np.uint16))


def _leaving(matrix: Rows, start, kind, membership: Membership, kinds: Kinds, before, after, counted) -> Leaving:
    """What leaves each vertex, from the rows of what it received."""
    slots = kinds.powers.shape[1]
    order = np.argsort(before.kind, kind="stable")
    states = np.searchsorted(before.kind[order], np.arange(len(kinds.regions) + 1))
    of = membership.start, membership.region, membership.weight
    about = start, kind, *of, states, before.slot[order], before.to[order], before.share[order], after.kind, counted
    vertices = len(counted)
    sizes = np.zeros((vertices + 1, 2), np.int64)
    none = np.zeros(0, np.int32), np.zeros(0, np.float32), np.zeros(0, np.int64), np.zeros(0, np.int32)
    over_vertices(follow_on, vertices, *about, np.int64(slots), sizes, False, *none)
    begin = np.cumsum(np.concatenate([np.zeros((1, 2), np.int64), sizes[:-1]]), axis=0)
    column, weight = np.empty(begin[-1, 1], np.int32), np.empty(begin[-1, 1], np.float32)
    first, state = np.zeros(begin[-1, 0] + 1, np.int64), np.zeros(begin[-1, 0], np.int32)
    first[-1] = begin[-1, 1]
    over_vertices(follow_on, vertices, *about, np.int64(slots), begin, True, column, weight, first, state)
    rows = Rows(first, column, weight)
    return Leaving(matrix, rows, np.ascontiguousarray(begin[:, 0]), state, np.zeros(0, np.uint16))


def _by_states(leaving: list[Leaving]) -> list[Leaving]:
    """The same sums, with vertices that as many states leave side by side, so that the processor foresees the ends of
    the loops over them."""
    sorted_along: list[Leaving] = []
    for number, one in enumerate(leaving):
        if number < _ORDERS:
            together = leaving[number:] if number == _ORDERS - 1 else [one]
            along = _sorted(one.along, [np.diff(each.start) for each in together])
        sorted_along.append(replace(one, along=along))
    return sorted_along


def _sorted(matrix: Rows, counts: list[np.ndarray]) -> Rows:
    """A matrix (V,V) with the entries of each row sorted by the first of `counts (V,)` of their columns, then by the
    next."""
    _, rank = np.unique(np.stack(counts, axis=1), axis=0, return_inverse=True)
    column = np.empty_like(matrix.column, narrowest(len(matrix)))
    result = Rows(matrix.start, column, np.empty_like(matrix.weight))
    about = matrix.start, matrix.column, matrix.weight, rank.ravel().astype(np.int32), np.int64(rank.max(initial=0) + 1)
    over_vertices(sort_rows, len(matrix), *about, result.column, result.weight)
    return result


def _owners(start: np.ndarray) -> np.ndarray:
    return np.repeat(np.arange(len(start) - 1, dtype=np.int32), np.diff(start))
