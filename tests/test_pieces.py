"""Loops in pieces: every vertex is worked on once, whoever comes, late or not at all, and whatever else asks."""

from __future__ import annotations

import importlib
import sys
import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from sitterlight.shading import compiled, crew
from sitterlight.shading.compiled import over_vertices
from sitterlight.shading.crew import BACK, CALLER, FOLLOWED, FRONT, is_done, new_board
from sitterlight.shading.kernels import kernel
from sitterlight.shading.pieces import FEW, MANY, MOST, Loop, brief_loop, loop, piece_of


@kernel
def _count(board, who, worked, by):
    first, last = piece_of(board, who, 0)
    while first < last:
        for v in range(first, last):
            worked[v] += 1
            by[v] = who
        first, last = piece_of(board, who, 1)


@kernel
def _walk(board, who, worked, by):
    """A loop that takes some milliseconds."""
    first, last = piece_of(board, who, 0)
    while first < last:
        for v in range(first, last):
            total = 0.0
            for k in range(300):
                total += np.sqrt(worked[v] + k)
            worked[v], by[v] = total, who
        first, last = piece_of(board, who, 1)


@loop
def _square(first, last, values, squares):
    for v in range(first, last):
        squares[v] = values[v] * values[v]


@brief_loop
def _halve(first, last, values, halves):
    for v in range(first, last):
        halves[v] = values[v] / 2


def _counted(count: int) -> tuple[np.ndarray, np.ndarray]:
    worked, by = np.zeros(count, np.int64), np.full(count, -1)
    over_vertices(Loop(_count, FEW, MOST), count, worked, by)
    return worked, by


@pytest.mark.parametrize("cores", [1, 2, 3, 16])
@pytest.mark.parametrize("count", [0, 1, 31, 2000, 18_168, 72_654])
def test_every_vertex_is_worked_on_once(cores, count, monkeypatch):
    monkeypatch.setattr(compiled, "cores", lambda: cores)
    for _ in range(20):
        worked, by = _counted(count)
        assert (worked == 1).all() and set(by) <= {CALLER, BACK, FRONT}
        assert cores > 1 or (by == CALLER).all()


def test_all_take_part_from_their_ends(monkeypatch):
    """The caller from the front and the first helper from the back, so that each meets its own data again."""
    monkeypatch.setattr(compiled, "cores", lambda: 2)
    both = 0
    for _ in range(100):
        worked, by = np.ones(18_168), np.zeros(18_168, int)
        over_vertices(Loop(_walk, FEW, MOST), len(worked), worked, by)
        assert (np.diff((by == BACK).astype(int)) >= 0).all()
        both += (by == BACK).any()
    assert both > 5, f"the helper had a part in {both} of 100 loops"


def test_the_numbers_are_the_same_whoever_works_on_them(monkeypatch):
    """To the last digit: pieces are always the same."""
    results = []
    for cores in (1, 2, 4):
        monkeypatch.setattr(compiled, "cores", lambda cores=cores: cores)
        worked = np.arange(5000.0)
        over_vertices(Loop(_walk, FEW, MOST), len(worked), worked, np.zeros(5000, int))
        results.append(worked)
    assert np.array_equal(results[0], results[1]) and np.array_equal(results[0], results[2])


@pytest.mark.parametrize("cores", [1, 3])
def test_a_loop_over_a_range_is_run_over_all_of_it(cores, monkeypatch):
    monkeypatch.setattr(compiled, "cores", lambda: cores)
    values, squares, halves = np.arange(5000.0), np.full(5000, np.nan), np.full(5000, np.nan)
    over_vertices(_square, len(values), values, squares)
    over_vertices(_halve, len(values), values, halves)
    assert np.array_equal(squares, values**2) and np.array_equal(halves, values / 2)
    over_vertices(_square, 0, values[:0], squares[:0])
    assert (_square.pieces, _square.most) == (MANY, sys.maxsize)
    assert (_halve.pieces, _halve.most) == (FEW, MOST)


