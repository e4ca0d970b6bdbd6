"""Timing rivals against each other: turn and turn about, so that whatever else the machine does hinders all alike."""

from __future__ import annotations

import gc
import math
import time
from collections.abc import Callable
from dataclasses import astuple, dataclass

REST = 0.1
"""Seconds between two rivals."""


@dataclass(frozen=True)
class Best:
    """The best of several rounds: `seconds` by the clock, and `processor` seconds of all threads together, which a busy
    machine changes less; `first` the seconds of the first of several in a row, which finds another's data near."""

    seconds: float = math.inf
    processor: float = math.inf
    first: float = math.inf

    def better(self, seconds: float, processor: float, first: float = math.inf) -> Best:
        """With one more round."""
        return Best(min(self.seconds, seconds), min(self.processor, processor), min(self.first, first))

    def times(self, count: float) -> Best:
        """As long as it would take `count` times over."""
        return Best(self.seconds * count, self.processor * count, self.first * count)


def mean(of: list[Best]) -> Best:
    """The mean of the best of several races."""
    return Best(*(sum(values) / len(of) for values in zip(*map(astuple, of), strict=True)))


@dataclass(frozen=True)
class Ratio:
    """One row of the table: `ours` and `rival`, and the limit that their ratio was asked to keep.

    `at_least` tells whether the limit is one to reach or one to stay below; `note` what more there is to know.
    """

    key: str
    what: str
    ours: Best
    rival: Best
    limit: float
    at_least: bool
    note: str = ""

    @property
    def value(self) -> float:
        """How many times faster we are where the limit is to be reached, else how many times slower; by the clock."""
        return self._ratio(self.ours.seconds, self.rival.seconds)

    @property
    def by_processor(self) -> float:
        """The same by processor seconds."""
        return self._ratio(self.ours.processor, self.rival.processor)

    @property
    def holds(self) -> bool:
        """Whether the ratio keeps its limit."""
        return self.value >= self.limit if self.at_least else self.value <= self.limit

    def _ratio(self, ours: float, rival: float) -> float:
        return rival / ours if self.at_least else ours / rival


def race(rivals: dict[str, Callable[[], object]], rounds: int, warm: int = 1, in_a_row: int = 1) -> dict[str, Best]:
    """The best of each of `rivals` in `rounds` rounds; before them `warm` rounds that don't count.

    Each runs `in_a_row` times when it is its turn, as under a hand that drags, and the last of them counts: the others
    bring its own data near again, from where a rival's has driven it. Before its turn a rest: threads of a library
    that a rival called look for more to do for a while, and keep the cores from others. Who calls stays awake
    meanwhile: a core that has slept is slow for some milliseconds, which are much to a rival that takes two of them and
    nothing to one that takes a hundred.
    """
    best = dict.fromkeys(rivals, Best())
    for number in range(warm + rounds):
        for name, run in rivals.items():
            _rest()
            timed = [timing(run) for _ in range(in_a_row)]
            if number >= warm:
                best[name] = best[name].better(*timed[-1], timed[0][0])
    return best


def _rest() -> None:
    until = time.perf_counter() + REST
    while time.perf_counter() < until:
        pass


def timing(run: Callable[[], object]) -> tuple[float, float]:
    """Seconds by the clock and of the processor that one run takes, undisturbed by the collection of garbage."""
    was_on = gc.isenabled()
    gc.collect(0)
    gc.disable()
    try:
        begun, used = time.perf_counter(), time.process_time()
        run()
        return time.perf_counter() - begun, time.process_time() - used
    finally:
        if was_on:
            gc.enable()


def fastest_of(best: dict[str, Best], names: list[str]) -> str:
    """The name of the fastest among `names`."""
    return min(names, key=lambda name: best[name].seconds)
