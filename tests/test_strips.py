"""Sums of numbers side by side, written for LLVM, against numpy's."""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.shading.compiled import kernel
from sitterlight.shading.strips import AT_ONCE, COLOUR, STRIP, add_colours, add_colours_by, add_strips


@kernel
def _add(column, weight, strips, first, last, total):
    add_strips(column, weight, strips, first, last, total)


@kernel
def _colours(values, table, first, last):
    return add_colours(values[first:last], table[1, first:last])


@pytest.mark.parametrize("kind", [np.uint16, np.int32])
@pytest.mark.parametrize("entries", [0, AT_ONCE, 25 * AT_ONCE])
def test_strips_are_added_as_numpy_adds_them(kind, entries):
    random = np.random.default_rng(2)
    strips, first = random.random((60_000, STRIP), np.float32), 3
    column = random.integers(0, len(strips), first + entries).astype(kind)
    weight, total = random.random(len(column), np.float32), np.full(STRIP, np.nan, np.float32)
    _add(column, weight, strips, first, first + entries, total)
    wanted = weight[first:].astype(float) @ strips[column[first:]]
    np.testing.assert_allclose(total, wanted, rtol=1e-5)


@kernel
def _colours_by(values, first, last, which, table, column):
    return add_colours_by(values, first, last, which, table, column)


@pytest.mark.parametrize("rows", [0, 1, 7])
@pytest.mark.parametrize("columns", [1, 3, 9])
def test_colours_of_rows_are_added_as_numpy_adds_them(rows, columns):
    random, first, column = np.random.default_rng(4), 2, np.int32(3)
    values, table = random.random((12, columns), np.float32), random.random((6, 5, columns, COLOUR), np.float32)
    which = random.integers(0, 6, 12).astype(np.int32)
    found = _colours_by(values, first, first + rows, which, table, column)
    there = slice(first, first + rows)
    wanted = np.einsum("nc,ncx->x", values[there].astype(float), table[which[there], column, :, :3])
    np.testing.assert_allclose(found, wanted, rtol=1e-5, atol=1e-7)


@pytest.mark.parametrize("columns", [0, 1, 3, 18])
def test_colours_are_added_as_numpy_adds_them(columns):
    random = np.random.default_rng(3)
    values, table = random.random(20, np.float32), random.random((2, 20, COLOUR), np.float32)
    found = _colours(values, table, 2, 2 + columns)
    np.testing.assert_allclose(found, values[2 : 2 + columns] @ table[1, 2 : 2 + columns, :3], rtol=1e-5, atol=1e-7)
