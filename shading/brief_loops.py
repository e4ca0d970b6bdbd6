"""Compiled loops over vertices that take less than a millisecond, shared among cores.

The interpreter's lock is to be had by one thread at a time. So here pieces are taken in compiled code, from both ends,
by whoever is there; the caller does what nobody else has begun, and stays awake until the others' last pieces are done.
"""

from __future__ import annotations

from sitterlight.shading.compiled import workers_for
from sitterlight.shading.crew import (
    BACK,
    CALLER,
    COUNT,
    DONE,
    LEFT,
    PIECES,
    TAKEN,
    add,
    new_board,
    share_out,
    stay_awake,
)
from sitterlight.shading.kernels import kernel

MOST_PIECES = 32
"""Pieces of a loop: enough for all to end together."""

_MOST = 4
"""Workers that share a loop: it is too brief for more."""


def over_vertices_briefly(function, count: int, *arguments, each: int = 1) -> None:
    """As compiled.over_vertices; `function(board, who, *arguments)` takes its pieces by itself: `piece_of(board, who,
    0)` and then, having done it, `piece_of(board, who, 1)`, until one is empty."""
    board = new_board(count, min(MOST_PIECES, count))
    share_out(function, board, arguments, min(workers_for(count * each), _MOST))


@kernel
def piece_of(board, who, done):
    """The next piece of a loop, first and last, for one who has `done` a piece, 1, or none, 0; an empty one where none
    is left. It is always the same pieces, whoever takes them: where a loop takes eight numbers at a time, the last
    digit may hang on where a piece ends. From the same end each finds near what it had the last time."""
    add(board, DONE, done)
    if add(board, LEFT, -1) <= 0:
        if who != CALLER:
            stay_awake(board)
        return 0, 0
    count, pieces = board[COUNT], board[PIECES]
    piece = pieces - 1 - add(board, TAKEN + 1, 1) if who == BACK else add(board, TAKEN, 1)
    return count * piece // pieces, count * (piece + 1) // pieces
