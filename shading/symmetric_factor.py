"""Solving many right-hand sides with sparse symmetric matrices of one size, on every core.

SuperLU, through scipy, orders and factors the matrix once. Its own solution walks one column after the other; here
all columns go along a row of the factor together, in single precision, which is several times faster and needs
half the memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from scipy import sparse

from sitterlight.shading.compiled import kernel, kernel_of_short_sums, loop, over_vertices, unsigned
from sitterlight.shading.large_pages import in_large_pages
from sitterlight.shading.matrix import narrowest

LEAST = 1e-7
"""Numbers below the unit diagonal that are smaller are none. Where little is exchanged a factor fills with ever
smaller ones."""
_NOTHING = np.float32(1e-30)
"""What is smaller in a solution is nothing: processors are slow with the smallest numbers that there are."""


@dataclass(frozen=True)
class SymmetricFactors:
    """Pᵀ L D Lᵀ P of F symmetric, positive definite matrices (V,V), in single precision.

    `order (F,V)`: which vertex is solved for first, second …, and `place (F,V)`: when each is. Columns of L below its
    unit diagonal, those of column j of matrix f from `starts[f, j]` to `starts[f, j + 1]` in `rows (n,)` and
    `values (n,)`. `inverse_diagonal (F,V)`: of D.
    """

    order: np.ndarray
    place: np.ndarray
    starts: np.ndarray
    rows: np.ndarray
    values: np.ndarray
    inverse_diagonal: np.ndarray

    @staticmethod
    def of(matrices: Sequence[sparse.spmatrix]) -> SymmetricFactors:
        """The factors of symmetric, diagonally dominant matrices of one size, one at least."""
        found = [_factor(matrix) for matrix in matrices]
        order, starts, rows, values, inverse_diagonal = zip(*found, strict=True)
        before = np.cumsum([0, *map(len, rows)])[:-1, None]
        together = (np.stack(starts) + before, np.concatenate(rows), np.concatenate(values), np.stack(inverse_diagonal))
        place = np.argsort(order, axis=1).astype(np.int32)
        return in_large_pages(SymmetricFactors(np.stack(order), place, *together))

    def solve(self, right: np.ndarray, which: Sequence[int], first: np.ndarray, solved: np.ndarray) -> None:
        """Into `solved (V,1+F,K)`, beside what comes `first (V,K)`, x with A x = `right (V,K)` for `which (M,)` of the
        matrices, where the others' numbers stay; all float32. Those that take longest come first in `which`: they are
        begun so, and the others from the other end."""
        chosen, found = np.array(which, np.int64), np.empty((len(which), *right.shape), np.float32)
        about = self.order, self.starts, self.rows, self.values, self.inverse_diagonal
        over_vertices(_solve, len(chosen), chosen, *about, right, found, each=len(right))
        over_vertices(_lay_out, len(right), chosen, self.place, first, found, solved)

    @property
    def nbytes(self) -> int:
        """Memory held, bytes."""
        return sum(getattr(self, field.name).nbytes for field in fields(self))


def _factor(matrix: sparse.spmatrix) -> tuple[np.ndarray, ...]:
    """Order, starts, rows, values and inverse diagonal of one factor."""
    from scipy.sparse.linalg import splu  # here, to leave it out of the start

    options = {"SymmetricMode": True}
    lu = splu(matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options)
    below = sparse.tril(lu.L, -1, format="csc")
    below.data[np.abs(below.data) < LEAST] = 0
    below.eliminate_zeros()
    return (
        np.argsort(lu.perm_c).astype(np.int32),
        below.indptr.astype(np.int64),
        below.indices.astype(narrowest(matrix.shape[0])),
        below.data.astype(np.float32),
        (1 / lu.U.diagonal()).astype(np.float32),
    )


@loop
def _solve(first, last, which, order, starts, rows, values, inverse_diagonal, right, found):
    for index in range(first, last):
        f, x = which[index], found[index]
        if right.shape[1] == 1:
            _one_forward_and_back(order[f], starts[f], rows, values, inverse_diagonal[f], right[:, 0], x[:, 0])
        else:
            _forward_and_back(order[f], starts[f], rows, values, inverse_diagonal[f], right, x)


@loop
def _lay_out(first, last, which, place, beside, found, solved):
    for v in range(first, last):
        for k in range(found.shape[2]):
            solved[v, 0, k] = beside[v, k]
        for index in range(len(which)):
            for k in range(found.shape[2]):
                solved[v, 1 + which[index], k] = found[index, place[which[index], v], k]


@kernel
def _forward_and_back(order, starts, rows, values, inverse_diagonal, right, x):
    """Solve L D Lᵀ x = `right` (V,K), both in `order` while in `x (V,K)`."""
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


@kernel_of_short_sums
def _one_forward_and_back(order, starts, rows, values, inverse_diagonal, right, x):
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


@kernel
def _or_nothing(value):
    return value if abs(value) >= _NOTHING else np.float32(0)
