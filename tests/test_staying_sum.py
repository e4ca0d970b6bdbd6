"""Sums most parts of which stay: as numpy adds them, whatever went and came."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from sitterlight.shading import staying_sum
from sitterlight.shading.sitting import LampLight, Sitting, SkinSetting, SkyLight
from sitterlight.shading.staging import Setup
from sitterlight.shading.staying_sum import StayingSum

FIVE = np.random.default_rng(6).random((5, 40, 3), np.float32)


def _wanted(parts) -> np.ndarray:
    return sum(amount * array.astype(float) for amount, array in parts)


@pytest.fixture
def adds(monkeypatch) -> list[int]:
    """Of how many parts each sum is made that is worked out."""
    counted, real = [], staying_sum._sum
    monkeypatch.setattr(staying_sum, "_sum", lambda parts: counted.append(len(parts)) or real(parts))
    return counted


def test_what_stays_is_added_up_once(adds):
    total, lamps = StayingSum(), np.random.default_rng(7).random((4, 40, 3), np.float32)
    stays = [(1.0, FIVE[0]), (0.5, FIVE[1]), (1.0, FIVE[2])]
    for lamp in lamps:
        parts = [*stays[:2], (1.0, lamp), stays[2]]
        assert total.of(parts) == pytest.approx(_wanted(parts), rel=1e-6)
    # All four; then what stays, and that with the new lamp; then the new lamp alone each time.
    assert adds == [4, 3, 2, 2, 2]


def test_an_amount_that_changes_is_another_part():
    total = StayingSum()
    for amount in (1.0, 0.25, 0.25, 3.0):
        parts = [(1.0, FIVE[0]), (amount, FIVE[1])]
        assert total.of(parts) == pytest.approx(_wanted(parts), rel=1e-6)


@pytest.mark.parametrize("numbers", [[0], [0, 0], [0, 1, 1, 2], [4, 3], [3, 4]])
def test_one_part_and_the_same_part_twice(numbers):
    total, parts = StayingSum(), [(2.0, FIVE[n]) for n in numbers]
    for _ in range(3):
        assert total.of(parts) == pytest.approx(_wanted(parts), rel=1e-6)


def test_an_array_that_is_gone_is_not_taken_for_one_in_its_place():
    total = StayingSum()
    for n in range(50):
        parts = [(1.0, FIVE[0]), (1.0, np.full((40, 3), n, np.float32))]
        assert np.array_equal(total.of(parts), FIVE[0] + np.float32(n))


def test_threads_get_each_their_own_sum():
    total = StayingSum()

    def asked(turn: int) -> bool:
        parts = [(1.0, FIVE[n]) for n in range(5) if n != turn % 5]
        return np.allclose(total.of(parts), _wanted(parts), rtol=1e-5)

    with ThreadPoolExecutor(4) as pool:
        assert all(pool.map(asked, range(400)))


def test_a_skin_that_stays_is_the_same_body_and_another_skin_another():
    def body(**skin):
        lights = SkyLight(), LampLight(name="lamp", azimuth=len(skin))
        return Setup.of(Sitting(lights=lights, skin=SkinSetting(**skin)), occlusion=False).body

    first = body(ladder=3)
    assert body(ladder=3) is first
    other = body(ladder=4)
    assert other is not first and not np.array_equal(other.albedo, first.albedo)
    assert body(ladder=3) is not first and np.array_equal(body(ladder=3).albedo, first.albedo)
