"""Light on its way through several bounces, each path known by the regions that sent it as far as that tells.

Which kinds of light (path_kinds.py) a vertex keeps apart is decided once for a head and its gloss, by what would come
to it if everything were lit alike. What lies below the limits here is counted as the nearest of those it keeps.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.bounce_kernels import arrive, bounce_on, count_as, follow_on, lead, leave
from sitterlight.shading.compiled import over_vertices
from sitterlight.shading.large_pages import in_large_pages
from sitterlight.shading.matrix import Rows, narrowest
from sitterlight.shading.membership import Membership
from sitterlight.shading.path_kinds import ALIKE, CLOTHES, LONGEST, PUPIL, UNLIKE, Kinds
from sitterlight.shading.strips import STRIP, new_strips

LEAST_ALIKE, LEAST_UNLIKE, LEAST_OF_CLOTHES = 5e-4, 1e-4, 2e-4
"""Shares of even light that are kept apart: of a region like others, of the eyes and their products, and of those of
the clothes, about which more light falls. By these a vertex has as many rows as it receives light from regions."""
_TYPICAL = 0.5
"""What a bounce leaves of the light, when the limits are asked about."""


@dataclass(frozen=True, eq=False)
class Senders:
    """The kinds of light that each vertex receives: `region (N,)`, those of vertex v from `start[v]` to `start[v + 1]`,
    the number of a region or beyond it that of a pair."""

    start: np.ndarray
    region: np.ndarray


@dataclass(frozen=True, eq=False)
class States:
    """What leaves vertices: `rows`, each a sum of the light before, those of vertex v from `start[v]` to
    `start[v + 1]`, each in one `state (M,)`."""

    rows: Rows
    start: np.ndarray
    state: np.ndarray


@dataclass(frozen=True, eq=False)
class Leaving:
    """Light about to bounce once more. STRIP states that often leave together are a kind of strips, and what leaves a
    vertex in them lies side by side. `strips`: rows (R) of what is added up in each, every entry in its `lane (n,)`
    uint8. `along`: the way from strips to what each vertex receives of each kind of them (V·B). `place (V,B·STRIP)`
    uint16: where each vertex keeps each state on arrival, in the slots of its rows."""

    strips: Rows
    lane: np.ndarray
    along: Rows
    place: np.ndarray

    @staticmethod
    def of(matrix: Rows, leaves: States, place: np.ndarray) -> Leaving:
        """Along a `matrix (V,V)` from what leaves bodies to what enters them, to the `place (V,S)` of all states."""
        vertices, owner = len(leaves.start) - 1, _owners(leaves.start)
        kind, lane, kinds = _side_by_side(leaves, place.shape[1], np.bincount(matrix.column, minlength=vertices))
        there = np.zeros((vertices, kinds), dtype=bool)
        there[owner, kind[leaves.state]] = True
        number = np.cumsum(there, dtype=np.int32).reshape(there.shape) - 1
        strip, strips = number[owner, kind[leaves.state]], int(there.sum())
        order = np.argsort(strip, kind="stable")
        rows = leaves.rows.those(order)
        begin = rows.start[np.searchsorted(strip[order], np.arange(strips + 1))]
        lanes = np.repeat(lane[leaves.state[order]], np.diff(rows.start)).astype(np.uint8)
        kept, occurring = np.zeros((vertices, kinds * STRIP), np.uint16), np.unique(leaves.state)
        kept[:, kind[occurring] * STRIP + lane[occurring]] = place[:, occurring]
        way = _lead(matrix, there, number, strips)
        return in_large_pages(Leaving(Rows(begin, rows.column, rows.weight), lanes, way, kept))


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
                leaves = _first_leaving(membership)
            else:
                about = kinds.orders[number - 1], order, _counted_as(light[number - 1], kinds)
                leaves = _leaving(start, kind, membership, kinds, *about)
            # A kind that is counted as another lies in the slot of that region's power.
            slot = np.where(kept[:, order.kind], order.slot, number)
            place = row[:, order.kind] * kinds.powers.shape[1] + slot
            leaving.append(Leaving.of(matrix, leaves, np.maximum(place, 0)))
        present = np.union1d(np.arange(len(REGIONS)), kind)
        senders = Senders(start, np.searchsorted(present, kind).astype(np.int32))
        occurring = Kinds(kinds.regions[present], kinds.powers[present], kinds.orders)
        return Bounces(occurring, senders, tuple(leaving))

    def of_light(self, entered: np.ndarray, bounces: int) -> np.ndarray:
        """Irradiance weights (N, bounces·K) float32 in the slots of each row, from light that `entered (V,K)`."""
        slots, count, columns = self.kinds.powers.shape[1], len(self.senders.region), entered.shape[1]
        known, begin = np.empty((columns, count * slots), np.float32), slots * self.senders.start
        room = new_strips(max((len(leaving.strips) for leaving in self.leaving[:bounces]), default=0))
        for column, arrived in enumerate(known):
            before = np.ascontiguousarray(entered[:, column], np.float32)
            for number, leaving in enumerate(self.leaving[:bounces]):
                strips, along, leaves = leaving.strips, leaving.along, room[: len(leaving.strips)]
                of = strips.start, strips.column, strips.weight, leaving.lane
                over_vertices(leave, len(leaves), *of, before, leaves)
                way = along.start, along.column, along.weight, leaves, leaving.place
                over_vertices(arrive, len(begin) - 1, *way, begin, number == 0, arrived)
                before = arrived
        by_slots = known.reshape(columns, count, slots)[:, :, :bounces]
        return np.moveaxis(by_slots, 0, 2).reshape(count, bounces * columns)


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


def _first_leaving(membership: Membership) -> States:
    rows = Rows(np.arange(len(membership.region) + 1), _owners(membership.start), membership.weight)
    return States(rows, membership.start, membership.region)


def _leaving(start, kind, membership: Membership, kinds: Kinds, before, after, counted) -> States:
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
    return States(Rows(first, column, weight), np.ascontiguousarray(begin[:, 0]), state)


def _side_by_side(leaves: States, states: int, asked: np.ndarray) -> tuple[np.ndarray, np.ndarray, int]:
    """The kind of strips (S,) that each of the `states` belongs to, its lane there (S,), and how many kinds there are:
    such states together as the same vertices have, each vertex counted as often as it is `asked (V,)`."""
    has = sparse.csr_matrix(
        (np.ones(len(leaves.state), np.float32), leaves.state, leaves.start), (len(leaves.start) - 1, states)
    )
    together = (has.multiply(asked[:, None]).T @ has).toarray()
    kind, lane = np.zeros((2, states), np.int64)
    left, kinds = set(np.unique(leaves.state).tolist()), 0
    while left:
        strip = [max(left, key=lambda state: together[state, state])]
        left.remove(strip[0])
        while left and len(strip) < STRIP:
            strip.append(max(left, key=lambda state: (together[state, strip].max(), together[state, state])))
            left.remove(strip[-1])
        kind[strip], lane[strip] = kinds, np.arange(len(strip))
        kinds += 1
    return kind, lane, kinds


def _lead(matrix: Rows, there: np.ndarray, number: np.ndarray, strips: int) -> Rows:
    """The way from the strips that are `there (V,B)`, which have these numbers."""
    about = matrix.start, matrix.column, matrix.weight, there, number
    begin, column = np.zeros(there.size + 1, np.int64), np.zeros(0, narrowest(strips))
    over_vertices(lead, len(matrix), *about, begin, False, column, np.zeros(0, np.float32))
    begin = np.cumsum(begin)
    column, weight = np.zeros(begin[-1], column.dtype), np.zeros(begin[-1], np.float32)
    over_vertices(lead, len(matrix), *about, begin, True, column, weight)
    return Rows(begin, column, weight)


def _owners(start: np.ndarray) -> np.ndarray:
    return np.repeat(np.arange(len(start) - 1, dtype=np.int32), np.diff(start))
