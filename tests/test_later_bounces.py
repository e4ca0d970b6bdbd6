"""Light after several bounces against the plain sum over paths, on vertices that see each other anyhow."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from sitterlight.meshes.regions import REGIONS, region_number
from sitterlight.shading import later_bounces
from sitterlight.shading.later_bounces import Bounces
from sitterlight.shading.matrix import Rows
from sitterlight.shading.membership import Membership
from sitterlight.shading.path_kinds import LONGEST, PUPIL, Kinds, bounced_on

NAMES = ("cheek", "nose", "lips", "eye white", "iris", "clothes")
CHEEK, NOSE, LIPS, WHITE, IRIS, CLOTHES = map(region_number, NAMES)
VERTICES = 60


def _matrix(random) -> tuple[Rows, np.ndarray]:
    dense = random.random((VERTICES, VERTICES)) * (random.random((VERTICES, VERTICES)) < 0.2)
    dense[:5] = 0  # as on an open forehead
    dense = (dense / np.maximum(dense.sum(axis=1, keepdims=True), 1)).astype(np.float32)
    row, column = np.nonzero(dense)
    start = np.searchsorted(row, np.arange(VERTICES + 1))
    return Rows(start, column.astype(np.int32), dense[row, column]), dense


def _weights(random, regions) -> np.ndarray:
    weights = np.zeros((VERTICES, len(REGIONS)), np.float32)
    weights[:, regions] = random.random((VERTICES, len(regions))) * (random.random((VERTICES, len(regions))) < 0.6)
    weights[:, regions[0]] += 1e-2
    return weights / weights.sum(axis=1, keepdims=True)


def _arrived(bounces: Bounces, light: np.ndarray, albedo: np.ndarray) -> np.ndarray:
    """What enters vertices after each of the bounces, (V,n), from light in one band, `albedo (R,)`."""
    sent = bounces.kinds.sent(albedo[:, None])[..., 0]
    slots = sent.shape[1]
    each = bounces.of_light(light, slots).reshape(len(bounces.senders.region), slots) * sent[bounces.senders.region]
    bounce = bounces.kinds.powers.sum(axis=2)[bounces.senders.region]
    vertex = np.repeat(np.arange(VERTICES), np.diff(bounces.senders.start))
    total = np.zeros((VERTICES, slots + 1))
    np.add.at(total, (vertex[:, None], bounce), each)
    return total[:, 1:]


def _plainly(dense, weights, light, albedo, bounces) -> np.ndarray:
    orders, own = [], weights @ albedo
    for _ in range(bounces):
        light = dense @ (own[:, None] * light)
        orders.append(light)
    return np.concatenate(orders, axis=1)


@pytest.fixture
def no_limits(monkeypatch):
    """Nothing is too little to be kept apart."""
    for name in ("LEAST_ALIKE", "LEAST_UNLIKE", "LEAST_OF_CLOTHES"):
        monkeypatch.setattr(later_bounces, name, 0.0)


@pytest.mark.parametrize("regions", [(CHEEK,), (CHEEK, WHITE), (NOSE, CLOTHES), (WHITE, IRIS)])
@pytest.mark.parametrize("bounces", [1, 2, 3, LONGEST])
def test_a_region_and_an_unlike_one_are_exact(no_limits, regions, bounces):
    random = np.random.default_rng(bounces)
    rows, dense = _matrix(random)
    weights, light = _weights(random, list(regions)), random.random((VERTICES, 1)).astype(np.float32)
    albedo = random.random(len(REGIONS))
    ours = _arrived(Bounces.of(rows, Membership.of(weights), bounces), light, albedo)
    np.testing.assert_allclose(ours, _plainly(dense, weights, light, albedo, bounces), rtol=2e-5)


def test_alike_regions_differ_by_the_square_of_their_contrast(no_limits):
    """Half the contrast, a quarter of the error; a twentieth of contrast, less than a four-hundredth."""
    random = np.random.default_rng(3)
    rows, dense = _matrix(random)
    weights, light = _weights(random, [CHEEK, NOSE]), random.random((VERTICES, 1)).astype(np.float32)
    found = Bounces.of(rows, Membership.of(weights), 3)
    errors = []
    for contrast in (0.2, 0.1, 0.05):
        albedo = np.full(len(REGIONS), 0.4)
        albedo[NOSE] *= 1 + contrast
        plain = _plainly(dense, weights, light, albedo, 3)[5:]
        errors.append((_arrived(found, light, albedo)[5:] / plain - 1).max())
    assert errors[2] < 1 / 400
    assert errors[0] / errors[1] == pytest.approx(4, rel=0.1) and errors[1] / errors[2] == pytest.approx(4, rel=0.1)


@pytest.mark.parametrize("bounces", [2, 3, LONGEST, 6])
def test_no_light_is_lost(bounces):
    """Whatever is counted as something else: under one grey all is as it would be."""
    random = np.random.default_rng(4)
    rows, dense = _matrix(random)
    weights, light = _weights(random, list(range(len(REGIONS)))), random.random((VERTICES, 1)).astype(np.float32)
    albedo = np.full(len(REGIONS), 0.5)
    ours = _arrived(Bounces.of(rows, Membership.of(weights), bounces), light, albedo)
    np.testing.assert_allclose(ours, _plainly(dense, weights, light, albedo, bounces), rtol=2e-5)


@pytest.mark.parametrize("bounces", [3, 6])
@pytest.mark.parametrize("least", [1e-3, 0.05, np.inf])
def test_no_light_is_lost_where_little_is_kept_apart(monkeypatch, least, bounces):
    """Each bounce for itself. Without bound a vertex keeps one kind, and its light leaves it in one state."""
    for name in ("LEAST_ALIKE", "LEAST_UNLIKE", "LEAST_OF_CLOTHES"):
        monkeypatch.setattr(later_bounces, name, least)
    random = np.random.default_rng(7)
    rows, dense = _matrix(random)
    weights, light = _weights(random, list(range(len(REGIONS)))), random.random((VERTICES, 1)).astype(np.float32)
    found = Bounces.of(rows, Membership.of(weights), bounces)
    albedo = np.full(len(REGIONS), 0.5)
    plain = _plainly(dense, weights, light, albedo, bounces)
    np.testing.assert_allclose(_arrived(found, light, albedo), plain, rtol=2e-5)
    if np.isinf(least):
        assert np.diff(found.senders.start).max() == 1
        for one in found.leaving[1:]:
            assert len(one.strips) <= VERTICES and (np.diff(one.strips.start) > 0).all()
            lanes = [one_of.reduceat(one.lane, one.strips.start[:-1]) for one_of in (np.minimum, np.maximum)]
            assert np.array_equal(*lanes)


@pytest.mark.parametrize("bounces", [1, 2, 3, LONGEST])
def test_limits_are_asked_of_light_that_each_bounce_halves(no_limits, bounces):
    """And of all bounces together, but for the kinds that hold the longest paths of a pair only."""
    random = np.random.default_rng(8)
    rows, dense = _matrix(random)
    kinds = Kinds.of(bounces)
    weights = _weights(random, [CHEEK, NOSE, WHITE])
    received, leaves = later_bounces._even_light(rows, Membership.of(weights), kinds)
    further = np.array([False, *(np.diff(kinds.regions, axis=0) == 0).all(axis=1)])
    arriving = [np.ones(VERTICES)]
    for _ in range(bounces):
        arriving.append(dense @ (0.5 * arriving[-1]))
    assert received[:, ~further].sum(axis=1) == pytest.approx(sum(arriving[1:]), rel=1e-5)
    for light, left in zip(arriving[1:], leaves, strict=False):
        assert left[:, ~further].sum(axis=1) == pytest.approx(0.5 * light, rel=1e-5)
    assert further.any() == (bounces == LONGEST) and len(leaves) == bounces - 1
    one, other = (received[:, np.flatnonzero(further) - back] for back in (0, 1))
    assert (one[other > 0] < other[other > 0]).all()


@pytest.mark.parametrize(
    ("light", "counted"),
    [
        # Of skin, what is less than a limit is counted as the most of skin; what is no skin, as the most of all.
        ({"cheek": 1e-2, "nose": 3e-4, "eye white": 3e-4, "clothes": 1.5e-4}, {"nose": "cheek", "clothes": "cheek"}),
        ({"clothes": 1.0, "cheek": 1e-2, "nose": 2e-2, "lips": 3e-4}, {"lips": "nose", "iris": "clothes"}),
        ({"lips": 1e-5, "cheek": 1e-6}, {"cheek": "lips", "clothes": "lips"}),
        # A product is counted as its darker region, or as the other one where that is all there is.
        ({"cheek": 1e-2, "eye white": 1e-2, "clothes": 1e-2}, {"cheek × eye white": "cheek"}),
        ({"cheek": 1e-2, "eye white": 1e-2, "clothes": 1e-2}, {"cheek × clothes": "clothes"}),
        ({"cheek": 1e-2, "eye white": 1e-2, "clothes": 1e-2}, {"eye white × clothes": "clothes"}),
        ({"cheek": 1e-2, "iris": 1e-2}, {"cheek × iris": "iris"}),
        ({"cheek": 1e-2}, {"cheek × iris": "cheek"}),
        ({"cheek": 1e-2, "eye white": 1e-2}, {"lips × eye white": "eye white"}),
        ({"cheek": 1e-2, "cheek × eye white": 3e-4, "cheek × clothes": 1.5e-4}, {"cheek × clothes": "cheek"}),
    ],
)
def test_what_is_little_is_counted_as_what_is_nearest(light, counted):
    kinds = Kinds.of(3)
    regions = [tuple(pair) for pair in kinds.regions.tolist()]

    def kind(name: str) -> int:
        first, *second = map(region_number, name.split(" × "))
        return regions.index((first, *(second or [first])))

    received = np.zeros((1, len(regions)), np.float32)
    for name, share in light.items():
        received[0, kind(name)] = share
    found = later_bounces._counted_as(received, kinds)[0]
    assert {name: found[kind(name)] for name in counted} == {name: kind(other) for name, other in counted.items()}
    assert all(found[kind(name)] == kind(name) for name in light if name not in counted)


def test_columns_and_bounces_do_not_hang_together():
    """Several lights at once are as each alone, and fewer bounces the first of more."""
    random = np.random.default_rng(5)
    rows, _ = _matrix(random)
    bounces = Bounces.of(rows, Membership.of(_weights(random, list(range(len(REGIONS))))), 3)
    lights = random.random((VERTICES, 2)).astype(np.float32)
    together = bounces.of_light(lights, 3).reshape(-1, 3, 2)
    for number in range(2):
        alone = bounces.of_light(np.ascontiguousarray(lights[:, number : number + 1]), 3)
        np.testing.assert_allclose(together[..., number], alone, rtol=1e-5, atol=1e-8)
    of_regions = bounces.senders.region < len(REGIONS)
    np.testing.assert_array_equal(bounces.of_light(lights, 1)[of_regions], together[of_regions, 0])
    assert not bounces.of_light(lights, 1)[~of_regions].any()


@pytest.mark.parametrize("columns", [1, 2])
def test_bounces_begin_at_nothing_whatever_was_in_memory(columns, monkeypatch):
    random = np.random.default_rng(7)
    rows, _ = _matrix(random)
    bounces = Bounces.of(rows, Membership.of(_weights(random, list(range(len(REGIONS))))), 3)
    light = random.random((VERTICES, columns)).astype(np.float32)
    wanted = bounces.of_light(light, 3)
    monkeypatch.setattr(np, "empty", lambda shape, dtype=float: np.full(shape, np.nan, dtype))
    assert np.isfinite(wanted).all()
    np.testing.assert_array_equal(bounces.of_light(light, 3), wanted)


@pytest.mark.parametrize("bounces", [0, 3])
def test_where_nothing_sees_anything_nothing_bounces(bounces):
    random = np.random.default_rng(6)
    nothing = Rows(np.zeros(VERTICES + 1, np.int64), np.zeros(0, np.int32), np.zeros(0, np.float32))
    found = Bounces.of(nothing, Membership.of(_weights(random, [CHEEK, WHITE])), bounces)
    assert found.of_light(np.ones((VERTICES, 2), np.float32), bounces).shape == (0, 2 * bounces)


def test_shares_of_a_path_are_one_and_its_bounces_are_counted():
    for state in [
        ((CHEEK, 1),),
        ((WHITE, 2),),
        ((CHEEK, 1), (WHITE, 1)),
        ((CHEEK, 2), (IRIS, 2)),
        ((WHITE, 1), (IRIS, 2)),
    ]:
        for region in range(len(REGIONS)):
            ways = bounced_on(tuple(sorted(state)), region)
            assert sum(share for _, share in ways) == pytest.approx(1)
            assert {sum(power for _, power in way) for way, _ in ways} == {1 + sum(power for _, power in state)}
            assert len({one for way, _ in ways for one, _ in way} - {region, *(one for one, _ in state)}) == 0


def test_a_path_is_counted_alike_in_whatever_order_it_went():
    """Of at most one unlike region; the mean over three alike ones is a third each."""
    for path in product((CHEEK, NOSE, WHITE), repeat=3):
        counted = []
        for way in (path, path[::-1]):
            states = {((way[0], 1),): 1.0}
            for region in way[1:]:
                after: dict = {}
                for state, share in states.items():
                    for then, part in bounced_on(state, region):
                        after[then] = after.get(then, 0) + share * part
                states = after
            counted.append(states)
        assert counted[0] == pytest.approx(counted[1])
    assert bounced_on(((CHEEK, 2),), NOSE) == [
        (((CHEEK, 3),), pytest.approx(2 / 3)),
        (((NOSE, 3),), pytest.approx(1 / 3)),
    ]


def test_of_two_unlike_regions_beside_skin_the_darker_is_kept():
    assert bounced_on(((CHEEK, 1), (WHITE, 1)), IRIS) == [(((CHEEK, 2), (IRIS, 1)), 1.0)]
    assert bounced_on(tuple(sorted([(WHITE, 1), (CLOTHES, 1)])), CHEEK) == [
        (tuple(sorted([(CHEEK, 2), (CLOTHES, 1)])), 1.0)
    ]
    assert bounced_on(tuple(sorted([(WHITE, 1), (CLOTHES, 1)])), IRIS) == [
        (tuple(sorted([(CLOTHES, 2), (IRIS, 1)])), 1.0)
    ]


def test_what_a_pupil_has_met_is_dark():
    assert bounced_on(((CHEEK, 1),), PUPIL) == [(((PUPIL, 2),), 1.0)]
    assert bounced_on(((PUPIL, 1),), WHITE) == [(((PUPIL, 2),), 1.0)]


@pytest.mark.parametrize("bounces", [1, 3, LONGEST, 8])
def test_every_slot_has_its_own_product(bounces):
    kinds = Kinds.of(bounces)
    products = [
        tuple(np.bincount(np.repeat(regions, powers), minlength=len(REGIONS)))
        for regions, slots in zip(kinds.regions, kinds.powers, strict=True)
        for powers in slots
        if powers.any()
    ]
    assert len(set(products)) == len(products)
    assert {sum(each) for each in products} == set(range(1, bounces + 1))
