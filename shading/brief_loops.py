"""Compiled loops over vertices that take less than a millisecond, shared among cores.

A thread that sleeps is woken late, and that costs whoever wakes it: a tenth of a millisecond each was measured on a
virtual machine. And the interpreter's lock is to be had by one thread at a time. So here

- pieces are taken in compiled code, from both ends, by whoever is there; the caller does what nobody else has begun,
- the caller stays awake until the others' last pieces are done,
- who has helped stays awake for about a millisecond, in compiled code, where it holds no lock: another loop may follow.
"""

from __future__ import annotations

import threading
import time
from functools import lru_cache
from queue import SimpleQueue

import numpy as np
from numba import types
from numba.extending import intrinsic

from sitterlight.shading.compiled import kernel, workers_for

PIECES = 32
"""Pieces of a loop: enough for all to end together."""

_MOST = 4
"""Workers that share a loop: it is too brief for more."""

_AWAKE = 120_000
"""Looks at a board, of about eight nanoseconds, after which who has helped goes to sleep."""

_ENTERS = 4_000
"""Looks for which it leaves the interpreter to who calls, once there is another loop: until that is in its own code."""

# Places on the board of a loop; two for what was taken from the front and from the back.
_COUNT, _PIECES, _LEFT, _TAKEN, _DONE, _FOLLOWED = 0, 1, 2, 3, 5, 6

CALLER, BACK, FRONT = 0, 1, 2
"""Who takes pieces: the caller, from the front, and helpers from either end."""


def over_vertices_briefly(function, count: int, *arguments, each: int = 1) -> None:
    """As compiled.over_vertices; `function(board, who, *arguments)` takes its pieces by itself: `piece_of(board, who,
    0)` and then, having done it, `piece_of(board, who, 1)`, until one is empty."""
    board, failed = _board(count), []
    workers = min(workers_for(count * each), _MOST)
    if workers > 1:
        _helpers(workers - 1).send(function, board, arguments, failed)
    function(board, CALLER, *arguments)
    while not _is_done(board, _AWAKE):
        if failed:
            raise failed[0]
        time.sleep(1e-4)


def _board(count: int) -> np.ndarray:
    """The board of a loop over `count` vertices."""
    pieces = min(PIECES, count)
    return np.array([count, pieces, pieces, 0, 0, 0, 0])


class _Helpers:
    """So many threads, which end with the program."""

    def __init__(self, count: int):
        self._sent: SimpleQueue = SimpleQueue()
        self._count, self._last = count, _board(0)
        for number in range(count):
            threading.Thread(target=self._help, name=f"helper {number}", daemon=True).start()

    def send(self, function, board: np.ndarray, arguments: tuple, failed: list) -> None:
        """Have all of them take part in a loop."""
        for number in range(self._count):
            self._sent.put((function, board, (BACK, FRONT)[number % 2], arguments, failed))
        self._last[_FOLLOWED], self._last = 1, board

    def _help(self) -> None:
        while True:
            function, board, who, arguments, failed = self._sent.get()
            try:
                if board[_LEFT] > 0:
                    function(board, who, *arguments)
            except BaseException as error:
                failed.append(error)
            del function, board, arguments, failed  # they are others' while this one sleeps


@lru_cache(maxsize=1)
def _helpers(count: int) -> _Helpers:
    return _Helpers(count)


@kernel
def piece_of(board, who, done):
    """The next piece of a loop, first and last, for one who has `done` a piece, 1, or none, 0; an empty one where none
    is left. It is always the same pieces, whoever takes them: where a loop takes eight numbers at a time, the last
    digit may hang on where a piece ends. From the same end each finds near what it had the last time."""
    _add(board, _DONE, done)
    if _add(board, _LEFT, -1) <= 0:
        if who != CALLER:
            _stay_awake(board)
        return 0, 0
    count, pieces = board[_COUNT], board[_PIECES]
    piece = pieces - 1 - _add(board, _TAKEN + 1, 1) if who == BACK else _add(board, _TAKEN, 1)
    return count * piece // pieces, count * (piece + 1) // pieces


@kernel
def _stay_awake(board):
    for _ in range(_AWAKE):
        if _add(board, _FOLLOWED, 0):
            for _ in range(_ENTERS):
                _add(board, _FOLLOWED, 0)
            return


@kernel
def _is_done(board, looks):
    """Whether all pieces are done, waiting for that for so many looks."""
    while looks > 0 and _add(board, _DONE, 0) < board[_PIECES]:
        looks -= 1
    return looks > 0


@intrinsic
def _add(_typing, board, place, number):
    """Add a number to one on a board (n,), in one step whatever other threads do; what stood there before."""

    def build(context, builder, signature, given):
        array = context.make_array(signature.args[0])(context, builder, given[0])
        return builder.atomic_rmw("add", builder.gep(array.data, [given[1]]), given[2], "seq_cst")

    return types.int64(board, types.int64, types.int64), build
