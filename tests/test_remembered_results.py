"""What is remembered, and how much of it."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import pytest
from scipy import sparse

from sitterlight.shading import budget, geometry
from sitterlight.shading.memory import KEPT, Bound, Memory, bytes_of
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sittings import built_in


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


def test_the_newest_stays_though_all_others_were_asked_for_meanwhile():
    class Busy(Bound):
        def keep(self, entry) -> None:
            super().keep(entry)
            for other in self._entries:
                other.turn += 1000 * (other is not entry)

    memory = Memory(1, bound=Busy(1e9))
    memory.of("old", lambda: 1)
    assert memory.of("new", lambda: 2) == 2
    assert memory.holds("new") and not memory.holds("old")


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


def test_many_memories_share_one_bound_and_what_was_used_last_stays():
    """As of many heads, each with many lights, in turn."""
    bound = Bound(10_000)
    heads, lights = (Memory(50, bound=bound) for _ in range(2))
    for head in range(20):
        heads.of(head, lambda: np.zeros(250))
        for light in range(3):
            lights.of((head, light), lambda: Field(np.zeros(100), more=(np.zeros(25),)))
            heads.of(0, lambda: pytest.fail("the head that is always asked for was forgotten"))
            assert bound.held_bytes <= 10_000
    assert heads.holds(19) and lights.holds((19, 2)) and lights.holds((19, 0))
    assert not heads.holds(5) and not lights.holds((5, 0))
    assert heads.held_bytes + lights.held_bytes == bound.held_bytes


def test_what_is_larger_than_the_common_bound_is_kept_alone():
    bound = Bound(1000)
    small, large = Memory(4, bound=bound), Memory(4, bound=bound)
    small.of("a", lambda: np.zeros(10))
    large.of("b", lambda: np.zeros(1000))
    assert (len(small), len(large), bound.held_bytes) == (0, 1, 8000)
    small.of("a", lambda: np.zeros(10))
    assert (len(small), len(large), bound.held_bytes) == (1, 0, 80)


def test_an_array_that_two_results_hold_counts_once_until_the_last_is_gone():
    bound, array = Bound(1e6), np.zeros(100)
    one, other = Memory(4, bound=bound), Memory(4, bound=bound)
    one.of("a", lambda: array)
    other.of("b", lambda: Field(array[:50], more=(np.zeros(10),)))
    assert bound.held_bytes == 880
    one.forget()
    assert bound.held_bytes == 880
    other.forget()
    assert bound.held_bytes == 0


def test_what_is_another_result_is_counted_as_that_was():
    """Without a look into it; until all is measured anew."""
    bound, inner = Bound(1e6), Field(np.zeros(100), more=())
    one, other = Memory(4, bound=bound), Memory(4, bound=bound)
    one.of("a", lambda: inner)
    inner.__dict__["later"] = np.zeros(5)
    other.of("b", lambda: (inner, np.zeros(10)))
    assert (bound.held_bytes, other.held_bytes) == (880, 880)
    bound.measure()
    assert (bound.held_bytes, other.held_bytes) == (920, 920)
    one.forget()
    assert bound.held_bytes == 920
    other.of("c", lambda: [inner])
    assert (bound.held_bytes, other.held_bytes) == (920, 920 + 840)


def test_where_little_is_held_nothing_is_counted():
    """Whoever else holds the same counts it; and the number of results keeps its bound."""
    bound = Bound(1e6)
    little, large = Memory(2, bound=bound, little=True), Memory(4, bound=bound)
    field = little.of("a", lambda: Field(np.zeros(10)))
    assert (bound.held_bytes, little.held_bytes) == (0, 0)
    large.of("b", lambda: (field, np.zeros(100)))
    assert bound.held_bytes == 880
    for key in "cde":
        little.of(key, lambda: np.zeros(5))
    bound.measure()
    assert (len(little), bound.held_bytes) == (2, 880)
    large.forget()
    assert bound.held_bytes == 0


def test_what_makes_no_room_is_passed_over():
    """The oldest result shares its array with the newest: to drop it would make nothing free."""
    bound, array = Bound(3000), np.zeros(250)
    memory = Memory(9, bound=bound)
    memory.of("shared", lambda: array)
    memory.of("old", lambda: np.zeros(100))
    memory.of("whole", lambda: (array, np.zeros(30)))
    assert (memory.holds("shared"), memory.holds("old"), memory.holds("whole")) == (True, False, True)


def test_a_result_that_grows_is_counted_again():
    bound = Bound(4000)
    memory, grown = Memory(9, bound=bound), {}
    memory.of("grows", lambda: grown)
    grown["later"] = np.zeros(300)
    bound.measure()
    assert bound.held_bytes == 2400
    for key in range(5):
        memory.of(key, lambda: np.zeros(200))
    assert bound.held_bytes <= 4000 and not memory.holds("grows")


def test_what_a_memory_knew_goes_with_it():
    bound = Bound(1e6)
    Memory(2, bound=bound).of("a", lambda: np.zeros(100))
    Memory(2, bound=bound).of("b", lambda: np.zeros(10))
    assert bound.held_bytes == 80


def test_what_is_in_a_memory_or_a_function_is_counted_where_it_belongs():
    memory, array = Memory(2, bound=Bound(1e6)), np.zeros(10)
    memory.of("a", lambda: np.zeros(1000))
    assert bytes_of({"memory": memory, "function": lambda: array}) == 80
    assert bytes_of(partial(np.add, array)) == 80


def test_threads_at_once_leave_the_count_whole():
    bound = Bound(20_000)
    memories = [Memory(5, bound=bound) for _ in range(4)]

    def use(seed: int) -> None:
        chance = np.random.default_rng(seed)
        for _ in range(2000):
            size = int(chance.integers(1, 400))
            found = memories[chance.integers(4)].of(size, lambda size=size: np.zeros(size))
            assert len(found) == size

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(use, range(4)))
    assert bound.held_bytes == sum(memory.held_bytes for memory in memories) <= 20_000


@pytest.mark.parametrize(
    ("named", "machine", "bytes_"),
    [
        ("", 4e9, 600e6),
        ("", 2.4e9, 400e6),
        ("", 0.5e9, 256e6),
        ("90", 4e9, 90e6),
        ("much", 2.4e9, 400e6),
        ("-1", 2.4e9, 400e6),
    ],
)
def test_a_sixth_of_the_machine_or_what_is_asked(monkeypatch, named, machine, bytes_):
    monkeypatch.setenv("SITTERLIGHT_MEMORY", named)
    monkeypatch.setattr(budget, "machine_memory", lambda: machine)
    assert budget.most_remembered() == bytes_


def test_many_heads_and_lights_in_turn_stay_within_the_bound(monkeypatch):
    """Whole scenes, on a ball: as long as anything is remembered at all, no more than the bound."""
    monkeypatch.setattr(KEPT, "most_bytes", 25e6)
    first = built_in("evening-lamp")
    for turn in range(6):
        for mesh in ("sphere", "cube"):
            light_scene(replace(first, head=replace(first.head, mesh=mesh, turn=5.0 * turn)))
            KEPT.measure()
            assert KEPT.held_bytes <= 27e6  # what was last asked for may have grown since
    monkeypatch.undo()
    geometry.forget()
