"""Vertices in bundles: side by side, as many as a compiled loop takes together, such as belong to alike regions and
receive light from alike ones.

Vertices that differ in a region share a bundle nevertheless: one that does not belong has weight zero there.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sitterlight.shading.bounce import Senders
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.membership import Membership

LANES = 32
"""Vertices in a bundle: with more, more of them are unlike; with fewer, a loop is over before it is worth beginning."""


@dataclass(frozen=True, eq=False)
class Bundles:
    """`vertex (B,LANES)`: who lies in each lane, −1 for nobody. The regions that vertices of bundle b belong to are
    `region[start[b]:start[b + 1]]`, each with its `weight (…,LANES)`; those that they receive light from are
    `sender[sender_start[b]:sender_start[b + 1]]`.

    `place (V,2)` is the bundle and lane of each vertex, `sender_place (N,2)` the place in `sender` and the lane of each
    of the senders' rows. `pair (R,R)` numbers the pairs of receiving and sending regions that occur; −1 elsewhere."""

    vertex: np.ndarray
    start: np.ndarray
    region: np.ndarray
    weight: np.ndarray
    sender_start: np.ndarray
    sender: np.ndarray
    place: np.ndarray
    sender_place: np.ndarray
    pair: np.ndarray

    def __len__(self) -> int:
        return len(self.vertex)

    @cached_property
    def pairs(self) -> tuple[np.ndarray, np.ndarray]:
        """The receiving and the sending region of each pair that occurs, (P,) each, as `pair` numbers them."""
        return np.nonzero(self.pair >= 0)

    @staticmethod
    def of(membership: Membership, senders: Senders) -> Bundles:
        """Bundles of all vertices."""
        count = len(membership.start) - 1
        regions = 1 + max(membership.region.max(initial=0), senders.region.max(initial=0))
        belongs, receives = (_held(each, count, regions) for each in (membership, senders))
        order = _next_to_alike(belongs, receives)
        place = np.empty((count, 2), np.int64)
        place[order] = np.stack(np.divmod(np.arange(count), LANES), axis=1)
        first = np.arange(0, count, LANES)
        vertex = np.full(len(first) * LANES, -1, np.int32)
        vertex[:count] = order

        belongs, receives = (np.logical_or.reduceat(each[order], first) for each in (belongs, receives))
        start, region, member_place = _numbered(belongs, membership, place)
        sender_start, sender, sender_place = _numbered(receives, senders, place)
        weight = np.zeros((len(region), LANES), np.float32)
        weight[tuple(member_place.T)] = membership.weight
        met = (belongs.T.astype(np.float32) @ receives.astype(np.float32)) > 0
        pair = np.where(met, np.cumsum(met).reshape(met.shape) - 1, -1).astype(np.int32)
        return Bundles(
            vertex.reshape(-1, LANES), start, region, weight, sender_start, sender, place, sender_place, pair
        )


def laid_out(values: np.ndarray, place: np.ndarray, rows: int) -> np.ndarray:
    """Values (N,C) float32 by their `place (N,2)` among `rows` and lanes, (rows,C,LANES); zero where nobody lies."""
    laid = np.zeros((rows, values.shape[1], LANES), np.float32)
    over_vertices(_lay, len(values), place, values, laid)
    return laid


def _next_to_alike(belongs: np.ndarray, receives: np.ndarray) -> np.ndarray:
    """An order (V,) in which neighbours differ little, from what vertices belong to and receive, (V,R): that of a Gray
    code, whose numbers in turn differ in one digit, with what is rare first."""
    digits = [each[:, np.argsort(each.sum(axis=0))] for each in (belongs, receives)]
    code = np.cumsum(np.concatenate(digits, axis=1), axis=1) % 2
    return np.lexsort(code.T[::-1])


def _held(of: Membership | Senders, count: int, regions: int) -> np.ndarray:
    """Whether each vertex has each region, (V,R)."""
    held = np.zeros((count, regions), bool)
    held[_owner(of), of.region] = True
    return held


def _owner(of: Membership | Senders) -> np.ndarray:
    """The vertex that each row of a packed list belongs to."""
    return np.repeat(np.arange(len(of.start) - 1), np.diff(of.start))


def _numbered(held: np.ndarray, of: Membership | Senders, place: np.ndarray):
    """Where the list of each bundle begins, the regions in it, and the place in it and the lane of each row of `of`,
    from what bundles hold, (B,R)."""
    number = np.cumsum(held).reshape(held.shape) - 1
    start = np.concatenate([[0], np.cumsum(held.sum(axis=1))]).astype(np.int64)
    bundle, lane = place[_owner(of)].T
    return start, np.nonzero(held)[1].astype(np.int32), np.stack([number[bundle, of.region], lane], axis=1)


@kernel
def _lay(first, last, place, values, laid):
    for n in range(first, last):
        for column in range(values.shape[1]):
            laid[place[n, 0], column, place[n, 1]] = values[n, column]
