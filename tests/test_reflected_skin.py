"""What skin mirrors of other skin, against sums over all blocked directions written out at length."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from sitterlight.shading.reflected_skin import LEAST, Looked, reflected_skin

VERTICES, BLOCKED, BACK = 7, 60, 40


def drawn(seed: int = 3):
    """Blocked directions as chance has them: one vertex has none, shares are partly nothing and partly too small."""
    chance = np.random.default_rng(seed)
    owner = np.sort(chance.choice([0, 1, 2, 4, 5, 6], BLOCKED))
    transfer = SimpleNamespace(start=np.searchsorted(owner, np.arange(VERTICES + 1)))
    mirrored = np.where(chance.random(BACK) < 0.5, -1, chance.integers(0, VERTICES, BACK)).astype(np.int32)
    between = SimpleNamespace(
        send=chance.uniform(0.5, 1.5, BACK).astype(np.float32),
        mirror=chance.uniform(0.0, 0.2, BACK).astype(np.float32),
        paths=SimpleNamespace(
            back=chance.integers(0, BACK, BLOCKED).astype(np.int32),
            sender=chance.integers(0, VERTICES, BACK).astype(np.uint16),
            mirrored=mirrored,
        ),
    )
    share = chance.uniform(0, 0.02, BLOCKED) * (chance.random(BLOCKED) < 0.7) * chance.choice([1, 3e-3], BLOCKED)
    return owner, transfer, between, share.astype(np.float32)


def test_what_is_looked_at_is_what_has_a_share():
    owner, transfer, between, share = drawn()
    looked = Looked.of(transfer, between.paths, share)
    assert np.array_equal(looked.back, between.paths.back[share != 0])
    assert np.array_equal(looked.share, share[share != 0])
    assert np.array_equal(np.diff(looked.start), np.bincount(owner[share != 0], minlength=VERTICES))


def test_bodies_are_met_straight_or_in_the_mirror_and_what_is_left_out_is_left_to_the_others():
    owner, transfer, between, share = drawn()
    rows = reflected_skin(between, Looked.of(transfer, between.paths, share))
    dense, left_out = np.zeros((VERTICES, VERTICES)), 0
    for v in range(VERTICES):
        kept = total = 0.0
        for j in np.flatnonzero((owner == v) & (share != 0)):
            p = between.paths.back[j]
            ways = [(between.paths.sender[p], share[j] * between.send[p])]
            if between.paths.mirrored[p] >= 0:
                ways.append((between.paths.mirrored[p], share[j] * between.mirror[p]))
            for met, weight in ways:
                total += weight
                if weight > LEAST:
                    dense[v, met] += weight
                    kept += weight
                else:
                    left_out += 1
        dense[v] *= total / kept if kept else 1
    assert left_out > 5
    found = np.zeros_like(dense)
    np.add.at(found, (np.repeat(np.arange(VERTICES), np.diff(rows.start)), rows.column), rows.weight)
    np.testing.assert_allclose(found, dense, rtol=1e-5)
