"""Columns laid out in bundles of vertices give the plain sums, whatever regions the vertices belong to."""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.shading.bounce import Senders
from sitterlight.shading.bundles import LANES, Bundles
from sitterlight.shading.lighting import Columns
from sitterlight.shading.membership import Membership
from sitterlight.shading.packed import Packed, matched_spectra

REGIONS, BASES = 5, 4


def _lighting(vertices: int, random):
    weights = random.random((vertices, REGIONS)) * (random.random((vertices, REGIONS)) < 0.4)
    weights[:, 1] += 1e-3
    weights = (weights / weights.sum(axis=1, keepdims=True)).astype(np.float32)
    sends = random.random((vertices, REGIONS)) < 0.3
    sends[: vertices // 4] = False  # as on an open forehead
    start = np.concatenate([[0], np.cumsum(sends.sum(axis=1))])
    senders = Senders(start, np.nonzero(sends)[1].astype(np.int32))
    direct, mirrored, bounced = (
        Columns.beside([random.random((rows, ways * BASES)).astype(np.float32)], [BASES])
        for rows, ways in ((vertices, 2), (vertices, 1), (len(senders.region), 3))
    )
    return weights, senders, direct, mirrored, bounced


@pytest.mark.parametrize("vertices", [1, LANES, 3 * LANES + 5, 2500])
def test_bundled_sums_are_the_plain_ones(vertices):
    random = np.random.default_rng(vertices)
    weights, senders, direct, mirrored, bounced = _lighting(vertices, random)
    albedo, spread = random.random((REGIONS, 81)), random.random((REGIONS, 2, 81))
    basis = random.random((BASES, 81))
    basis[2] = 0.3 * basis[0] + 2.0 * basis[3]  # as what a grey ground returns of two lights
    matched = matched_spectra(basis, 2)
    packed = Packed.of(Bundles.of(Membership.of(weights), senders), direct, mirrored, bounced, basis)
    assert len(packed.spectra) == BASES - 1
    by_way = np.concatenate([albedo[:, None] * spread, albedo[:, None]], axis=1)
    of_kinds = np.cumprod(np.repeat(albedo[:, None], 5, axis=1), axis=1)  # of which the columns have but three
    given = packed.radiance(*packed.tables(by_way, albedo, of_kinds, 2))

    arrived = np.einsum("vwk,bkx->vwbx", direct.values.reshape(vertices, 2, BASES), matched)
    plain = np.einsum("vr,rwb,vwbx->vx", weights, albedo[:, None] * spread, arrived)
    plain += np.einsum("vr,rb,vk,bkx->vx", weights, albedo, mirrored.values, matched)
    vertex = np.repeat(np.arange(vertices), np.diff(senders.start))
    powers = albedo[senders.region, None] ** np.arange(1, 4)[:, None]
    sent = np.einsum("nok,nob,bkx->nbx", bounced.values.reshape(-1, 3, BASES), powers, matched)
    np.add.at(plain, vertex, np.einsum("nr,rb,nbx->nx", weights[vertex], albedo, sent))
    np.testing.assert_allclose(given, plain, rtol=2e-5)


def test_everyone_lies_in_one_lane_and_alike_ones_together():
    random = np.random.default_rng(1)
    weights, senders, *_ = _lighting(40 * LANES, random)
    bundles = Bundles.of(Membership.of(weights), senders)
    assert sorted(bundles.vertex[bundles.vertex >= 0]) == list(range(40 * LANES))
    mixed = np.diff(bundles.start).mean() * np.diff(bundles.sender_start).mean()
    anyhow = Bundles.of(Membership.of(np.full((40 * LANES, REGIONS), 1 / REGIONS)), senders)
    assert mixed < 0.8 * np.diff(anyhow.start).mean() * REGIONS
    assert np.array_equal(bundles.vertex.ravel()[bundles.place @ [LANES, 1]], np.arange(40 * LANES))
