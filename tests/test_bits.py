"""Sets of samples as bits of words, against the same in plain Python."""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.shading.bits import next_bit, ones
from sitterlight.shading.matrix import Rows
from sitterlight.shading.patch_samples import as_numbers
from sitterlight.shading.shadow_kernels import samples_of

WORDS = [1, 2**63, 2**64 - 1, 0b1011000, 0x8000000100000000]


@pytest.mark.parametrize("word", WORDS)
def test_bits_come_one_after_the_other(word):
    left, found = np.uint64(word), []
    assert ones(left) == word.bit_count()
    while left:
        bit, left = next_bit(np.uint64(left))
        found.append(int(bit))
    assert found == [n for n in range(64) if word >> n & 1]


@pytest.mark.parametrize("samples", [1, 31, 32, 33, 64, 65, 160])
def test_bits_are_numbers_for_sums(samples):
    words = np.random.default_rng(samples).integers(0, 2**64, -(-samples // 64), np.uint64)
    numbers = np.full(samples, 5, np.float32)
    as_numbers(words, numbers)
    assert numbers.tolist() == [int(words[n // 64]) >> (n % 64) & 1 for n in range(samples)]


def test_each_probe_knows_the_samples_that_it_tells_of():
    """Two words of samples behind sixteen probes."""
    random, probes, samples = np.random.default_rng(1), 16, 100
    nearest, about = random.integers(0, probes, samples), random.integers(0, 2**probes, samples, np.uint64)
    of = np.zeros((probes, 2, 2), np.uint64)
    samples_of(nearest, about, probes, of)
    for probe in range(probes):
        told = [[int(word) >> n & 1 for word in of[probe, which] for n in range(64)] for which in range(2)]
        assert told[0][probes : probes + samples] == (nearest == probe).astype(int).tolist()
        assert told[1][probes : probes + samples] == [int(each) >> probe & 1 for each in about]
        assert not any(row[n] for row in told for n in (*range(probes), *range(probes + samples, 128)))


def test_rows_in_another_order_are_the_same_rows():
    random = np.random.default_rng(2)
    counts = random.integers(0, 4, 30)
    start = np.concatenate([[0], np.cumsum(counts)])
    rows = Rows(start, random.integers(0, 9, start[-1]).astype(np.int32), random.random(start[-1], np.float32))
    order, values = random.permutation(30), random.random((9, 2), np.float32)
    assert np.array_equal(rows.those(order) @ values, (rows @ values)[order])
    assert rows.those(order[:3]).column.dtype == np.int32 and len(rows.those(order[:3])) == 3
