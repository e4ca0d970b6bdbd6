"""Timing rivals against each other: turn and turn about, so that whatever else the machine does hinders all alike."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Ratio:
    """One row of the table: `ours` and `rival` in seconds, the ratio and the limit it was asked to keep.

    `at_least` tells whether the limit is one to reach or one to stay below; `note` what more there is to know.
    """

    key: str
    what: str
    ours: float
    rival: float
    limit: float
    at_least: bool
    note: str = ""

    @property
    def value(self) -> float:
        """How many times faster we are where the limit is to be reached, else how many times slower."""
        return self.rival / self.ours if self.at_least else self.ours / self.rival

    @property
    def holds(self) -> bool:
        """Whether the ratio keeps its limit."""
        return self.value >= self.limit if self.at_least else self.value <= self.limit


def race(rivals: dict[str, Callable[[], object]], rounds: int, warm: int = 1) -> dict[str, float]:
    """The best time of each of `rivals` in `rounds` rounds, seconds; before them `warm` rounds that don't count."""
    best = dict.fromkeys(rivals, float("inf"))
    was_on = gc.isenabled()
    try:
        for number in range(warm + rounds):
            for name, run in rivals.items():
                gc.collect(0)
                gc.disable()
                begun = time.perf_counter()
                run()
                took = time.perf_counter() - begun
                if was_on:
                    gc.enable()
                if number >= warm:
                    best[name] = min(best[name], took)
    finally:
        if was_on:
            gc.enable()
    return best


def best_of(race_of: dict[str, float], names: list[str]) -> str:
    """The name of the fastest among `names`."""
    return min(names, key=race_of.__getitem__)
