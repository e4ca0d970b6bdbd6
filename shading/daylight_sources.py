"""Sun and sky of a daylight light as sources: "NAME sun", a patch of true size, and "NAME sky", a dome."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sitterlight.illuminants.daylight import Daylight, daylight
from sitterlight.illuminants.observer import luminous
from sitterlight.illuminants.sun import SunDisc
from sitterlight.shading.frame import cap_directions, direction
from sitterlight.shading.memory import Memory
from sitterlight.shading.sitting import DaylightLight
from sitterlight.shading.sky_pattern import sky_pattern
from sitterlight.shading.sources import Dome, Patch, Source

_SUN_SAMPLES = 24

_known, _sources = Memory(64), Memory(16)


def daylight_sources(light: DaylightLight) -> list[Source]:
    """The sources of a daylight light; the sun is left out where it gives no light.

    Raises ValueError for a place, time, weather, air or shade that there is no daylight for.
    """
    sources = _sources.of(_key(light), lambda: _sources_of(daylight_of(light)))
    return [replace(source, name=f"{light.name} {source.name}") for source in sources]


def daylight_of(light: DaylightLight) -> Daylight:
    """Sun and sky of a daylight light, remembered by where and when it is."""
    *place, shade = _key(light)
    return _known.of(_key(light), lambda: daylight(*place, shade=shade))


def _key(light: DaylightLight) -> tuple:
    air = None if light.air == "auto" else light.air
    return light.latitude, light.longitude, light.when, light.weather, air, light.facing, light.shade


def _sources_of(day: Daylight) -> list[Source]:
    sun = [] if day.sun is None else [_sun_source("sun", day.sun)]
    return [*sun, Dome("sky", "daylight", day.sky.basis, sky_pattern(day.sky))]


def _sun_source(name: str, sun: SunDisc) -> Patch:
    axis = direction(sun.azimuth, sun.elevation)
    points = cap_directions(axis, sun.diameter, _SUN_SAMPLES)
    lux = float(luminous(sun.irradiance))
    weights = np.full((len(points), 1), lux / (points @ axis).sum())
    spread = np.radians(sun.diameter / 2)
    basis = sun.irradiance[None] / lux
    return Patch(name, "daylight", basis, points, weights, True, None, (sun.azimuth, sun.elevation), spread)
