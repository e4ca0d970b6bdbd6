"""Sums of arrays most of which stay from one time to the next, as the light of all lamps does but of the one that is
dragged."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sitterlight.shading.compiled import loop, over_vertices
from sitterlight.shading.memory import Memory


class StayingSum:
    """Adds up amounts of arrays (rows,K), float32 of one shape. What was there the last time too is added up first, and
    that is remembered. Safe to share between threads: who calls meanwhile only changes which of them that is."""

    def __init__(self) -> None:
        self._last: dict[tuple[int, float], np.ndarray] = {}
        self._sums = Memory(2)

    def of(self, parts: Sequence[tuple[float, np.ndarray]]) -> np.ndarray:
        """Σ amount · array over at least one of `parts`; not to be written to."""
        # Who is known by an identity is held, so that nothing else can have that identity meanwhile.
        now = {(id(array), amount): array for amount, array in parts}
        stays = tuple(key for key in now if key in self._last)
        self._last = now
        if len(now) < len(parts) or not stays:
            return _sum(parts)
        stay = [(key[1], now[key]) for key in stays]
        sum_of_these = self._sums.of(stays, lambda: (stay, _sum(stay)))[1]
        others = [(amount, array) for (_, amount), array in now.items() if (id(array), amount) not in stays]
        return _sum([(1.0, sum_of_these), *others])


def _sum(parts: Sequence[tuple[float, np.ndarray]]) -> np.ndarray:
    (amount, one), *left = parts
    if not left and amount == 1:
        return one
    total = np.empty_like(one)
    while True:
        these, left = [(amount, one), *left[: _AT_ONCE - 1]], left[_AT_ONCE - 1 :]
        these += [(0.0, one)] * (_AT_ONCE - len(these))
        amounts, arrays = zip(*these, strict=True)
        over_vertices(_add, len(one), np.array(amounts, np.float32), *arrays, total)
        if not left:
            return total
        amount, one = 1.0, total


_AT_ONCE = 4


@loop
def _add(first, last, amount, a, b, c, d, total):
    for row in range(first, last):
        for k in range(total.shape[1]):
            two = amount[0] * a[row, k] + amount[1] * b[row, k]
            total[row, k] = two + (amount[2] * c[row, k] + amount[3] * d[row, k])
