"""Sparse sums over vertices, row by row on every core: what scipy's product does, without the interpreter's lock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse

from sitterlight.shading.compiled import kernel, loop, over_vertices, unsigned


@dataclass(frozen=True, eq=False)
class Rows:
    """A sparse matrix: row i is the sum of `weight[e]` times value `column[e]` for e from `start[i]` to
    `start[i + 1]`. int64, int32 or uint16, float32."""

    start: np.ndarray
    column: np.ndarray
    weight: np.ndarray

    def __len__(self) -> int:
        return len(self.start) - 1

    def those(self, order: np.ndarray) -> Rows:
        """These rows alone, in this order."""
        size = len(self), int(self.column.max(initial=0)) + 1
        rows = sparse.csr_matrix((self.weight, self.column, self.start), size)[order]
        return Rows(rows.indptr.astype(self.start.dtype), rows.indices.astype(self.column.dtype), rows.data)

    def __matmul__(self, values: np.ndarray) -> np.ndarray:
        """(rows, K) float32 from `values` (columns, K)."""
        result = np.empty((len(self), values.shape[1]), np.float32)
        values = np.ascontiguousarray(values, np.float32)
        over_vertices(_times, len(self), self.start, self.column, self.weight, values, result)
        return result


def narrowest(count: int) -> type:
    """The fewest bits that tell so many vertices apart: what every moved light reads from far is read the sooner."""
    return np.uint16 if count <= 2**16 else np.int32


def small_product(left: np.ndarray, right: np.ndarray) -> np.ndarray:
    """left @ right, float32, by our threads: a library's own, once called, look for more to do for a while, on cores
    that are wanted."""
    left, right = np.asarray(left, np.float32), np.ascontiguousarray(right, np.float32)
    result = np.empty((len(left), right.shape[1]), np.float32)
    over_vertices(_multiply, len(left), left, right, result, each=max(right.size // _AS_A_VERTEX, 1))
    return result


def added(parts: Sequence[tuple[float, np.ndarray]]) -> np.ndarray:
    """Σ amount · array over at least one of `parts`, arrays (rows,K) float32 of one shape. Always in this order, for
    the same last digits."""
    total, left = np.empty_like(parts[0][1]), list(parts)
    while left:
        these, left = left[:_TOGETHER], left[_TOGETHER:]
        these += [(0.0, these[0][1])] * (_TOGETHER - len(these))
        amounts, arrays = zip(*these, strict=True)
        over_vertices(_add, len(total), np.array(amounts, np.float32), *arrays, total)
        if left:
            left.insert(0, (1.0, total))
    return total


_TOGETHER = 8
"""Arrays that are added up at a time: as many lights as most sittings have, and what the ground returns of each."""
_AS_A_VERTEX = 1000
"""Products of numbers that cost about as much as a vertex in other loops."""
_ALONE = 200_000
"""Products of numbers in one piece that libraries leave to the thread that asks."""


def _multiply(first: int, last: int, left: np.ndarray, right: np.ndarray, result: np.ndarray) -> None:
    rows = max(_ALONE // max(right.size, 1), 1)
    for a in range(first, last, rows):
        b = min(a + rows, last)
        np.matmul(left[a:b], right, out=result[a:b])


@loop
def _times(first, last, start, column, weight, values, result):
    count = values.shape[1]
    if count == 1:
        for row in range(first, last):
            result[row, 0] = _dot(weight, column, values, start[row], start[row + 1])
        return
    for row in range(first, last):
        for k in range(count):
            result[row, k] = 0
        for entry in range(start[row], start[row + 1]):
            w, c = weight[entry], column[entry]
            for k in range(count):
                result[row, k] += w * values[c, k]


@loop
def _add(first, last, amount, a, b, c, d, e, f, g, h, total):
    for row in range(first, last):
        for k in range(total.shape[1]):
            one = amount[0] * a[row, k] + amount[1] * b[row, k] + amount[2] * c[row, k] + amount[3] * d[row, k]
            two = amount[4] * e[row, k] + amount[5] * f[row, k] + amount[6] * g[row, k] + amount[7] * h[row, k]
            total[row, k] = one + two


@kernel
def _dot(weight, column, values, first, last):
    """One row of a product with a single column; four sums at once, since each waits for itself alone."""
    a, b, c, d = np.float32(0), np.float32(0), np.float32(0), np.float32(0)
    fours = first + (last - first) // 4 * 4
    for entry in range(first, fours, 4):
        e = unsigned(entry)
        a += weight[e] * values[unsigned(column[e]), 0]
        b += weight[e + unsigned(1)] * values[unsigned(column[e + unsigned(1)]), 0]
        c += weight[e + unsigned(2)] * values[unsigned(column[e + unsigned(2)]), 0]
        d += weight[e + unsigned(3)] * values[unsigned(column[e + unsigned(3)]), 0]
    for entry in range(fours, last):
        a += weight[unsigned(entry)] * values[unsigned(column[unsigned(entry)]), 0]
    return a + b + (c + d)
