"""Where the sun stands, and how large its disc looks.

Compass bearings run clockwise from north; azimuths of the room frame run from +z toward the sitter's left, so
azimuth = facing − compass, with `facing` the bearing that the sitter looks toward.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

SUN_DIAMETER = 0.533
"""Degrees across, at the mean distance of the sun."""

_AUREOLE_EDGE = 43.6e-3
"""Radians from the sun's centre; what a pyrheliometer takes for direct light ends about here."""


@dataclass(frozen=True)
class SunPosition:
    """Degrees. `elevation` is geometric, `apparent_elevation` raised by refraction; `compass` is clockwise
    from north.
    """

    compass: float
    elevation: float
    apparent_elevation: float


@dataclass(frozen=True, eq=False)
class SunDisc:
    """The sun as a light: a uniform disc `diameter` degrees across, in the room frame and by compass, in
    degrees.

    `irradiance` (81,) in W/(m² nm) on a plane that faces it.
    """

    azimuth: float
    elevation: float
    compass: float
    diameter: float
    irradiance: np.ndarray

    @property
    def direction(self) -> np.ndarray:
        """Unit vector (3,) toward the sun in the room frame."""
        return direction(self.azimuth, self.elevation)

    def dimmed(self, factor: float) -> SunDisc:
        """The same disc with so much of its light."""
        irradiance = self.irradiance * factor
        irradiance.setflags(write=False)
        return replace(self, irradiance=irradiance)


def sun_position(
    latitude: float,
    longitude: float,
    when: datetime,
    altitude: float = 0.0,
    pressure: float = 1013.25,
    temperature: float = 12.0,
    delta_t: float | None = None,
) -> SunPosition:
    """Position of the sun by NREL's solar position algorithm, through pvlib.

    Reda and Andreas 2004, Solar Energy 76, 577-589: ±0.0003° from the year −2000 to 6000. Degrees north and
    east, metres above the sea, mbar and °C for refraction. `delta_t` in s is terrestrial minus universal
    time; pvlib's estimate where None. Raises ValueError for a time without its zone and for places that are
    not on earth.
    """
    check_place(latitude, longitude)
    if when.tzinfo is None or when.utcoffset() is None:
        raise ValueError(f"when: {when.isoformat()} needs its zone, as in {when.isoformat()}+01:00")
    from pvlib import spa  # takes most of a second, so only where it is needed

    utc = when.astimezone(UTC)
    if delta_t is None:
        delta_t = float(spa.calculate_deltat(utc.year, utc.month))
    _, _, apparent, elevation, compass, _ = (
        float(np.ravel(value)[0])
        for value in spa.solar_position(
            np.array([utc.timestamp()]),
            latitude,
            longitude,
            altitude,
            pressure,
            temperature,
            delta_t,
            0.5667,
            numthreads=1,
        )
    )
    return SunPosition(compass, elevation, apparent)


def check_place(latitude: float, longitude: float) -> None:
    """Raise ValueError unless both are degrees on earth."""
    if not -90 <= latitude <= 90:
        raise ValueError(f"latitude: {latitude!r} is out of range; it must be -90 to 90 degrees, north positive")
    if not -180 <= longitude <= 180:
        raise ValueError(f"longitude: {longitude!r} is out of range; it must be -180 to 180 degrees, east positive")


def room_azimuth(compass: float, facing: float) -> float:
    """Azimuth in the room frame, above −180 up to 180 degrees, of a compass bearing."""
    return 180 - (180 - (facing - compass)) % 360


def direction(azimuth: float, elevation: float) -> np.ndarray:
    """Unit vector (3,) of an azimuth and an elevation in degrees."""
    a, e = np.radians([azimuth, elevation])
    return np.array([np.sin(a) * np.cos(e), np.sin(e), np.cos(a) * np.cos(e)])


def visible_share(apparent_elevation: float) -> float:
    """Share of the sun's disc above a flat horizon, 0 to 1."""
    height = np.clip(apparent_elevation / (SUN_DIAMETER / 2), -1, 1)
    return float(0.5 + (np.arcsin(height) + height * np.sqrt(1 - height**2)) / np.pi)


def softened_diameter(circumsolar: float) -> float:
    """Degrees across of the disc that stands for the sun and the bright haze close around it.

    `circumsolar` is the share of direct light that comes from the haze (the circumsolar ratio), 0 to 0.7. The
    disc spreads light as far as sun and aureole do: same mean square distance from the centre. Profile of the
    aureole: Buie, Monger and Dey 2003, Solar Energy 74, 113-122.
    """
    radius = np.radians(SUN_DIAMETER / 2)
    if circumsolar <= 0:
        return SUN_DIAMETER
    slope = 2.2 * np.log(0.52 * circumsolar) * circumsolar**0.43 - 0.1
    angle = np.linspace(radius, _AUREOLE_EDGE, 2000)
    profile = angle ** (slope + 1)
    aureole = np.average(angle**2, weights=profile)
    return float(np.degrees(2 * np.sqrt((1 - circumsolar) * radius**2 + 2 * circumsolar * aureole)))
