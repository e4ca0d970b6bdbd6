"""The day plan: a sitting through a day, as files."""

from __future__ import annotations

import csv
import os
from collections.abc import Callable, Sequence
from dataclasses import asdict
from datetime import date, datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

from PIL import Image

from sitterlight.shading.atomic import write_files
from sitterlight.shading.day_hours import (
    COMPASS,
    PLANES,
    STEP,
    DayHours,
    Hour,
    PlaneHour,
    day_hours,
    daylight_light,
    with_facings,
)
from sitterlight.shading.day_page import day_page
from sitterlight.shading.day_picture import spread, strip
from sitterlight.shading.day_words import facing_time, sentences, steadiest
from sitterlight.shading.page_pdf import pdf_bytes, png_of_pdf
from sitterlight.shading.png import png_bytes
from sitterlight.shading.progress import Progress, part, tell
from sitterlight.shading.results import json_text, plain
from sitterlight.shading.sheet_facts import lux
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sitting_clock import clock_time
from sitterlight.shading.sitting_file import to_json

FORMAT = "sitterlight-day/1"
PLAN_SHARE = 0.95
"""Of writing a day, what working it out takes."""

FILES = ("day.csv", "day.json", "day.pdf", "day.png", "strip.png")

_HOUR_COLUMNS = ("time", "sun_elevation", "sun_compass", "card_lux", "cct", "duv", "sun_share")
_PLANE_COLUMNS = ("plane", "side", "hidden", "family", "lux", "munsell", "value", "chroma", "hue")
_PLANE_COLUMNS += ("skylight_note", "greying", "L", "a", "b", "srgb", "above_white")
_MOST_PICTURES = 14


def day_plan(
    sitting: Sitting,
    on: date,
    planes: Sequence[str] = PLANES,
    at: datetime | None = None,
    progress: Progress | None = None,
    step: timedelta = STEP,
) -> DayHours:
    """The hours of a day and eight facings compared at `at`; without it in the middle of the steadiest two hours.

    `at` without a zone is an hour of the daylight's own clock.

    ValueError, in one sentence, where there is no daylight, no day or no such plane.
    """
    day = day_hours(sitting, on, planes, part(progress, 0.0, 0.75), step)
    if at is not None and at.tzinfo is None:
        at = clock_time(daylight_light(sitting), at)
    return with_facings(day, at or facing_time(day), part(progress, 0.75, 1.0))


def day(
    sitting: Sitting,
    on: date,
    folder: str | os.PathLike[str],
    progress: Progress | None = None,
    planes: Sequence[str] = PLANES,
    at: datetime | None = None,
    step: timedelta = STEP,
) -> dict[str, Path]:
    """Write the plan of a day, FILES, into `folder`, all or none; their paths by name come back.

    `progress` is told the share done, 0 to 1. ValueError as `day_plan`, OSError where the folder cannot be written.
    """
    plan = day_plan(sitting, on, planes, at, part(progress, 0.0, PLAN_SHARE), step)
    return write_day(plan, folder, part(progress, PLAN_SHARE, 1.0))


def write_day(plan: DayHours, folder: str | os.PathLike[str], progress: Progress | None = None) -> dict[str, Path]:
    """Write FILES of a day into `folder`, all or none; their paths by name come back."""
    return write_files(folder, file_contents(plan, progress), progress)


def file_contents(plan: DayHours, progress: Progress | None = None) -> dict[str, bytes]:
    """The content of each of FILES."""
    said, contents = sentences(plan), {}
    makers: dict[str, Callable[[], bytes]] = {
        "day.csv": lambda: csv_text(plan).encode(),
        "day.json": lambda: json_text(day_table(plan, said)).encode(),
        "day.pdf": lambda: pdf_bytes(day_page(plan, said)),
        "day.png": lambda: png_of_pdf(contents["day.pdf"], 2200),
        "strip.png": lambda: png_bytes(day_strip(plan.hours), f"{plan.sitting.title}, {plan.on}"),
    }
    for number, (name, content) in enumerate(makers.items()):
        tell(progress, number / len(makers))
        contents[name] = content()
    return contents


def day_strip(hours: Sequence[Hour]) -> Image.Image:
    """The picture strip: heads evenly through the day with hour, light and its colour below."""
    chosen = [hours[k] for k in spread(len(hours), _MOST_PICTURES)]
    words = [(hour.clock, lux(hour.card_lux), "" if hour.cct is None else f"{hour.cct:.0f} K") for hour in chosen]
    return strip(chosen, words)


def day_table(plan: DayHours, said: dict[str, str]) -> dict[str, Any]:
    """Everything `day.json` holds, as plain dicts, lists, texts, numbers and None."""
    steady = {f"{length} h": steadiest(plan.hours, length) for length in (2, 3)}
    return plain(
        {
            "format": FORMAT,
            "date": plan.on.isoformat(),
            "step_minutes": plan.step.total_seconds() / 60,
            "sitting": to_json(plan.sitting),
            "sentences": said,
            "steadiest": {name: found and _steady(found) for name, found in steady.items()},
            "hours": [_hour(hour) for hour in plan.hours],
            "facings": [{"facing": COMPASS[k], "compass": h.facing, **_hour(h)} for k, h in enumerate(plan.facings)],
        }
    )


def csv_text(plan: DayHours) -> str:
    """One row for each time and plane."""
    text = StringIO()
    writer = csv.DictWriter(text, (*_HOUR_COLUMNS, *_PLANE_COLUMNS), lineterminator="\n")
    writer.writeheader()
    for hour in plan.hours:
        light = {name: value for name, value in _hour(hour).items() if name in _HOUR_COLUMNS}
        for plane in hour.planes:
            writer.writerow({**light, **_row(plane)})
    return text.getvalue()


def _hour(hour: Hour) -> dict[str, Any]:
    return {
        "time": hour.when.isoformat(timespec="minutes"),
        "sun_elevation": hour.sun.elevation,
        "sun_compass": hour.sun.compass,
        "card_lux": hour.card_lux,
        "cct": hour.cct,
        "duv": hour.duv,
        "sun_share": hour.sun_share,
        "planes": [asdict(plane) for plane in hour.planes],
    }


def _row(plane: PlaneHour) -> dict[str, Any]:
    values = asdict(plane)
    L, a, b = values.pop("Lab")
    return {"plane": values.pop("name"), **values, "L": L, "a": a, "b": b}


def _steady(found) -> dict[str, Any]:
    times = {name: getattr(found, name).isoformat(timespec="minutes") for name in ("first", "last")}
    return {**times, "delta_e": found.delta_e, "stops": found.stops}
