"""The promise of every reader: a whole file is accepted; a damaged one is refused in one sentence, soon, in little
memory. What a reader does with one file, measured and judged.
"""

from __future__ import annotations

import os
import resource
import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

LONGEST_SENTENCE = 600
"""Characters beyond the file's own path."""

MOST_SECONDS = 2.0
"""Of the processor's time, so that a busy machine breaks no promise."""

MOST_MEMORY = 2_000_000_000
"""Bytes that reading one file may take at its fullest, beyond what the process holds before."""


_OF_PROGRAMMERS = (
    "Traceback", "object at 0x", "NoneType", "__", "a.any()", "broadcast", "dtype", "operand", "ndarray", "to unpack",
    "Errno", "subscript", "argument", "buffer size", "zero-size", "reduction", "out of bounds", "codec",
)  # fmt: skip


class BrokenPromiseError(AssertionError):
    """What a reader did instead."""


def outcome(read: Callable[[Path], object], path: Path) -> str:
    """ "" where the reader accepts the file, else its sentence. BrokenPromiseError where it keeps no promise."""
    begun, peak, held = time.process_time(), peak_memory(), held_memory()
    try:
        with _stopped_after(10 * MOST_SECONDS):
            read(path)
        sentence = ""
    except (ValueError, OSError) as error:
        sentence = _judged(str(error), path)
    except Exception as error:
        raise BrokenPromiseError(f"{type(error).__name__}: {str(error)[:200]}") from error
    seconds = time.process_time() - begun
    if seconds > MOST_SECONDS:
        raise BrokenPromiseError(f"took {seconds:.1f} s")
    if peak_memory() > peak and peak_memory() - held > MOST_MEMORY:
        raise BrokenPromiseError(f"took {(peak_memory() - held) / 1e6:.0f} MB")
    return sentence


def _judged(sentence: str, path: Path) -> str:
    if not sentence.strip():
        raise BrokenPromiseError("an error without a sentence")
    if len(sentence.replace(str(path), "")) > LONGEST_SENTENCE:
        raise BrokenPromiseError(f"a sentence of {len(sentence)} characters: {sentence[:200]}…")
    if not sentence.isprintable():
        raise BrokenPromiseError(f"a sentence of more than one line, or with signs nobody can read: {sentence!r}")
    if path.name not in sentence:
        raise BrokenPromiseError(f"a sentence that does not name the file: {sentence}")
    for word in _OF_PROGRAMMERS:
        # What stands in the file may be repeated, whatever its words.
        if word in sentence.replace(str(path), "") and word.encode() not in path.read_bytes():
            raise BrokenPromiseError(f"a sentence for nobody but programmers: {sentence}")
    return sentence


@contextmanager
def _stopped_after(seconds: float) -> Iterator[None]:
    """Ends what has used so much of the processor's time, where the system can."""
    if not hasattr(signal, "ITIMER_PROF"):
        yield
        return

    _heed_the_clock()
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)


@cache
def _heed_the_clock() -> None:
    def stop(*_: object) -> None:
        raise BrokenPromiseError("had no end")

    signal.signal(signal.SIGPROF, stop)


def held_memory() -> int:
    """Memory that this process holds now, bytes; 0 where the system doesn't tell."""
    told = _told_of_memory()
    return 0 if told is None else int(os.pread(told, 100, 0).split()[1]) * resource.getpagesize()


@cache
def _told_of_memory() -> int | None:
    """A file of the system's that says it, held open, for it is asked before every file."""
    try:
        return os.open("/proc/self/statm", os.O_RDONLY)
    except OSError:
        return None


def peak_memory() -> int:
    """The most memory that this process has held, bytes."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most if sys.platform == "darwin" else most * 1024
