"""What skin mirrors of other skin, against sums over all blocked directions written out at length."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from sitterlight.shading.reflected_skin import LEAST, Looked, reflected_skin

VERTICES, BLOCKED = 7, 60


def drawn(seed: int = 3):
    """Blocked directions as chance has them: one vertex has none, shares are partly nothing and partly too small."""
    chance = np.random.default_rng(seed)
    owner = np.sort(chance.choice([0, 1, 2, 4, 5, 6], BLOCKED))
    transfer = SimpleNamespace(
        start=np.searchsorted(owner, np.arange(VERTICES + 1)),
        hit=chance.integers(0, VERTICES, BLOCKED).astype(np.int32),
    )
    mirrored = np.where(chance.random(BLOCKED) < 0.5, -1, chance.integers(0, VERTICES, BLOCKED)).astype(np.int32)
    between = SimpleNamespace(
        send=chance.uniform(0.5, 1.5, BLOCKED).astype(np.float32),
        mirror=chance.uniform(0.0, 0.2, BLOCKED).astype(np.float32),
        paths=SimpleNamespace(mirrored=mirrored),
    )
    share = chance.uniform(0, 0.02, BLOCKED) * (chance.random(BLOCKED) < 0.7) * chance.choice([1, 3e-3], BLOCKED)
    return owner, transfer, between, share.astype(np.float32)


def test_what_is_looked_at_is_what_has_a_share():
    owner, transfer, _between, share = drawn()
    looked = Looked.of(transfer, share)
    assert np.array_equal(looked.entry, np.flatnonzero(share)) and np.array_equal(looked.share, share[share != 0])
    assert np.array_equal(np.diff(looked.start), np.bincount(owner[share != 0], minlength=VERTICES))


def test_bodies_are_met_straight_or_in_the_mirror_and_what_is_left_out_is_left_to_the_others():
    owner, transfer, between, share = drawn()
    rows = reflected_skin(transfer, between, Looked.of(transfer, share))
    dense, left_out = np.zeros((VERTICES, VERTICES)), 0
    for v in range(VERTICES):
        kept = total = 0.0
        for j in np.flatnonzero((owner == v) & (share != 0)):
            ways = [(transfer.hit[j], share[j] * between.send[j])]
            if between.paths.mirrored[j] >= 0:
                ways.append((between.paths.mirrored[j], share[j] * between.mirror[j]))
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
