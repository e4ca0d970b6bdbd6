"""The page of a day: sentences, the head through the day, its planes as ribbons of colour, and curves below."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from sitterlight.shading.day_curves import TimeAxis, hour_words, panel_marks
from sitterlight.shading.day_hours import COMPASS, DayHours, Hour, daylight_light
from sitterlight.shading.day_panels import clock_hours, clock_span, day_panels, line_style, shown_planes
from sitterlight.shading.day_words import seen_planes
from sitterlight.shading.lettering import BOLD, clean
from sitterlight.shading.page import INK, RULE, SOFT_INK, Box, Mark, Page, Picture, Rule, Words, fitted, wrapped
from sitterlight.shading.sheet_facts import lux

A4 = (210.0, 297.0)
MARGIN, LEFT, RIGHT = 12.0, 44.0, 198.0
_RIBBON, _PANEL, _BETWEEN = 4.6, 15.2, 2.6


def day_page(day: DayHours, said: Mapping[str, str]) -> Page:
    """The page of a day whose sentences are `said`."""
    title = clean(day.sitting.title)
    marks: list[Mark] = _heading(day, title)
    top = _sentences(marks, said, 26.0)
    axis = _axis(day)
    top = _pictures(marks, day.hours, axis, top + 1.0)
    shown = shown_planes(day)
    top = _ribbons(marks, day.hours, shown, axis, top + 1.5)
    top += 1.0
    for panel in day_panels(day.hours, shown):
        marks += panel_marks(panel, axis, top, _PANEL)
        top += _PANEL + _BETWEEN
    marks += hour_words(axis, top + 0.2)
    marks.append(Words(LEFT, top + 2.8, _reading(day.hours, shown), 4.8, SOFT_INK))
    if day.facings:
        _facings(marks, day.facings, top + 8.0)
    return Page(*A4, f"{title}, {day.on}", tuple(marks), "Day plan")


def place_line(day: DayHours) -> str:
    """Where, when and toward what the sitter sits, in one line."""
    light = daylight_light(day.sitting)
    north, east = "N" if light.latitude >= 0 else "S", "E" if light.longitude >= 0 else "W"
    minutes = round(day.hours[0].when.utcoffset().total_seconds() / 60)
    zone = f"UTC{'+' if minutes >= 0 else '−'}{abs(minutes) // 60}:{abs(minutes) % 60:02d}"
    city = "" if light.place is None else f"{light.place}, "
    facing = COMPASS[round(light.facing / 45) % 8]
    shade = "" if light.shade == "none" else f", shade: {light.shade}"
    return (
        f"{city}{abs(light.latitude):g}° {north} {abs(light.longitude):g}° {east}, times at {zone}, "
        f"{light.weather}{shade}, sitter facing {facing} ({light.facing:g}°)"
    )


def _axis(day: DayHours) -> TimeAxis:
    return TimeAxis(*clock_span(day), LEFT, RIGHT, day.step.total_seconds() / 3600)


def _heading(day: DayHours, title: str) -> list[Mark]:
    return [
        fitted(Words(MARGIN, 15.5, title, 15.0, INK, BOLD), RIGHT - MARGIN - 45),
        Words(RIGHT, 15.5, f"{day.on.day} {day.on:%B %Y}", 9.0, INK, anchor="end"),
        Rule(MARGIN, 18.3, RIGHT, 18.3),
        fitted(Words(MARGIN, 22.0, place_line(day), 6.2, SOFT_INK), RIGHT - MARGIN),
    ]


def _sentences(marks: list[Mark], said: Mapping[str, str], top: float) -> float:
    base = top + 1.5
    for text in said.values():
        for line in wrapped(text, RIGHT - MARGIN, 6.6):
            marks.append(Words(MARGIN, base, line, 6.6))
            base += 3.1
        base += 0.6
    return base - 2.0


def _pictures(marks: list[Mark], hours: Sequence[Hour], axis: TimeAxis, top: float) -> float:
    """The heads that have room, each over its own time."""
    every = int(np.ceil(15.0 / axis.step))
    width = every * axis.step if len(hours) > every else axis.right - axis.left
    width = min(width, 24.0)
    tall = width * hours[0].picture.shape[0] / hours[0].picture.shape[1]
    inside = hours[every // 2 : len(hours) - every // 2] or hours
    for hour in inside[(len(inside) - 1) % every // 2 :: every]:
        left = axis.x(clock_hours(hour)) - width / 2
        marks.append(Picture(left, top, width, tall, hour.picture, f"the head at {hour.clock}"))
        marks.append(Words(left + width / 2, top + tall + 2.4, hour.clock, 5.2, INK, anchor="middle"))
    marks.append(Words(axis.left - 32, top + 2.4, "As seen", 5.8, INK, BOLD))
    return top + tall + 3.2


def _ribbons(marks: list[Mark], hours: Sequence[Hour], shown: list[int], axis: TimeAxis, top: float) -> float:
    """One ribbon a plane: its colour at each half hour; before it its name and the line of its curves."""
    for row, k in enumerate(shown):
        plane, (colour, dashed) = hours[0].planes[k], line_style(row, hours[0].planes, shown)
        y = top + row * _RIBBON
        for hour in hours:
            left = axis.x(clock_hours(hour)) - axis.step / 2
            marks.append(Box(left, y, axis.step + 0.02, _RIBBON - 0.5, hour.planes[k].srgb))
        middle = y + _RIBBON / 2 - 0.25
        for x, long in ((MARGIN, 1.9), (MARGIN + 2.5, 1.9)) if dashed else ((MARGIN, 4.4),):
            marks.append(Rule(x, middle, x + long, middle, colour, 0.5))
        marks.append(fitted(Words(MARGIN + 5.5, middle + 0.8, plane.label, 5.6), LEFT - MARGIN - 6.5, 0.75))
    return top + len(shown) * _RIBBON


def _reading(hours: Sequence[Hour], shown: list[int]) -> str:
    """How to read the curves, in one line."""
    text = "Notes and chroma on a scale of square roots"
    if any(hour.planes[k].above_white for hour in hours for k in shown):
        text += "; value, chroma and hue break off where a plane is brighter than the card, beyond white paint"
    return f"{text}."


def _facings(marks: list[Mark], facings: Sequence[Hour], top: float) -> None:
    """The eight facings at one hour, north first."""
    width = (RIGHT - MARGIN) / 8
    marks.append(Rule(MARGIN, top - 3.6, RIGHT, top - 3.6, RULE))
    marks.append(Words(MARGIN, top - 0.6, f"Which way to seat the sitter, at {facings[0].clock}", 5.8, INK, BOLD))
    room = A4[1] - 7.0 - 6.0 - top
    tall = min(room, (width - 1) * facings[0].picture.shape[0] / facings[0].picture.shape[1])
    wide = tall * facings[0].picture.shape[1] / facings[0].picture.shape[0]
    for k, hour in enumerate(facings):
        middle = MARGIN + (k + 0.5) * width
        marks.append(Picture(middle - wide / 2, top + 0.8, wide, tall, hour.picture, f"facing {COMPASS[k]}"))
        marks.append(Words(middle, top + tall + 3.6, COMPASS[k], 5.4, INK, anchor="middle"))
        marks.append(Words(middle, top + tall + 6.2, _facing_facts(hour), 4.4, SOFT_INK, anchor="middle"))


def _facing_facts(hour: Hour) -> str:
    notes = [plane.skylight_note for plane in seen_planes(hour) if plane.skylight_note is not None]
    told = f", notes {_whole(min(notes))} to {_whole(max(notes))}" if notes else ""
    return f"{lux(float(f'{hour.card_lux:.2g}'))}{told}"


def _whole(value: float) -> str:
    return f"{round(value):+d}".replace("-", "−").replace("+0", "0")
