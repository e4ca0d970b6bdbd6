"""What a path of several bounces is counted as: the albedos whose product colours its light.

The light of a path has the product of the albedos of all regions that sent it, in whatever order. To keep every product
apart would take a number per vertex for each. Regions of one skin are so alike that a mean serves for theirs; the eyes
and the clothes are not. So a path is counted as a power of one region, aⁿ, or as a product aⁱ·oʲ of a region and an
unlike one. Where two alike regions meet it is counted as both: a·b as (a² + b²) / 2, which is off by (a − b)² / 2 only.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np

from sitterlight.meshes.regions import REGIONS, region_number
from sitterlight.shading.compiled import kernel

CLOTHES = region_number("clothes")
UNLIKE = (region_number("eye white"), CLOTHES, region_number("iris"))
"""Regions whose albedo is not nearly that of skin, from bright to dark; clothes may be anything."""
PUPIL = region_number("pupil")
"""A pupil returns next to nothing: a path that has met one counts as pupils throughout."""
LONGEST = 4
"""Bounces up to which products of unlike regions are kept apart."""
ALIKE = tuple(region for region in range(len(REGIONS)) if region not in (*UNLIKE, PUPIL))
PAIRS = (*((a, o) for a in ALIKE for o in UNLIKE), *combinations(UNLIKE, 2))
MOST = 3
"""States that one more bounce can make of a state."""


@dataclass(frozen=True, eq=False)
class Order:
    """The states of paths of as many bounces, S of them: each region's power, then the products of pairs.

    `kind (S,)` and `slot (S,)`: where the vertices keep them (see Kinds). `to (S,R,3)` and `share (S,R,3)`: what one
    more bounce, on a region, makes of them."""

    kind: np.ndarray
    slot: np.ndarray
    to: np.ndarray
    share: np.ndarray


@dataclass(frozen=True, eq=False)
class Kinds:
    """Kinds of light that a vertex receives, Q of them, each with as many slots, n, as there are bounces: of a region,
    the light after 1 … n bounces; of a pair of unlike regions, that of their products.

    `regions (Q,2)` and `powers (Q,n,2)`: the albedos that colour each slot; a region's own kind names it twice.
    `orders`: the states after 1 … n bounces."""

    regions: np.ndarray
    powers: np.ndarray
    orders: tuple[Order, ...]

    @staticmethod
    @lru_cache(maxsize=8)
    def of(bounces: int) -> Kinds:
        """The kinds for paths of up to so many bounces."""
        slots, count = max(bounces, 1), len(REGIONS)
        regions = [(region, region) for region in range(count)]
        places = {((region, n),): (region, n - 1) for region in range(count) for n in range(1, slots + 1)}
        powers = [[(n, 0) for n in range(1, slots + 1)]] * count
        for a, o in PAIRS:
            products = [(n - j, j) for n in range(2, min(slots, LONGEST) + 1) for j in range(1, n)]
            for first in range(0, len(products), slots):
                some = products[first : first + slots]
                for slot, (i, j) in enumerate(some):
                    places[_named({a: i, o: j})] = len(regions), slot
                regions.append((a, o))
                powers.append(some + [(0, 0)] * (slots - len(some)))
        by_order: list[list[State]] = [[] for _ in range(slots)]
        for state in places:
            by_order[_bounces(state) - 1].append(state)
        orders = tuple(
            _order(states, after, places) for states, after in zip(by_order, [*by_order[1:], []], strict=True)
        )
        return Kinds(np.array(regions), np.array(powers), orders)

    def sent(self, albedo: np.ndarray) -> np.ndarray:
        """What the bodies on its way leave of each kind's light, (Q,n,81), from `albedo (R,81)`; as exact as that."""
        sent = np.empty((*self.powers.shape[:2], albedo.shape[1]), albedo.dtype)
        _send(0, len(sent), albedo, self.regions, self.powers, sent)
        return sent


State = tuple[tuple[int, int], ...]
"""Regions and their powers, in the order of their numbers."""


def bounced_on(state: State, region: int) -> list[tuple[State, float]]:
    """What a path in a state is counted as once `region` has sent it on: states and their shares."""
    met, order = Counter(dict(state)), _bounces(state) + 1
    met[region] += 1
    if PUPIL in met:
        return [(((PUPIL, order),), 1.0)]
    if order > LONGEST:
        return [(((one, order),), met[one] / order) for one in sorted(met)]
    alike, unlike = [one for one in met if one in ALIKE], [one for one in UNLIKE if one in met]
    if len(unlike) > (1 if alike else 2):
        # The brighter counts as skin: beside what a darker one leaves of its light, that is little.
        met[alike[0] if alike else unlike[1]] += met.pop(unlike[0])
    if len(alike) < 2:
        return [(_named(met), 1.0)]
    others = {one: power for one, power in met.items() if one not in alike}
    whole = sum(met[one] for one in alike)
    return [(_named({one: whole, **others}), met[one] / whole) for one in alike]


def _named(powers: dict[int, int]) -> State:
    return tuple(sorted(powers.items()))


def _bounces(state: State) -> int:
    return sum(power for _, power in state)


def _order(states: list[State], after: list[State], places: dict[State, tuple[int, int]]) -> Order:
    number = {state: index for index, state in enumerate(after)}
    to, share = np.zeros((len(states), len(REGIONS), MOST), np.int32), np.zeros((len(states), len(REGIONS), MOST))
    for index, state in enumerate(states):
        for region in range(len(REGIONS) if after else 0):
            for way, (following, part) in enumerate(bounced_on(state, region)):
                to[index, region, way], share[index, region, way] = number[following], part
    kind, slot = np.array([places[state] for state in states], np.int32).T
    return Order(np.ascontiguousarray(kind), np.ascontiguousarray(slot), to, share.astype(np.float32))


@kernel
def _send(first, last, albedo, regions, powers, sent):
    for kind in range(first, last):
        for slot in range(powers.shape[1]):
            left = sent[kind, slot]
            left[:] = 1
            for one in range(2):
                body = albedo[regions[kind, one]]
                for _ in range(powers[kind, slot, one]):
                    for band in range(len(left)):
                        left[band] *= body[band]
