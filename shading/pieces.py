"""Loops that take their pieces in compiled code, from both ends, whoever is there.

The interpreter's lock is to be had by one thread at a time, and who finds it taken is woken late: of loops that are
over after some milliseconds that cost a tenth. So a loop that is often run asks for it once.
"""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable
from dataclasses import dataclass

from sitterlight.shading.crew import BACK, CALLER, COUNT, DONE, LEFT, PIECES, TAKEN, add, stay_awake
from sitterlight.shading.kernels import in_others_only, kernel, kernel_of_short_sums

MANY, FEW = 128, 32
"""Pieces of a loop and of a brief one: enough for all to end together."""

MOST = 4
"""Workers that share a brief loop."""


@dataclass(frozen=True, eq=False)
class Loop:
    """A loop over vertices that `compiled.over_vertices` shares among `most` workers, in so many `pieces`:
    `run(board, who, *arguments)` takes one by `piece_of(board, who, 0)` and, having done one, by `piece_of(board, who,
    1)`, until it is empty."""

    run: Callable
    pieces: int = MANY
    most: int = sys.maxsize


def loop(function: Callable) -> Loop:
    """Compile `function(first, last, *arguments)`, which works on that range of vertices, as a loop."""
    return Loop(_in_pieces(function, kernel))


def brief_loop(function: Callable) -> Loop:
    """The same for one that takes less than a millisecond and adds up a few numbers each."""
    return Loop(_in_pieces(function, kernel_of_short_sums), FEW, MOST)


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


_TEXT = """
def {name}_in_pieces(board, who, {arguments}):
    first, last = piece_of(board, who, 0)
    while first < last:
        {name}(first, last, {arguments})
        first, last = piece_of(board, who, 1)
"""


def _in_pieces(function: Callable, compiled: Callable) -> Callable:
    """What takes pieces and gives each to `function`, compiled. It is written for the arguments that this has, since
    compiled code that takes however many can't be kept; its file and line are those of `function`."""
    code = function.__code__
    _, _, *arguments = inspect.signature(function).parameters
    text = _TEXT.strip("\n").format(name=function.__name__, arguments=", ".join(arguments))
    names = {**function.__globals__, function.__name__: in_others_only(compiled, function), "piece_of": piece_of}
    exec(compile("\n" * (code.co_firstlineno - 1) + text, code.co_filename, "exec"), names)
    return compiled(names[f"{function.__name__}_in_pieces"])
