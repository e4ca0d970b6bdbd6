"""Which vertices a vertex receives bounced light from: all of it, in an order of its own for each bounce."""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.meshes.library import load_head
from sitterlight.shading.geometry import Stage
from sitterlight.shading.matrix import narrowest


@pytest.fixture(scope="module")
def stage() -> Stage:
    return Stage(load_head(), np.full(15, 0.35), np.full(15, 0.5), np.eye(3), bounces=3)


def test_what_comes_by_way_of_skin_is_all_there(stage):
    """The sum over a vertex's senders is that over all its blocked directions."""
    between, transfer = stage.exchange, stage.transfer
    aside = np.where(between.paths.mirrored >= 0, between.mirror, 0)
    given = np.concatenate([[0], np.cumsum(between.receive * (between.send + aside), dtype=float)])
    wanted = np.diff(given[transfer.start])
    along = between.bounces.leaving[0].along
    found = np.diff(np.concatenate([[0], np.cumsum(along.weight, dtype=float)])[along.start])
    assert found == pytest.approx(wanted, rel=1e-4, abs=5e-6), "but for shares below a millionth"


def test_each_bounce_goes_the_same_way_in_an_order_of_its_own(stage):
    first, *others = (leaving.along for leaving in stage.exchange.bounces.leaving)
    for other in others:
        assert np.array_equal(first.start, other.start)
        one, two = (
            np.lexsort((each.column, np.repeat(np.arange(len(each)), np.diff(each.start)))) for each in (first, other)
        )
        assert np.array_equal(first.column[one], other.column[two])
        assert np.array_equal(first.weight[one], other.weight[two])
    for leaving in stage.exchange.bounces.leaving:
        counts = np.diff(leaving.start)[leaving.along.column]
        inside = np.ones(len(counts) - 1, bool)
        inside[leaving.along.start[1:-1] - 1] = False
        assert (np.diff(counts)[inside] >= 0).all()


def test_vertices_are_told_apart_in_as_few_bits_as_that_takes():
    for count, kind in ((1, np.uint16), (2**16, np.uint16), (2**16 + 1, np.int32)):
        assert narrowest(count) is kind and np.iinfo(kind).max >= count - 1
