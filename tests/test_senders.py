"""Which vertices a vertex receives bounced light from: the faintest are left to the others, and no light is lost."""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.meshes.library import load_head
from sitterlight.shading.geometry import Stage


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
    assert found == pytest.approx(wanted, rel=1e-4, abs=1e-8)


def test_the_faintest_are_left_out_and_only_those(stage):
    """A seventh of them, with less than a three-hundredth of the light."""
    along = stage.exchange.bounces.leaving[0].along
    whole = np.bincount(np.repeat(np.arange(len(along)), np.diff(along.start)), along.weight)
    ways = stage.exchange.paths
    straight, aside = (stage.exchange.receive * each for each in (stage.exchange.send, stage.exchange.mirror))
    pairs = {}
    for v in range(0, len(along), 97):
        for j in range(stage.transfer.start[v], stage.transfer.start[v + 1]):
            pairs[v, stage.transfer.hit[j]] = pairs.get((v, stage.transfer.hit[j]), 0) + straight[j]
            if ways.mirrored[j] >= 0:
                pairs[v, ways.mirrored[j]] = pairs.get((v, ways.mirrored[j]), 0) + aside[j]
    senders = {v: set(along.column[along.start[v] : along.start[v + 1]].tolist()) for v, _ in pairs}
    shares = np.array([[share, whole[v], u in senders[v]] for (v, u), share in pairs.items()])
    least = np.minimum(1e-4, 1e-3 * shares[:, 1])
    clear = np.abs(shares[:, 0] / least - 1) > 1e-3
    kept = shares[:, 2] > 0
    assert np.array_equal(kept[clear], (shares[:, 0] > least)[clear])
    assert 0.08 < 1 - kept.mean() < 0.2
    assert shares[~kept, 0].sum() < shares[:, 0].sum() / 300


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
