"""The city at which a new daylight begins: that of this computer's time zone, where one is listed for it."""

from __future__ import annotations

from functools import lru_cache

from PyQt6.QtCore import QTimeZone

from sitterlight.illuminants.zones import city_of_zone, default_city
from sitterlight.shading.sitting import DaylightLight, Light
from sitterlight.shading.sitting_clock import at_place


def system_zone() -> str:
    """The IANA name of this computer's time zone."""
    return bytes(QTimeZone.systemTimeZoneId()).decode("ascii", "replace")


def at_home(light: Light) -> Light:
    """A new light; a daylight that lies nowhere yet at the home city, at the same hour of its clock."""
    if isinstance(light, DaylightLight) and light.place is None and (light.latitude, light.longitude) == (0.0, 0.0):
        return at_place(light, _home(system_zone())[0])
    return light


def home_words(place: str | None) -> str:
    """Why a new daylight is in this city; empty for any other place."""
    city, words = _home(system_zone())
    return words if place == city else ""


@lru_cache(maxsize=4)
def _home(zone: str) -> tuple[str, str]:
    city = city_of_zone(zone)
    if city is None:
        return default_city().name, "to begin with; choose your own city"
    if city.zone == zone:
        return city.name, "by this computer's clock"
    named = zone.rpartition("/")[2].replace("_", " ")
    return city.name, f"of the listed cities the nearest to {named}, by this computer's clock"
