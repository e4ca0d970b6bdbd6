"""Compiled loops over vertices: one decorator and one way to share them among the processor's cores.

A kernel takes `first, last` as its first two arguments and works on that range of vertices only, writing into
arrays it is given. Compiled code is kept beside its source or in the user's cache, where either can be written.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from functools import lru_cache
from itertools import pairwise
from types import ModuleType

import numba
import numpy as np
from numba.core.dispatcher import Dispatcher


def kernel(function):
    """Compile `function` without the interpreter's lock, and keep the result where that is possible.

    What is divided by zero becomes infinite, as in numpy: a check for it would keep the processor from taking a loop's
    numbers eight at a time.
    """
    return _compiled(function, True)


def kernel_of_short_sums(function):
    """As `kernel`, for loops over a few numbers each, which are sooner added one by one than eight at a time."""
    return _compiled(function, {"contract"})


def _compiled(function, fastmath):
    how = {"nogil": True, "fastmath": fastmath, "error_model": "numpy"}
    try:
        compiled = numba.njit(**how, cache=True)(function)
    except RuntimeError:
        return numba.njit(**how)(function)
    keep = getattr(compiled._cache, "save_overload", None)
    if keep is not None:
        compiled._cache.save_overload = lambda *given: _if_there_is_room(keep, given)
        _know_by_others_too(compiled)
    return compiled


def _know_by_others_too(compiled) -> None:
    """Let what was compiled be kept only as long as the files stay as they are whose loops may be built into it:
    numba itself asks only about the file of the function."""
    named = list(compiled.py_func.__globals__.values())
    modules = (one for one in named if isinstance(one, ModuleType) and one.__name__.startswith("sitterlight."))
    named += [one for module in modules for one in vars(module).values()]
    stamps = {line for one in [compiled, *named] if isinstance(one, Dispatcher) for line in _stamp(one).split("\n")}
    if _stamp(compiled):
        compiled._cache._cache_file._source_stamp = "\n".join(sorted(stamps))


def _stamp(compiled) -> str:
    """What numba knows the source of a compiled function by; empty where it keeps nothing of it."""
    return str(getattr(getattr(compiled._cache, "_cache_file", None), "_source_stamp", ""))


unsigned = np.uint64
"""Around a place in an array, in an inner loop: else each look-up asks whether the place counts from the end."""


def _if_there_is_room(keep: Callable, given: tuple) -> None:
    """A full disk keeps no result, and stops no work."""
    with suppress(OSError):
        keep(*given)


def cores() -> int:
    """How many processor cores this program may use."""
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
    return 1 if vertices < 2000 else cores()


def over_vertices(function, count: int, *arguments, each: int = 1) -> None:
    """Run `function(first, last, *arguments)` over all of `count` vertices, or of what stands for `each` vertices, on
    every core: the caller takes pieces as the others do, which costs less than to wait for them."""
    workers = workers_for(count * each)
    if workers == 1:
        function(0, count, *arguments)
        return
    left = iter(_pieces(count, workers))

    def work() -> None:
        for a, b in left:
            function(a, b, *arguments)

    jobs = [_pool(workers).submit(work) for _ in range(workers - 1)]
    try:
        work()
    finally:
        for job in jobs:
            if not job.cancel():
                job.result()


@lru_cache(maxsize=64)
def _pieces(count: int, workers: int) -> tuple[tuple[int, int], ...]:
    """What `workers` take in turn of so many vertices: larger pieces first, since each costs a call, small ones last,
    for none to wait long for another. Always the same ones: where a loop takes eight numbers at a time, the last digit
    may hang on where a piece ends."""
    ends, least = [0], -(-count // (8 * workers))
    while ends[-1] < count:
        left = count - ends[-1]
        ends.append(ends[-1] + min(max(left // (2 * workers), least), left))
    return tuple(pairwise(ends))


@lru_cache(maxsize=1)
def _pool(workers: int) -> ThreadPoolExecutor:
    return ThreadPoolExecutor(workers)
