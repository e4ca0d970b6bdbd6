"""A short list of cities, for convenience: latitude, longitude (degrees north and east) and time zone.

Coordinates are public knowledge, rounded to a tenth of a degree, which moves the sun by a tenth of a degree
at most. Clocks follow the IANA time zone database, summer time included.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from datetime import UTC, datetime, timezone
from difflib import get_close_matches
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class Place:
    """`zone` is a name of the IANA time zone database."""

    name: str
    latitude: float
    longitude: float
    zone: str


PLACES = tuple(
    Place(*row)
    for row in (
        ("Accra", 5.6, -0.2, "Africa/Accra"),
        ("Addis Ababa", 9.0, 38.8, "Africa/Addis_Ababa"),
        ("Auckland", -36.8, 174.8, "Pacific/Auckland"),
        ("Beijing", 39.9, 116.4, "Asia/Shanghai"),
        ("Berlin", 52.5, 13.4, "Europe/Berlin"),
        ("Bogotá", 4.7, -74.1, "America/Bogota"),
        ("Buenos Aires", -34.6, -58.4, "America/Argentina/Buenos_Aires"),
        ("Cairo", 30.0, 31.2, "Africa/Cairo"),
        ("Cape Town", -33.9, 18.4, "Africa/Johannesburg"),
        ("Chicago", 41.9, -87.6, "America/Chicago"),
        ("Dakar", 14.7, -17.5, "Africa/Dakar"),
        ("Delhi", 28.6, 77.2, "Asia/Kolkata"),
        ("Florence", 43.8, 11.3, "Europe/Rome"),
        ("Honolulu", 21.3, -157.9, "Pacific/Honolulu"),
        ("Istanbul", 41.0, 29.0, "Europe/Istanbul"),
        ("Jakarta", -6.2, 106.8, "Asia/Jakarta"),
        ("Kingston", 18.0, -76.8, "America/Jamaica"),
        ("Kinshasa", -4.3, 15.3, "Africa/Kinshasa"),
        ("Lagos", 6.5, 3.4, "Africa/Lagos"),
        ("Lima", -12.0, -77.0, "America/Lima"),
        ("London", 51.5, -0.1, "Europe/London"),
        ("Los Angeles", 34.1, -118.2, "America/Los_Angeles"),
        ("Madrid", 40.4, -3.7, "Europe/Madrid"),
        ("Manila", 14.6, 121.0, "Asia/Manila"),
        ("Melbourne", -37.8, 145.0, "Australia/Melbourne"),
        ("Mexico City", 19.4, -99.1, "America/Mexico_City"),
        ("Mumbai", 19.1, 72.9, "Asia/Kolkata"),
        ("Nairobi", -1.3, 36.8, "Africa/Nairobi"),
        ("New York", 40.7, -74.0, "America/New_York"),
        ("Oslo", 59.9, 10.8, "Europe/Oslo"),
        ("Paris", 48.9, 2.4, "Europe/Paris"),
        ("Reykjavík", 64.1, -21.9, "Atlantic/Reykjavik"),
        ("Rio de Janeiro", -22.9, -43.2, "America/Sao_Paulo"),
        ("Saint Petersburg", 59.9, 30.3, "Europe/Moscow"),
        ("Seoul", 37.6, 127.0, "Asia/Seoul"),
        ("Singapore", 1.4, 103.8, "Asia/Singapore"),
        ("Sydney", -33.9, 151.2, "Australia/Sydney"),
        ("Tehran", 35.7, 51.4, "Asia/Tehran"),
        ("Tokyo", 35.7, 139.7, "Asia/Tokyo"),
        ("Vancouver", 49.3, -123.1, "America/Vancouver"),
    )
)


def place_named(name: str) -> Place:
    """The listed place of that name, capitals and accents not minded. ValueError, with near matches, for another."""
    known = {_plain(place.name): place for place in PLACES}
    if _plain(name) in known:
        return known[_plain(name)]
    near = [known[each].name for each in get_close_matches(_plain(name), known, n=3, cutoff=0.5)]
    hint = f"near it: {', '.join(near)}" if near else f"for instance {', '.join(place.name for place in PLACES[:5])}"
    raise ValueError(f'place "{name}" is not listed; {hint}; or give latitude and longitude')


def by_its_clock(when: datetime, zone: str) -> datetime:
    """A moment as the clock of a zone shows it, with a fixed offset; a time without offset is that clock's.

    An hour that summer time leaves out is taken as the one after it, of an hour that comes twice the first.
    """
    there = ZoneInfo(zone)
    local = when.replace(tzinfo=there).astimezone(UTC) if when.tzinfo is None else when
    local = local.astimezone(there)
    return local.replace(tzinfo=timezone(local.utcoffset()), fold=0)


def _plain(name: str) -> str:
    """A name without capitals and accents."""
    apart = unicodedata.normalize("NFKD", name)
    return "".join(letter for letter in apart if not unicodedata.combining(letter)).casefold().strip()