def test_a_loop_is_kept_until_what_is_built_into_it_changes(tmp_path, monkeypatch):
    """Though its outer part was never written in a file."""
    monkeypatch.syspath_prepend(tmp_path)
    text = """
import numpy as np
from sitterlight.shading.compiled import loop, over_vertices
from inner_part import of


@loop
def raised(first, last, values):
    for v in range(first, last):
        values[v] = of(v)


def first() -> float:
    values = np.zeros(3000)
    over_vertices(raised, 3000, values)
    return values[1]
"""
    (tmp_path / "kept_loop.py").write_text(text)
    hits = []
    for factor in (3, 3, 50):
        inner = f"from sitterlight.shading.compiled import kernel\n@kernel\ndef of(x):\n    return {factor} * x\n"
        if not hits or factor != 3:
            (tmp_path / "inner_part.py").write_text(inner)
        for name in ("kept_loop", "inner_part"):
            sys.modules.pop(name, None)
        importlib.invalidate_caches()
        module = importlib.import_module("kept_loop")
        assert module.first() == factor
        hits.append(sum(module.raised.run.stats.cache_hits.values()))
    assert hits == [0, 1, 0]


def test_pieces_are_the_same_from_either_end():
    pieces = {}
    for who in (CALLER, BACK):
        board = new_board(1000, FEW)
        board[FOLLOWED] = 1
        taken = [piece_of(board, who, 0)]
        while taken[-1][0] < taken[-1][1]:
            taken.append(piece_of(board, who, 1))
        pieces[who] = taken[:-1]
        assert is_done(board, 1)
    assert pieces[CALLER] == pieces[BACK][::-1] and len(pieces[BACK]) == FEW
    assert pieces[CALLER][0][0] == 0 and pieces[CALLER][-1][1] == 1000
    assert all(one[1] == two[0] for one, two in zip(pieces[CALLER], pieces[CALLER][1:], strict=False))


def test_many_ask_at_once(monkeypatch):
    monkeypatch.setattr(compiled, "cores", lambda: 3)
    with ThreadPoolExecutor(6) as pool:
        for worked, _ in pool.map(lambda _: _counted(20_000), range(300)):
            assert (worked == 1).all()


def test_who_comes_late_is_not_waited_for(monkeypatch):
    """And finds nothing left to do when it comes."""
    monkeypatch.setattr(compiled, "cores", lambda: 2)
    helpers = crew._helpers(1)
    asleep, go_on = threading.Event(), threading.Event()

    def hold(board, who) -> None:
        asleep.set()
        go_on.wait(60)

    helpers.send(hold, new_board(1, 1), (), [])
    try:
        assert asleep.wait(60)
        worked, by = _counted(20_000)
        assert (worked == 1).all() and (by == CALLER).all()
    finally:
        go_on.set()
    after, _ = _counted(20_000)
    assert (after == 1).all() and (worked == 1).all()


def test_what_a_helper_raises_is_raised_where_it_was_asked_for(monkeypatch):
    monkeypatch.setattr(compiled, "cores", lambda: 2)
    begun = threading.Event()

    def fail(board, who) -> None:
        if who == CALLER:
            assert begun.wait(60)
            return  # and leaves the pieces to the helper
        begun.set()
        raise MemoryError("no room")

    with pytest.raises(MemoryError, match="no room"):
        over_vertices(Loop(fail), 20_000)
    assert (_counted(20_000)[0] == 1).all(), "and it goes on helping"


def test_whoever_asks_whether_to_go_on_is_asked_by_loops_in_pieces_too():
    asked = []
    with compiled.asking(lambda: asked.append(1)):
        _counted(10)
    assert asked == [1]


def test_each_loop_tells_who_helped_with_the_last_that_it_follows(monkeypatch):
    """For which they stay awake."""
    monkeypatch.setattr(compiled, "cores", lambda: 2)
    _counted(20_000)
    boards, made = [], compiled.new_board
    monkeypatch.setattr(compiled, "new_board", lambda *about: boards.append(made(*about)) or boards[-1])
    for _ in range(3):
        _counted(20_000)
    assert [int(board[FOLLOWED]) for board in boards] == [1, 1, 0]


@pytest.mark.parametrize("cores", [1, 2])
def test_who_is_woken_is_awake_for_the_next_loop(cores, monkeypatch):
    monkeypatch.setattr(compiled, "cores", lambda: cores)
    _counted(20_000)
    boards, made = [], crew.new_board
    monkeypatch.setattr(crew, "new_board", lambda *about: boards.append(made(*about)) or boards[-1])
    compiled.make_ready()
    assert (_counted(20_000)[0] == 1).all()
    assert [int(board[FOLLOWED]) for board in boards] == [1] * (cores - 1)


def test_however_many_cores_there_are_few_share_a_brief_loop(monkeypatch):
    monkeypatch.setattr(compiled, "cores", lambda: 16)
    asked, helpers = [], crew._helpers
    monkeypatch.setattr(crew, "_helpers", lambda count: asked.append(count) or helpers(count))
    _counted(20_000)
    assert asked == [3]
