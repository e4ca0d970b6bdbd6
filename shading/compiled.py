"""Compiled loops over vertices: one decorator and one way to share them among the processor's cores.

A kernel takes `first, last` as its first two arguments and works on that range of vertices only, writing into
arrays it is given. Compiled code is kept beside its source or in the user's cache, where either can be written.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from itertools import pairwise

import numba
import numpy as np


def kernel(function):
    """Compile `function` without the interpreter's lock, and keep the result where that is possible."""
    try:
        return numba.njit(nogil=True, fastmath=True, cache=True)(function)
    except RuntimeError:
        return numba.njit(nogil=True, fastmath=True)(function)


def over_vertices(function, count: int, *arguments) -> None:
    """Run `function(first, last, *arguments)` over all of `count` vertices, on every core."""
    cores = os.cpu_count() or 1
    edges = np.linspace(0, count, 4 * cores + 1).astype(int)
    if count < 2000 or cores == 1:
        function(0, count, *arguments)
        return
    jobs = [_pool(cores).submit(function, a, b, *arguments) for a, b in pairwise(edges)]
    for job in jobs:
        job.result()


@lru_cache(maxsize=1)
def _pool(cores: int) -> ThreadPoolExecutor:
    return ThreadPoolExecutor(cores)
