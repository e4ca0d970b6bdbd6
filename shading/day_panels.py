"""What the curves of a day show: the light at the card, and each plane's value, chroma, hue, note and greying."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sitterlight.shading.day_curves import CURVE_COLOURS, Curve, Panel, nice_scale
from sitterlight.shading.day_hours import DayHours, Hour, PlaneHour
from sitterlight.shading.munsell import FAMILIES
from sitterlight.shading.page import INK
from sitterlight.shading.sheet_facts import lux

_SHOWN = 8
_ROOT_STEPS = (-40, -20, -10, -5, -1, 0, 1, 5, 10, 20, 40)


def shown_planes(day: DayHours) -> list[int]:
    """Places in `Hour.planes` of what a page shows: what the eye sees, at most eight; all if it sees none."""
    planes = day.hours[0].planes
    return ([k for k, plane in enumerate(planes) if not plane.hidden] or list(range(len(planes))))[:_SHOWN]


def clock_hours(hour: Hour) -> float:
    """Hours since midnight."""
    return hour.when.hour + hour.when.minute / 60


def clock_span(day: DayHours) -> tuple[float, float]:
    """From half a step before the first time with daylight to half a step after the last, in hours since midnight."""
    first, last = (day.times[0], day.times[-1]) if day.times else (day.hours[0].when, day.hours[-1].when)
    half = day.step.total_seconds() / 7200
    return first.hour + first.minute / 60 - half, last.hour + last.minute / 60 + half


def line_style(row: int, planes: Sequence[PlaneHour], shown: Sequence[int]) -> tuple[str, bool]:
    """Colour of a plane's curve, one for each name, and whether it is dashed: the sitter's right is."""
    names = list(dict.fromkeys(planes[k].name for k in shown))
    plane = planes[shown[row]]
    return CURVE_COLOURS[names.index(plane.name) % len(CURVE_COLOURS)], plane.side == "right"


def day_panels(hours: Sequence[Hour], shown: list[int]) -> list[Panel]:
    """Light and colour of the card, then value, chroma, hue, skylight note and greying of the planes at `shown`."""
    return [
        _lux_panel(hours),
        _kelvin_panel(hours),
        _plane_panel("Value", "value", hours, shown, 2.0),
        _root_panel("Chroma", "chroma", hours, shown),
        _hue_panel(hours, shown),
        _root_panel("Skylight note", "skylight_note", hours, shown),
        _plane_panel("Greying", "greying", hours, shown, 0.4),
    ]


def _lux_panel(hours: Sequence[Hour]) -> Panel:
    values = [max(hour.card_lux, 1e-3) for hour in hours]
    low, high = np.floor(np.log10(min(values))), np.ceil(np.log10(max(values)))
    high = max(high, low + 1)
    marks = tuple((10.0**p, lux(10.0**p)) for p in np.arange(low, high + 0.5))
    return Panel("Card, light", (_curve(hours, values),), 10.0**low, 10.0**high, marks, "log")


def _kelvin_panel(hours: Sequence[Hour]) -> Panel:
    values = [hour.cct for hour in hours]
    mired = [None if value is None else -1e6 / value for value in values]
    steps = (2000, 2500, 4000, 5000, 6500, 10000, 25000, 100000)
    known = [value for value in values if value is not None] or [6500]
    low = max([s for s in steps if s <= min(known)], default=2000)
    high = min([s for s in steps if s >= max(known)], default=100000)
    low, high = (low, high) if low < high else (5000, 10000)
    marks = tuple((-1e6 / s, f"{s} K") for s in steps if low <= s <= high)
    return Panel("Card, colour", (_curve(hours, mired),), -1e6 / low, -1e6 / high, marks)


def _plane_panel(heading: str, name: str, hours: Sequence[Hour], shown: list[int], least: float) -> Panel:
    columns, curves = _columns(name, hours, shown)
    bottom, top, steps = nice_scale([value for column in columns for value in column], least)
    return Panel(heading, curves, bottom, top, _named(steps))


def _root_panel(heading: str, name: str, hours: Sequence[Hour], shown: list[int]) -> Panel:
    columns, curves = _columns(name, hours, shown)
    known = [value for column in columns for value in column if value is not None] or [0.0]
    steps = [s for s in _ROOT_STEPS if min(known) <= s <= max(known)]
    low = max([s for s in _ROOT_STEPS if s <= min(known)], default=min(known))
    high = min([s for s in _ROOT_STEPS if s >= max(known)], default=max(known))
    low, high = min(low, 0.0), max(high, 1.0)
    return Panel(heading, curves, low, high, _named(sorted({low, *steps, high})), "root")


def _columns(name: str, hours: Sequence[Hour], shown: list[int]) -> tuple[list[list[float | None]], tuple[Curve, ...]]:
    columns = [[getattr(hour.planes[k], name) for hour in hours] for k in shown]
    curves = (_curve(hours, column, *line_style(row, hours[0].planes, shown)) for row, column in enumerate(columns))
    return columns, tuple(curves)


def _named(steps: Sequence[float]) -> tuple[tuple[float, str], ...]:
    return tuple((step, f"{step:.3g}".replace("-", "−")) for step in steps)


def _hue_panel(hours: Sequence[Hour], shown: list[int]) -> Panel:
    """Hue cut open opposite to skin, at 5BG, so that curves of flesh are not torn."""
    columns = [[_opened(hour.planes[k].hue) for hour in hours] for k in shown]
    known = [value for column in columns for value in column if value is not None] or [0.0]
    low, high = 5 * np.floor(min(*known, 10) / 5), 5 * np.ceil(max(*known, 20) / 5)
    every = 5 if high - low <= 25 else 10 if high - low <= 50 else 20
    marks = tuple((float(v), _hue_words(float(v))) for v in np.arange(low, high + 0.1, every))
    curves = (
        _curve(hours, column, *line_style(row, hours[0].planes, shown), gap=25.0) for row, column in enumerate(columns)
    )
    return Panel("Hue", tuple(curves), float(low), float(high), marks)


def _opened(hue: float | None) -> float | None:
    return None if hue is None else (hue + 35) % 100 - 35


def _hue_words(hue: float) -> str:
    family, within = divmod((hue - 0.05) % 100, 10)
    return f"{within + 0.05:g}{FAMILIES[int(family)]}"


def _curve(hours, values, colour: str = INK, dashed: bool = False, gap: float = float("inf")) -> Curve:
    return Curve(tuple(map(clock_hours, hours)), tuple(values), colour, dashed, gap)
