"""Giving a reader many files, one after the other.

What counts as a case is one file that is written and read. Each file has a name of its own, so that nothing that a
reader remembers by name and date stands in for reading it.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings

from .damage import batches, harmed
from .promise import BrokenPromiseError, outcome
from .readers import Reader

_numbers = count()


@dataclass
class Tally:
    """How many files were accepted, refused, and what broke the promise: the first file of each sort of fault."""

    accepted: int = 0
    refused: int = 0
    faults: Counter[str] = field(default_factory=Counter)
    examples: dict[str, bytes] = field(default_factory=dict)

    def add(self, other: Tally) -> None:
        """Count what another run found too."""
        self.accepted += other.accepted
        self.refused += other.refused
        self.faults += other.faults
        self.examples = other.examples | self.examples

    @property
    def cases(self) -> int:
        return self.accepted + self.refused + sum(self.faults.values())


def run(reader: Reader, folder: Path, cases: int, batch: int, start: int | None = None) -> Tally:
    """Give the reader so many files, `batch` from each that hypothesis draws.

    Without `start`, a seed, a fault is raised at the end, its file made small, as in a test.
    """
    tally = Tally()
    for name, text in reader.beside.items():
        (folder / name).write_text(text, encoding="utf-8")

    def one(drawn: tuple[bytes, int]) -> None:
        for content in harmed(*drawn, batch if start is None else min(batch, cases - tally.cases)):
            _read(reader, folder, content, tally, start is None)

    _drawn(one, reader, -(-cases // batch), start)
    return tally


def _drawn(one: Callable, reader: Reader, examples: int, start: int | None) -> None:
    """Call `one` with what hypothesis makes up for the reader."""
    phases = [Phase.generate] if start is not None else [Phase.generate, Phase.shrink]
    test = settings(
        max_examples=examples,
        database=None,
        deadline=None,
        derandomize=start is None,
        phases=phases,
        suppress_health_check=list(HealthCheck),
    )(given(drawn=batches(reader.files))(one))
    (seed(start)(test) if start is not None else test)()


def _read(reader: Reader, folder: Path, content: bytes, tally: Tally, raises: bool) -> None:
    path = folder / f"hostile{next(_numbers)}{reader.ending}"
    with open(path, "wb", buffering=0) as file:
        file.write(content)
    try:
        sentence = outcome(reader.read, path)
    except BrokenPromiseError as fault:
        if raises:
            fault.add_note(f"the file was {content!r}")
            raise
        sort = str(fault).replace(str(path), "FILE")[:60]
        tally.faults[sort] += 1
        tally.examples.setdefault(sort, content)
        return
    finally:
        os.unlink(path)
    tally.refused += bool(sentence)
    tally.accepted += not sentence
