"""Compiled loops: who began the work may end it between two of them."""

import importlib
import sys
import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from sitterlight.shading import compiled, crew
from sitterlight.shading.compiled import asking
from sitterlight.shading.matrix import Rows


class EnoughError(Exception):
    pass


def product() -> np.ndarray:
    each = np.arange(3001)
    return Rows(each, each[:-1].astype(np.int32), np.ones(3000, np.float32)) @ np.ones((3000, 1))


def test_work_ends_at_the_next_loop_when_it_is_no_longer_wanted():
    asked = []

    def enough() -> None:
        asked.append(threading.current_thread())
        if len(asked) == 2:
            raise EnoughError

    with pytest.raises(EnoughError), asking(enough):
        assert product().sum() == 3000
        product()
    assert product().sum() == 3000
    assert asked == [threading.current_thread()] * 2


def test_only_the_thread_that_asks_is_ended():
    results = []
    other = threading.Thread(target=lambda: results.append(product().sum()))

    def never() -> None:
        raise EnoughError

    with asking(never):
        other.start()
        other.join()
    assert results == [3000]


@pytest.mark.parametrize("count", [2000, 2001, 18_168, 72_654])
def test_every_vertex_is_worked_on_once_in_always_the_same_pieces(count, monkeypatch):
    """Larger ones first, each three eighths of what is left for two cores, down to a sixteenth of the whole; where that
    were less than 2000 vertices, to so many, but to an eighth at least."""
    monkeypatch.setattr(compiled, "cores", lambda: 2)
    runs = []
    for _ in range(3):
        worked, pieces, lock = np.zeros(count, int), [], threading.Lock()

        def work(first: int, last: int, worked=worked, pieces=pieces, lock=lock) -> None:
            with lock:
                worked[first:last] += 1
                pieces.append((first, last))

        compiled.over_vertices(work, count)
        assert (worked == 1).all()
        runs.append(sorted(pieces))
    assert runs[0] == runs[1] == runs[2]
    sizes = [last - first for first, last in runs[0]]
    assert sizes[0] == count * 3 // 8 and sizes == sorted(sizes, reverse=True)
    assert min(sizes[:-1]) == max(-(-count // 16), min(-(-count // 8), 2000))


def test_what_was_kept_is_compiled_anew_when_a_loop_built_into_it_changes(tmp_path, monkeypatch):
    """numba asks only about the file of the outer loop."""
    monkeypatch.syspath_prepend(tmp_path)
    from_compiled = "from sitterlight.shading.compiled import kernel\n"
    outer = from_compiled + "from inner_loop import of\n@kernel\ndef twice(x):\n    return 2 * of(x)\n"
    (tmp_path / "outer_loop.py").write_text(outer)
    for factor in (3, 50):
        inner = f"{from_compiled}@kernel\ndef of(x):\n    return {factor} * x\n"
        (tmp_path / "inner_loop.py").write_text(inner)
        for name in ("outer_loop", "inner_loop"):
            sys.modules.pop(name, None)
        importlib.invalidate_caches()
        assert importlib.import_module("outer_loop").twice(1) == 2 * factor


def _noted(count: int) -> tuple[np.ndarray, set[str]]:
    worked, by = np.zeros(count, int), set()

    def work(first: int, last: int) -> None:
        worked[first:last] += 1
        by.add(threading.current_thread().name)
        threading.Event().wait(0.001)

    compiled.over_vertices(work, count)
    return worked, by


def test_helpers_take_part_in_longer_loops_too(monkeypatch):
    monkeypatch.setattr(compiled, "cores", lambda: 3)
    worked, by = _noted(20_000)
    assert (worked == 1).all() and len(by) == 3 and threading.current_thread().name in by


def test_the_caller_does_all_where_no_helper_comes(monkeypatch):
    """As in a process that was forked from one with helpers."""
    monkeypatch.setattr(compiled, "cores", lambda: 2)
    monkeypatch.setattr(crew._Helpers, "send", lambda *_: None)
    worked, by = _noted(20_000)
    assert (worked == 1).all() and by == {threading.current_thread().name}


def test_many_ask_at_once_for_longer_loops(monkeypatch):
    monkeypatch.setattr(compiled, "cores", lambda: 3)
    with ThreadPoolExecutor(6) as pool:
        assert all((worked == 1).all() for worked, _ in pool.map(lambda _: _noted(20_000), range(60)))


def test_what_a_piece_raises_is_raised_where_it_was_asked_for(monkeypatch):
    """Whoever did it; and the next loop is whole."""
    monkeypatch.setattr(compiled, "cores", lambda: 2)
    caller = threading.current_thread()
    for by_caller in (True, False):

        def fail(first: int, last: int, by_caller=by_caller) -> None:
            threading.Event().wait(0.002)
            if (threading.current_thread() is caller) == by_caller:
                raise MemoryError("no room")

        with pytest.raises(MemoryError, match="no room"):
            compiled.over_vertices(fail, 20_000)
        assert (_noted(20_000)[0] == 1).all()
