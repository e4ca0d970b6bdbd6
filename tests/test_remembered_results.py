"""What is remembered, and how much of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from scipy import sparse

from sitterlight.shading.memory import Memory, bytes_of


@dataclass(frozen=True, eq=False)
class Field:
    light: np.ndarray
    name: str = "lamp"
    more: tuple = ()


def test_a_known_result_is_not_calculated_again_and_the_oldest_goes_first():
    memory, asked = Memory(2), []

    def result(key):
        return memory.of(key, lambda: asked.append(key) or key)

    for key in ("a", "b", "a", "c", "a", "b"):
        assert result(key) == key
    assert asked == ["a", "b", "c", "b"]


def test_a_bound_in_bytes_keeps_the_newest():
    memory = Memory(100, most_bytes=2500)
    for key in range(10):
        memory.of(key, lambda: np.zeros(125))
    assert (len(memory), memory.held_bytes) == (2, 2000)
    memory.of("large", lambda: np.zeros(10_000))
    assert (len(memory), memory.held_bytes) == (1, 80_000)
    memory.of("small", lambda: np.zeros(1))
    assert (len(memory), memory.held_bytes) == (1, 8)
    memory.forget()
    assert (len(memory), memory.held_bytes) == (0, 0)


def test_a_failed_calculation_leaves_nothing():
    memory = Memory(3, most_bytes=100)
    with pytest.raises(ZeroDivisionError):
        memory.of("a", lambda: 1 / 0)
    assert memory.of("a", lambda: 1) == 1


def test_bytes_are_those_of_arrays_each_once():
    light = np.zeros((10, 3), np.float32)
    assert bytes_of(light) == bytes_of(light[:2]) == 120
    assert bytes_of(Field(light, more=(light, {"x": light[0]}))) == 120
    assert bytes_of([np.zeros(2), np.zeros(3)]) == 40
    assert bytes_of(("words", 3, None)) == 0
    matrix = sparse.csr_array(np.eye(4))
    assert bytes_of(matrix) == matrix.data.nbytes + matrix.indices.nbytes + matrix.indptr.nbytes


def test_a_memory_of_none_keeps_none():
    memory = Memory(0)
    assert [memory.of("a", lambda k=k: k) for k in range(2)] == [0, 1]
