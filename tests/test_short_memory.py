"""What is only remembered is let go of where memory runs short, and the window says so where that is not enough."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

pytest.importorskip("PyQt6.QtWidgets")

from sitterlight.shading.memory import Bound, Memory
from sitterlight.viewer import engine, short_memory
from sitterlight.viewer.short_memory import LEAST, OFTEN, RESERVE, REST, SELDOM, ShortMemory


@pytest.fixture
def looking(monkeypatch):
    """A looker without a thread, what it said, and what it let go of; `left` is what memory there is each time."""
    said, gone, left = [], [], []
    monkeypatch.setattr(short_memory, "memory_left", lambda: left.pop(0))
    monkeypatch.setattr(short_memory.KEPT, "let_go", lambda: gone.append("results"), raising=False)
    monkeypatch.setattr(short_memory.engine, "keep_only_the_last", lambda: gone.append("scenes"))
    monkeypatch.setattr(short_memory, "give_back", lambda: gone.append("free"))
    window = SimpleNamespace(leaving=SimpleNamespace(let_go=lambda: gone.append("study")))
    looker = SimpleNamespace(_window=window, _was_short=False, _rests_until=0.0, said=SimpleNamespace(emit=said.append))
    return SimpleNamespace(look=lambda *given: (left.extend(given), ShortMemory.look(looker))[1], said=said, gone=gone)


def test_where_there_is_enough_nothing_is_let_go_of(looking):
    assert looking.look(10 * RESERVE) == SELDOM and looking.look(2 * RESERVE) == OFTEN
    assert looking.look(float("inf")) == SELDOM  # where the system doesn't say
    assert looking.gone == looking.said == []


def test_what_is_remembered_is_let_go_of_and_that_is_enough(looking):
    assert looking.look(RESERVE - 1, 2 * RESERVE) == OFTEN
    assert looking.gone == ["scenes", "results", "free"] and looking.said == []


def test_what_is_worked_out_anew_stays_a_while_unless_memory_runs_very_short(looking, monkeypatch):
    clock = [100.0]
    monkeypatch.setattr(short_memory.time, "monotonic", lambda: clock[0])
    looking.look(0.9 * RESERVE, 0.9 * RESERVE)
    assert looking.look(0.9 * RESERVE) == OFTEN and len(looking.gone) == 3
    looking.look(0.4 * RESERVE, 0.9 * RESERVE)
    assert len(looking.gone) == 6
    clock[0] += REST
    looking.look(0.9 * RESERVE, 0.9 * RESERVE)
    assert len(looking.gone) == 9


def test_the_study_of_the_last_export_goes_last(looking):
    assert looking.look(RESERVE - 1, RESERVE / 3, RESERVE) == OFTEN
    assert looking.gone == ["scenes", "results", "free", "study", "free"] and looking.said == []


def test_where_it_is_not_enough_that_is_said_once(looking):
    for _ in range(3):
        looking.look(LEAST / 2, LEAST / 2, LEAST / 2)
    assert looking.said == ["Memory is short: 75 MB are left. Close other programs, or let go of the sitting beside."]
    looking.look(10 * RESERVE)
    looking.look(LEAST / 2, LEAST / 2, LEAST / 2)
    assert len(looking.said) == 2  # it had been better meanwhile


def test_all_memories_under_a_bound_are_emptied_and_go_on():
    bound = Bound(1e6)
    memories = [Memory(3, bound=bound) for _ in range(2)]
    for memory in memories:
        memory.of("a", lambda: np.zeros(1000))
    assert bound.held_bytes == 16_000
    bound.let_go()
    assert bound.held_bytes == 0 and not any(map(len, memories))
    assert memories[0].of("a", lambda: np.ones(10)).sum() == 10 and bound.held_bytes == 80


def test_only_the_last_scene_stays_and_is_the_same(monkeypatch):
    from sitterlight.shading.frame import gaze_of
    from sitterlight.shading.sitting import HeadSetting, Sitting, with_skin

    asked = []
    monkeypatch.setattr(engine, "_known", type(engine._known)())
    monkeypatch.setattr(engine, "light_scene", lambda sitting, **_given: asked.append(sitting) or object())
    sittings = [with_skin(Sitting(head=HeadSetting(mesh="cube")), ladder=k) for k in range(1, 10)]
    scenes = [engine._scene(one, gaze_of(one), True, None) for one in sittings]
    assert len(engine._known) == engine.SCENES_KEPT
    engine.keep_only_the_last()
    assert engine._scene(sittings[-1], gaze_of(sittings[-1]), True, None) is scenes[-1] and len(asked) == 9
    assert engine._scene(sittings[-2], gaze_of(sittings[-2]), True, None) is not scenes[-2] and len(asked) == 10
    engine.keep_only_the_last(0)
    engine.keep_only_the_last(0)
