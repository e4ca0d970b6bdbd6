"""Giving a reader many files, one after the other."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings

from .promise import BrokenPromiseError, outcome
from .readers import Reader


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


def run(reader: Reader, folder: Path, cases: int, start: int | None = None) -> Tally:
    """Give the reader so many files. Without `start`, a seed, faults are shrunk and raised at the end, as in a test."""
    tally = Tally()
    for name, text in reader.beside.items():
        (folder / name).write_text(text, encoding="utf-8")
    path = folder / f"hostile{reader.ending}"

    def one(content: bytes) -> None:
        path.write_bytes(content)
        try:
            sentence = outcome(reader.read, path)
        except BrokenPromiseError as fault:
            if start is None:
                raise
            sort = str(fault)[:60]
            tally.faults[sort] += 1
            tally.examples.setdefault(sort, content)
            return
        tally.refused += bool(sentence)
        tally.accepted += not sentence

    test = given(content=reader.files)(one)
    phases = [Phase.generate] if start is not None else [Phase.generate, Phase.shrink]
    test = settings(
        max_examples=cases,
        database=None,
        deadline=None,
        derandomize=start is None,
        phases=phases,
        suppress_health_check=list(HealthCheck),
    )(test)
    (seed(start)(test) if start is not None else test)()
    return tally
