"""Compiled loops: how they are compiled, and how what was compiled is kept.

A kernel over vertices takes `first, last` as its first two arguments and works on that range only, writing into arrays
it is given. Compiled code is kept beside its source or in the user's cache, where either can be written.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from types import ModuleType

import numba
import numpy as np
from numba.core.dispatcher import Dispatcher


def kernel(function, **options):
    """Compile `function` without the interpreter's lock, and keep the result where that is possible.

    What is divided by zero becomes infinite, as in numpy: a check for it would keep the processor from taking a loop's
    numbers eight at a time.
    """
    return _compiled(function, True, options)


def kernel_of_short_sums(function, **options):
    """As `kernel`, for loops over a few numbers each, which are sooner added one by one than eight at a time."""
    return _compiled(function, {"contract"}, options)


def in_others_only(compiled: Callable, function: Callable):
    """A `compiled` function for other compiled ones alone: what would let the interpreter call it is left out."""
    return compiled(function, no_cpython_wrapper=True)


def _compiled(function, fastmath, options):
    how = {"nogil": True, "fastmath": fastmath, "error_model": "numpy", **options}
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
