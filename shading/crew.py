"""Threads that help with loops, and stay awake for a moment: another loop may follow.

A thread that sleeps is woken late, and that costs whoever wakes it: a tenth of a millisecond each was measured on a
virtual machine. So who has helped stays awake for about a millisecond, in compiled code, where it holds no lock.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from functools import lru_cache
from queue import SimpleQueue

import numpy as np
from numba import types
from numba.extending import intrinsic

from sitterlight.shading.kernels import kernel

_AWAKE = 120_000
"""Looks at a board, of about eight nanoseconds, after which who has helped goes to sleep."""

_ENTERS = 4_000
"""Looks for which it leaves the interpreter to who calls, once there is another loop: until that is in its own code."""

# Places on the board of a loop; two for what was taken from the front and from the back.
COUNT, PIECES, LEFT, TAKEN, DONE, FOLLOWED = 0, 1, 2, 3, 5, 6

CALLER, BACK, FRONT = 0, 1, 2
"""Who takes pieces: the caller, from the front, and helpers from either end."""


def new_board(count: int, pieces: int) -> np.ndarray:
    """The board of a loop over `count` vertices in so many `pieces`."""
    return np.array([count, pieces, pieces, 0, 0, 0, 0])


def share_out(run: Callable, board: np.ndarray, arguments: tuple, workers: int) -> None:
    """Have so many `workers`, the caller among them, `run(board, who, *arguments)`, and wait until all pieces are done:
    each that takes one tells so by `add(board, DONE, 1)`, and a helper that finds none stays awake by `stay_awake`. The
    caller must do what nobody else has begun: helpers may come late, or not at all. What one raises is raised."""
    failed: list[BaseException] = []
    if workers > 1:
        _helpers(workers - 1).send(run, board, arguments, failed)
    run(board, CALLER, *arguments)
    while not is_done(board, _AWAKE):
        if failed:
            raise failed[0]
        time.sleep(1e-4)


def rouse(workers: int) -> None:
    """Wake those who would help with a loop of so many `workers`: one is about to follow."""
    if workers > 1:
        _helpers(workers - 1).send(_look_out, new_board(1, 1), (), [])


class _Helpers:
    """So many threads, which end with the program."""

    def __init__(self, count: int):
        self._sent: SimpleQueue = SimpleQueue()
        self._count, self._last = count, new_board(0, 0)
        for number in range(count):
            threading.Thread(target=self._help, name=f"helper {number}", daemon=True).start()

    def send(self, run: Callable, board: np.ndarray, arguments: tuple, failed: list) -> None:
        """Have all of them take part in a loop."""
        for number in range(self._count):
            self._sent.put((run, board, (BACK, FRONT)[number % 2], arguments, failed))
        self._last[FOLLOWED], self._last = 1, board

    def _help(self) -> None:
        while True:
            run, board, who, arguments, failed = self._sent.get()
            try:
                if board[LEFT] > 0:
                    run(board, who, *arguments)
            except BaseException as error:
                failed.append(error)
            del run, board, arguments, failed  # they are others' while this one sleeps


@lru_cache(maxsize=2)
def _helpers(count: int) -> _Helpers:
    return _Helpers(count)


@kernel
def stay_awake(board):
    """Look out for a moment whether another loop follows."""
    for _ in range(_AWAKE):
        if add(board, FOLLOWED, 0):
            for _ in range(_ENTERS):
                add(board, FOLLOWED, 0)
            return


@kernel
def _look_out(board, who):
    stay_awake(board)


@kernel
def is_done(board, looks):
    """Whether all pieces are done, waiting for that for so many looks."""
    while looks > 0 and add(board, DONE, 0) < board[PIECES]:
        looks -= 1
    return looks > 0


@kernel
def tell_done(board):
    """One piece more is done."""
    add(board, DONE, 1)


@intrinsic
def add(_typing, board, place, number):
    """Add a number to one on a board (n,), in one step whatever other threads do; what stood there before."""

    def build(context, builder, signature, given):
        array = context.make_array(signature.args[0])(context, builder, given[0])
        return builder.atomic_rmw("add", builder.gep(array.data, [given[1]]), given[2], "seq_cst")

    return types.int64(board, types.int64, types.int64), build
