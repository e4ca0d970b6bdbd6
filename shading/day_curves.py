"""Curves over the hours of a day as marks on a page: one time axis, one panel below the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from sitterlight.shading.lettering import BOLD
from sitterlight.shading.page import INK, RULE, SOFT_INK, Box, Mark, Rule, Words

# Dark and muted, told apart also by lightness, so that they neither lead the eye nor look like skin.
CURVE_COLOURS = ("#1f1f1f", "#3f6f8f", "#8a6d1f", "#5b4a86", "#4f7f55", "#9a4f3f", "#707070", "#2f5f5f")

_APART = 1.8
"""Millimetres between the words of two marks, so that they can be read."""


@dataclass(frozen=True)
class TimeAxis:
    """Hours of the day, `first` to `last`, laid from `left` to `right` in mm; values stand `every` so many hours."""

    first: float
    last: float
    left: float
    right: float
    every: float = 0.5

    def x(self, hour: float) -> float:
        """Place in mm of an hour of the day."""
        return self.left + (hour - self.first) / max(self.last - self.first, 1e-9) * (self.right - self.left)

    @property
    def step(self) -> float:
        """Width in mm from one value to the next."""
        return self.x(self.first + self.every) - self.left

    @property
    def ticks(self) -> range:
        """Whole hours to be named, every one or every second."""
        every = 1 if self.last - self.first <= 14 else 2
        start = int(np.ceil(self.first))
        return range(start + (start % every), int(self.last) + 1, every)


@dataclass(frozen=True)
class Curve:
    """Values over the hours, None where there is none; `gap` is the largest jump that is still drawn as a line."""

    hours: tuple[float, ...]
    values: tuple[float | None, ...]
    colour: str = INK
    dashed: bool = False
    gap: float = float("inf")


@dataclass(frozen=True)
class Panel:
    """Curves with a heading, on a scale from `low` to `high` with `marks` (value, words).

    `scale` is "plain", "log" for light, or "root" (signed square roots), which keeps what is small readable beside
    what is large.
    """

    heading: str
    curves: tuple[Curve, ...]
    low: float
    high: float
    marks: tuple[tuple[float, str], ...]
    scale: str = "plain"

    def place(self, value: float) -> float:
        """Where a value lies between `low` (0) and `high` (1)."""
        low, high, value = (_SCALES[self.scale](v) for v in (self.low, self.high, value))
        return float(np.clip((value - low) / (high - low), 0, 1))


def panel_marks(panel: Panel, axis: TimeAxis, top: float, height: float) -> list[Mark]:
    """A panel in `height` mm from `top`: scale, hours, curves, heading."""

    def y(value: float) -> float:
        return top + height - panel.place(value) * height

    marks: list[Mark] = [Rule(axis.x(h), top, axis.x(h), top + height, "#ececec") for h in axis.ticks]
    named: list[float] = []
    for value, words in sorted(panel.marks, key=lambda mark: mark[0] not in (0.0, panel.low, panel.high)):
        marks.append(Rule(axis.left, y(value), axis.right, y(value), RULE))
        if all(abs(y(value) - other) > _APART for other in named):
            named.append(y(value))
            marks.append(Words(axis.left - 1.2, y(value) + 0.7, words, 4.6, SOFT_INK, anchor="end"))
    for curve in panel.curves:
        marks += _curve(curve, axis, y)
    marks.append(Words(axis.left - 32, top + 2.6, panel.heading, 5.8, INK, BOLD))
    return marks


_SCALES = {"plain": float, "log": np.log, "root": lambda value: np.sign(value) * np.sqrt(abs(value))}


def hour_words(axis: TimeAxis, base: float) -> list[Words]:
    """The names of the hours under a panel."""
    return [Words(axis.x(h), base, f"{h:02d}:00", 4.8, SOFT_INK, anchor="middle") for h in axis.ticks]


def _curve(curve: Curve, axis: TimeAxis, y: Callable[[float], float]) -> list[Mark]:
    points = [(axis.x(h), v) for h, v in zip(curve.hours, curve.values, strict=True)]
    marks: list[Mark] = []
    for (x1, v1), (x2, v2) in pairwise(points):
        if v1 is None or v2 is None or abs(v2 - v1) > curve.gap:
            continue
        parts = 4 if curve.dashed else 1
        for k in range(parts):
            a, b = k / parts, (k + (0.55 if curve.dashed else 1)) / parts
            ya, yb = (y(v1) + s * (y(v2) - y(v1)) for s in (a, b))
            marks.append(Rule(x1 + a * (x2 - x1), ya, x1 + b * (x2 - x1), yb, curve.colour, 0.3))
    alone = [
        (x, v)
        for k, (x, v) in enumerate(points)
        if v is not None and not any(_joined(curve, points, k, j) for j in (k - 1, k + 1))
    ]
    return marks + [Box(x - 0.35, y(v) - 0.35, 0.7, 0.7, curve.colour) for x, v in alone]


def _joined(curve: Curve, points: Sequence[tuple[float, float | None]], k: int, other: int) -> bool:
    if not 0 <= other < len(points) or points[other][1] is None:
        return False
    return abs(points[other][1] - points[k][1]) <= curve.gap


def nice_scale(values: Sequence[float], least: float, low: float | None = None) -> tuple[float, float, list[float]]:
    """Low, high and three to six even steps that hold all `values` and at least a width of `least`."""
    known = [value for value in values if value is not None]
    bottom = min(known, default=0.0) if low is None else low
    top = max(max(known, default=0.0), bottom + least)
    raw = (top - bottom) / 4
    power = 10 ** np.floor(np.log10(raw))
    step = float(next(m * power for m in (1, 2, 5, 10) if m * power >= raw * 0.999))
    start, end = np.floor(bottom / step + 1e-9) * step, np.ceil(top / step - 1e-9) * step
    return float(start), float(end), [float(v) for v in np.arange(start, end + step / 2, step)]
