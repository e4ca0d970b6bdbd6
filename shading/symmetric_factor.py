"""Solving many right-hand sides with one sparse symmetric matrix, on every core.

SuperLU, through scipy, orders and factors the matrix once. Its own solution walks one column after the other; here
all columns go along a row of the factor together, in single precision, which is several times faster and needs
half the memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from sitterlight.shading.compiled import kernel, kernel_of_short_sums, unsigned
from sitterlight.shading.large_pages import in_large_pages
from sitterlight.shading.matrix import narrowest

LEAST = 1e-7
"""Numbers below the unit diagonal that are smaller are none. Where little is exchanged a factor fills with ever
smaller ones."""
_NOTHING = np.float32(1e-30)
"""What is smaller in a solution is nothing: processors are slow with the smallest numbers that there are."""


@dataclass(frozen=True)
class SymmetricFactor:
    """A = Pᵀ L D Lᵀ P of a symmetric, positive definite matrix: columns of L below its unit diagonal, and D."""

    order: np.ndarray
    starts: np.ndarray
    rows: np.ndarray
    values: np.ndarray
    inverse_diagonal: np.ndarray

    def solve(self, right: np.ndarray, result: np.ndarray | None = None) -> np.ndarray:
        """x (V, K) float32 with A x = `right` (V, K) float32; written into `result` (V, K) where one is given."""
        right = np.asarray(right, dtype=np.float32)
        result = np.empty_like(right) if result is None else result
        about = self.order, self.starts, self.rows, self.values, self.inverse_diagonal
        if right.shape[1] == 1:
            _one_forward_and_back(*about, right[:, 0], np.empty(len(right), np.float32), result[:, 0])
        else:
            _forward_and_back(*about, right, np.empty(right.shape, np.float32), result)
        return result

    @property
    def nbytes(self) -> int:
        """Memory held, bytes."""
        return sum(part.nbytes for part in (self.order, self.starts, self.rows, self.values, self.inverse_diagonal))


def factor(matrix: sparse.spmatrix) -> SymmetricFactor:
    """The factor of a symmetric, diagonally dominant matrix (V, V)."""
    from scipy.sparse.linalg import splu  # here, to leave it out of the start

    options = {"SymmetricMode": True}
    lu = splu(matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options)
    below = sparse.tril(lu.L, -1, format="csc")
    below.data[np.abs(below.data) < LEAST] = 0
    below.eliminate_zeros()
    found = SymmetricFactor(
        order=np.argsort(lu.perm_c).astype(np.int32),
        starts=below.indptr.astype(np.int64),
        rows=below.indices.astype(narrowest(matrix.shape[0])),
        values=below.data.astype(np.float32),
        inverse_diagonal=(1 / lu.U.diagonal()).astype(np.float32),
    )
    return in_large_pages(found)


@kernel
def _forward_and_back(order, starts, rows, values, inverse_diagonal, right, x, result):
    """Solve L D Lᵀ x = `right` (V, K), both in `order` while in `x` (V, K)."""
    count, columns = x.shape
    for j in range(count):
        for k in range(columns):
            x[j, k] = right[order[j], k]
    for j in range(count):
        for k in range(columns):
            x[j, k] = _or_nothing(x[j, k])
        for p in range(starts[j], starts[j + 1]):
            i, value = rows[p], values[p]
            for k in range(columns):
                x[i, k] -= value * x[j, k]
    for j in range(count - 1, -1, -1):
        for k in range(columns):
            x[j, k] *= inverse_diagonal[j]
        for p in range(starts[j], starts[j + 1]):
            i, value = rows[p], values[p]
            for k in range(columns):
                x[j, k] -= value * x[i, k]
        for k in range(columns):
            x[j, k] = _or_nothing(x[j, k])
            result[order[j], k] = x[j, k]


@kernel_of_short_sums
def _one_forward_and_back(order, starts, rows, values, inverse_diagonal, right, x, result):
    """The same for a single column, x (V,). Entries go in pairs, in two sums: none waits for the one before it."""
    count, one, two = len(x), unsigned(1), unsigned(2)
    for j in range(count):
        x[j] = right[order[j]]
    for j in range(count):
        x[j] = here = _or_nothing(x[j])
        if here != 0:
            for p in range(unsigned(starts[j]), unsigned(starts[j + 1])):
                x[unsigned(rows[p])] -= values[p] * here
    for j in range(count - 1, -1, -1):
        here, beside = x[j] * inverse_diagonal[j], np.float32(0)
        p, end = unsigned(starts[j]), unsigned(starts[j + 1])
        if (end - p) % two:
            here -= values[p] * x[unsigned(rows[p])]
            p += one
        while p < end:
            here -= values[p] * x[unsigned(rows[p])]
            beside += values[p + one] * x[unsigned(rows[p + one])]
            p += two
        x[j] = _or_nothing(here - beside)
        result[order[j]] = x[j]


@kernel
def _or_nothing(value):
    return value if abs(value) >= _NOTHING else np.float32(0)
