"""Sums of amounts of arrays: as numpy adds them, however many there are."""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.shading.matrix import _TOGETHER, added


@pytest.mark.parametrize("count", [1, 2, _TOGETHER - 1, _TOGETHER, _TOGETHER + 1, 2 * _TOGETHER, 5 * _TOGETHER])
def test_amounts_are_added_as_numpy_adds_them(count):
    random = np.random.default_rng(count)
    parts = [(float(amount), random.random((3000, 3), np.float32)) for amount in random.random(count)]
    given = [array.copy() for _, array in parts]
    found = added(parts)
    assert found.dtype == np.float32
    assert found == pytest.approx(sum(amount * array.astype(float) for amount, array in parts), rel=1e-5)
    assert all(np.array_equal(array, before) for (_, array), before in zip(parts, given, strict=True))
    assert all(found is not array for _, array in parts), "what is added up is another's"


def test_the_same_array_twice_is_there_twice():
    array = np.ones((5, 2), np.float32)
    assert (added([(2.0, array), (0.5, array)]) == 2.5).all()
