"""A daylight light at a listed city, and the clock that its hours are told by."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from sitterlight.illuminants.places import by_its_clock, place_named
from sitterlight.shading.sitting import DaylightLight


def at_place(light: DaylightLight, name: str | None, keep_clock: bool = True) -> DaylightLight:
    """The daylight at a listed city, or where it was but by latitude and longitude alone for None. Its clock shows
    the same hour as before, or with `keep_clock` off it is the same moment. ValueError for a place that is not
    listed."""
    if name is None:
        return replace(light, place=None)
    when = light.when.replace(tzinfo=None) if keep_clock else light.when
    return replace(light, place=name, latitude=0.0, longitude=0.0, when=when)


def clock_time(light: DaylightLight, shown: datetime) -> datetime:
    """The moment at which the daylight's clock shows a date and hour (without zone).

    The clock is that of its place, summer time included; without a place one that keeps the offset of its `when`.
    """
    if light.place is None:
        return shown.replace(tzinfo=light.when.tzinfo)
    return by_its_clock(shown, place_named(light.place).zone)


def by_clock_of(light: DaylightLight, when: datetime) -> datetime:
    """A moment as the daylight's clock shows it."""
    return when if light.place is None else by_its_clock(when, place_named(light.place).zone)
