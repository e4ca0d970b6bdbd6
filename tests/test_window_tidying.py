"""What only refers to itself is found in the window's own thread, and what stays is not looked through again."""

from __future__ import annotations

import gc
import threading
import weakref

import pytest
from window_driver import PATIENCE

pytest.importorskip("PyQt6.QtWidgets")


class Ring:
    """Something that only refers to itself."""

    def __init__(self):
        self.ring = self


@pytest.fixture
def tidying(qapp):
    """A tidying, with whether anything is calculated as `busy[0]`; afterwards Python tidies as before."""
    from PyQt6.QtCore import QObject

    from sitterlight.viewer.tidying import Tidying

    enabled, parent, busy = gc.isenabled(), QObject(), [True]
    made = Tidying(parent, lambda: busy[0])
    yield made, busy
    made.end()
    (gc.enable if enabled else gc.disable)()


def dropped():
    """A way to see whether a ring that nothing else refers to has gone."""
    return weakref.ref(Ring())


def much_has_come():
    """Enough for a look at what has come lately."""
    return [[] for _ in range(2 * gc.get_threshold()[0])]


def test_what_only_refers_to_itself_goes_while_something_is_calculated(tidying, qtbot):
    ring, much = dropped(), much_has_come()
    assert not gc.isenabled() and ring() is not None and much
    qtbot.waitUntil(lambda: ring() is None, timeout=PATIENCE)


def test_it_goes_in_the_windows_thread_alone(tidying, qtbot):
    """However much another thread makes; Qt's own things may only go in the window's."""
    made, seen = tidying[0], set()
    gc.callbacks.append(note := lambda phase, told: seen.add(threading.current_thread()))
    try:
        other = threading.Thread(target=lambda: [much_has_come() for _ in range(50)])
        other.start()
        other.join()
        assert not seen
        much = much_has_come()
        made.look()
        assert much and seen == {threading.main_thread()}
    finally:
        gc.callbacks.remove(note)


def test_what_is_there_at_rest_is_set_aside_and_still_goes_when_nothing_refers_to_it(tidying):
    made, busy = tidying
    stays, before = Ring(), gc.get_freeze_count()
    stays.ring = None
    busy[0] = False
    made.look()
    assert gc.get_freeze_count() > before and len(gc.get_objects()) < before + gc.get_freeze_count()
    gone = weakref.ref(stays)
    del stays
    assert gone() is None


def test_after_the_end_python_tidies_again(tidying):
    tidying[0].end()
    assert gc.isenabled() and not tidying[0]._timer.isActive()


class Python:
    """In place of Python's own tidying: `count` of what has come of the new, the young and the old, and what was
    `done`: looks through these (0, 1, 2) and setting aside."""

    def __init__(self):
        self.count, self.done = (0, 0, 0), []

    def get_count(self):
        return self.count

    def get_threshold(self):
        return 700, 10, 10

    def collect(self, generation=2):
        self.done.append(generation)

    def freeze(self):
        self.done.append("set aside")

    def disable(self):
        self.done.append("left alone")

    def enable(self):
        self.done.append("tidies itself")


@pytest.fixture
def looked(qapp, monkeypatch):
    """A function that looks once, while something is calculated or nothing is, with so much come; what was done."""
    from PyQt6.QtCore import QObject

    from sitterlight.viewer import tidying

    python, parent, busy = Python(), QObject(), [True]
    monkeypatch.setattr(tidying, "gc", python)
    made = tidying.Tidying(parent, lambda: busy[0])
    assert python.done == ["left alone", "set aside"]

    def look(is_busy: bool, *count: int) -> list:
        busy[0], python.count, python.done = is_busy, count or (0, 0, 0), []
        made.look()
        return python.done

    yield look
    made.end()


def test_what_has_come_is_set_aside_at_the_first_three_rests(looked):
    """The first time without a look through it, and once at each."""
    for done in (["set aside"], [2, "set aside"], [2, "set aside"], [], []):
        assert looked(True) == []
        assert looked(False) == done
        assert looked(False) == []


@pytest.mark.parametrize(
    "busy, come, done",
    [
        (True, (700, 0, 0), []),
        (True, (701, 10, 11), [0]),
        (True, (701, 11, 11), [1]),
        (True, (0, 11, 11), []),
        (False, (701, 10, 10), [0]),
        (False, (701, 11, 10), [1]),
        (False, (0, 0, 11), [2]),
        (False, (0, 11, 10), []),
    ],
)
def test_what_has_come_lately_is_looked_through_often_and_the_rest_at_rest(looked, busy, come, done):
    for _ in range(3):
        looked(True)
        looked(False)
    assert looked(busy, *come) == done
