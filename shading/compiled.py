"""Compiled loops over vertices shared among the processor's cores, by one way for all."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import lru_cache
from itertools import pairwise

from sitterlight.shading.crew import CALLER, new_board, rouse, share_out, stay_awake, tell_done
from sitterlight.shading.kernels import kernel, kernel_of_short_sums, unsigned
from sitterlight.shading.pieces import Loop, brief_loop, loop

__all__ = ["asking", "cores", "each_at_once", "make_ready", "over_vertices", "workers_for"]
__all__ += ["brief_loop", "kernel", "kernel_of_short_sums", "loop", "unsigned"]


@lru_cache(maxsize=1)
def cores() -> int:
    """How many processor cores this program may use, as it was when that was asked first."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:
        return os.cpu_count() or 1


def each_at_once(function: Callable, items: Sequence) -> Iterator:
    """`function` of each of `items`, in their order, as many at once as there are cores. What the caller raises while
    it takes results stops the rest."""
    if cores() == 1 or len(items) < 2:
        yield from map(function, items)
        return
    jobs = [_pool(cores()).submit(function, item) for item in items]
    try:
        for job in jobs:
            yield job.result()
    finally:
        for job in jobs:
            job.cancel()


@contextmanager
def asking(whether_to_go_on: Callable[[], None]) -> Iterator[None]:
    """While this lasts, each loop that the calling thread begins calls `whether_to_go_on`, which may raise to end the
    work: what was worked out until then stays known."""
    _thread.asks = whether_to_go_on
    try:
        yield
    finally:
        del _thread.asks


_thread = threading.local()


def workers_for(vertices: int) -> int:
    """How many threads take part in a loop over so many vertices, whose caller may be asked whether to go on."""
    if hasattr(_thread, "asks"):
        _thread.asks()
    return 1 if vertices < _WORTH_A_CALL else cores()


def make_ready() -> None:
    """Have every core ready for loops that are about to follow: else the first is nearly over when others wake."""
    rouse(cores())


def over_vertices(function: Callable | Loop, count: int, *arguments, each: int = 1) -> None:
    """Run a loop, or `function(first, last, *arguments)`, over all of `count` vertices, or of what stands for `each`
    vertices, on every core: the caller takes pieces as the others do, which costs less than to wait for them."""
    workers = workers_for(count * each)
    if isinstance(function, Loop):
        share_out(function.run, new_board(count, min(function.pieces, count)), arguments, min(workers, function.most))
        return
    if workers == 1:
        function(0, count, *arguments)
        return
    pieces = _pieces(count, each, workers)
    left = iter(pieces)

    def work(board, who) -> None:
        for first, last in left:
            function(first, last, *arguments)
            tell_done(board)
        if who != CALLER:
            stay_awake(board)

    share_out(work, new_board(count, len(pieces)), (), workers)


@lru_cache(maxsize=64)
def _pieces(count: int, each: int, workers: int) -> tuple[tuple[int, int], ...]:
    """What `workers` take in turn of so many vertices: larger pieces first, since each costs a call, small ones last,
    for none to wait long for another; where all are soon done with, fewer. Always the same ones: where a loop takes
    eight numbers at a time, the last digit may hang on where a piece ends."""
    few, many = (-(-count // (pieces * workers)) for pieces in (4, 8))
    ends, least = [0], max(many, min(few, _WORTH_A_CALL // each))
    while ends[-1] < count:
        left = count - ends[-1]
        ends.append(ends[-1] + min(max(left * 3 // (4 * workers), least), left))
    return tuple(pairwise(ends))


_WORTH_A_CALL = 2000
"""Vertices below which a piece costs more than it saves in waiting: the interpreter's lock goes from hand to hand."""


@lru_cache(maxsize=1)
def _pool(workers: int) -> ThreadPoolExecutor:
    return ThreadPoolExecutor(workers)
