"""The head that the window asks for: at once, or in a sentence why not."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace

import pytest

pytest.importorskip("PyQt6.QtCore")

from sitterlight.shading.sitting import HeadSetting, Sitting
from sitterlight.viewer import engine
from sitterlight.viewer.day_work import DayWork

BALL = Sitting(head=HeadSetting(mesh="sphere"))


@pytest.fixture
def calculating():
    """While it lasts, another thread calculates."""
    begun, go_on = threading.Event(), threading.Event()

    def calculate() -> None:
        with engine._one_at_a_time:
            begun.set()
            go_on.wait(60)

    thread = threading.Thread(target=calculate)
    thread.start()
    begun.wait(60)
    yield
    go_on.set()
    thread.join()


def test_while_it_is_lit_a_head_is_not_waited_for(calculating):
    with pytest.raises(ValueError, match="ask again in a moment"):
        engine.head_at_once(BALL, None)


def test_a_head_that_is_lit_is_there_whatever_is_calculated(calculating):
    lit = SimpleNamespace(sitting=replace(BALL, title="another skin"), head="the head")
    assert engine.head_at_once(BALL, lit) == "the head"


def test_a_head_is_read_where_nothing_is_calculated():
    other = SimpleNamespace(sitting=replace(BALL, head=HeadSetting(mesh="cube")), head="the head")
    assert len(engine.head_at_once(BALL, other).planes) == 8
    assert engine._one_at_a_time.acquire(blocking=False), "it can be calculated again"
    engine._one_at_a_time.release()


def test_a_long_work_waits_for_what_is_calculated_and_can_be_stopped_meanwhile(calculating):
    told = []

    def stop(share: float) -> None:
        told.append(share)
        if len(told) == 3:
            raise InterruptedError

    with pytest.raises(InterruptedError):
        engine.head_in_turn(BALL, stop)
    assert told == [0.0, 0.0, 0.0]


def test_a_long_work_has_its_head_where_nothing_is_calculated():
    assert len(engine.head_in_turn(BALL, lambda share: pytest.fail("it need not wait")).planes) > 1
    assert engine._one_at_a_time.acquire(blocking=False), "it can be calculated again"
    engine._one_at_a_time.release()


def test_a_day_plan_that_waits_for_a_head_being_lit_can_be_stopped(calculating, qtbot):
    work = DayWork()
    with qtbot.waitSignal(work.stopped, timeout=30_000):
        work.plan(BALL, date(2026, 6, 21), [], timedelta(hours=1))
        work.stop()
    work.wait()
