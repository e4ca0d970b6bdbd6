"""Which listed city stands for a time zone: where to begin for someone of whom only the computer's clock is known."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from importlib.resources import files
from zoneinfo import ZoneInfo

import numpy as np

from sitterlight.illuminants.places import PLACES, Place, place_named

DEFAULT = "London"
"""For a zone that lies nowhere, such as UTC itself."""

_MONTHS = (1, 7)
_YEAR = 2026


def city_of_zone(zone: str) -> Place | None:
    """The listed city for an IANA time zone such as "Europe/Oslo": one of that zone, else the one nearest to the zone's
    own city, an hour between their clocks counting as its 15 degrees. None for a zone that is unknown or lies nowhere.
    """
    for name in (zone, _links().get(zone)):  # as it is called, else as it is called now
        for place in PLACES:
            if place.zone == name:
                return place
        here = _where(name)
        if here is not None:
            return _nearest(here, name)
    return None


def _nearest(here: tuple[float, float], zone: str) -> Place:
    """The listed city nearest to a place with the clock of a zone."""
    clock = _clock(zone)

    def apart(place: Place) -> float:
        hours = np.abs(np.subtract(_clock(place.zone), clock)).mean()
        return _away(here, (place.latitude, place.longitude)) + np.radians(15) * hours

    return min(PLACES, key=apart)


def default_city() -> Place:
    """Where to begin if nothing is known."""
    return place_named(DEFAULT)


def _links() -> dict[str, str]:
    """Zones by their other, mostly older names, as the database has them in lines such as "L NAME OTHER"."""
    return {row[2]: row[1] for row in (line.split() for line in _text("tzdata.zi")) if row[:1] == ["L"]}


def _where(zone: str | None) -> tuple[float, float] | None:
    """Latitude and longitude of a zone's own city, in degrees, by zone.tab of the database: ±DDMM[SS]±DDDMM[SS]."""
    for line in _text("zone.tab"):
        row = line.split("\t")
        if len(row) > 2 and row[2] == zone:
            found = re.fullmatch(r"([+-]\d{4}(?:\d\d)?)([+-]\d{5}(?:\d\d)?)", row[1])
            return (_degrees(found[1], 2), _degrees(found[2], 3)) if found else None
    return None


def _degrees(text: str, digits: int) -> float:
    whole, minutes = int(text[1 : 1 + digits]), int(text[1 + digits : 3 + digits])
    return (-1 if text[0] == "-" else 1) * (whole + minutes / 60)


def _clock(zone: str) -> list[float]:
    """Hours ahead of UTC in winter and in summer."""
    moments = (datetime(_YEAR, month, 1, 12, tzinfo=UTC).astimezone(ZoneInfo(zone)) for month in _MONTHS)
    return [moment.utcoffset().total_seconds() / 3600 for moment in moments]


def _away(one: tuple[float, float], other: tuple[float, float]) -> float:
    """The angle between two places of the earth, radians."""
    (a, b), (c, d) = np.radians(one), np.radians(other)
    return float(np.arccos(np.clip(np.sin(a) * np.sin(c) + np.cos(a) * np.cos(c) * np.cos(b - d), -1, 1)))


def _text(name: str) -> list[str]:
    """The lines of a file of the time zone database that came with the installed package; none without it."""
    try:
        return (files("tzdata") / "zoneinfo" / name).read_text(encoding="utf-8").splitlines()
    except (OSError, ModuleNotFoundError):
        return []
