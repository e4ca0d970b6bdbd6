"""Sun and sky at a place and an hour, as spectra with their real extent."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from sitterlight.illuminants.clear_sky import LOWEST_SUN, Air, clear_spectra
from sitterlight.illuminants.dome import coloured_sky
from sitterlight.illuminants.observer import luminous
from sitterlight.illuminants.shade import shade_named, shaded_sky, shaded_sun
from sitterlight.illuminants.sky import Sky
from sitterlight.illuminants.sun import (
    SUN_DIAMETER,
    SunDisc,
    SunPosition,
    direction,
    room_azimuth,
    softened_diameter,
    sun_position,
    visible_share,
)
from sitterlight.illuminants.twilight import (
    END_OF_CIVIL_TWILIGHT,
    clear_illuminance,
    ozone_transmittance,
    share_of_twilight,
)
from sitterlight.illuminants.weather import Weather, air_named, through_clouds, weather_named

SEA_LEVEL = 1013.25
"""mbar"""


@dataclass(frozen=True, eq=False)
class Daylight:
    """Sun and sky in the room frame, in absolute units.

    `sun` is None where it gives no light: below the horizon or behind cloud. `sky` gives W/(m² sr nm).
    `position` is the sun's, by compass, also below the horizon.
    """

    sun: SunDisc | None
    sky: Sky
    position: SunPosition

    def horizontal_irradiance(self) -> np.ndarray:
        """Spectral irradiance (81,) in W/(m² nm) of open level ground under sun and sky."""
        sky = self.sky.horizontal_irradiance()
        if self.sun is None:
            return sky
        return sky + self.sun.irradiance * np.sin(np.radians(self.sun.elevation))


def daylight(
    latitude: float,
    longitude: float,
    when: datetime,
    weather: str = "clear",
    air: str | None = None,
    facing: float = 180.0,
    altitude: float = 0.0,
    ground: float = 0.2,
    shade: str = "none",
) -> Daylight:
    """Sun and sky at a place (degrees north and east, metres above the sea) and a time with its zone.

    `weather` is one of `weather.WEATHERS` in plain words; `air` ("clear", "hazy", "dusty") is the weather's
    own unless given. `facing` is the compass bearing toward which the sitter looks. `ground` is the albedo of
    the country round about, which lights the sky from below. `shade` is one of `shade.SHADES`: what blocks
    the sun or a part of the sky.

    Raises ValueError for an unknown weather, air or shade, a place that is not on earth, a time without zone,
    and a sun lower than 6° below the horizon, where civil twilight ends.
    """
    kind, cover = weather_named(weather), shade_named(shade)
    contents = air_named(air, kind)
    _check_numbers(facing=(facing, -360, 360), altitude=(altitude, -500, 9000), ground=(ground, 0, 1))
    pressure = SEA_LEVEL * (1 - 2.25577e-5 * altitude) ** 5.25588  # international standard atmosphere
    position = sun_position(latitude, longitude, when, altitude, pressure)
    _check_light(position, when)
    day = when.timetuple().tm_yday
    direct, diffuse = _clear(position, day, contents, pressure, ground)
    # Where the sun is low its light on level ground is next to nothing; clouds are then lit by the sky alone.
    sun_light, sky_light, blue = through_clouds(kind, direct, diffuse, max(position.apparent_elevation, 0.0))
    azimuth = room_azimuth(position.compass, facing)
    brightest = direction(azimuth, max(position.apparent_elevation, 0.0))
    low_sun = clear_spectra(max(position.apparent_elevation, LOWEST_SUN), day, contents, pressure, ground)[0]
    sky = coloured_sky(
        f"sky, {weather}",
        sky_light,
        kind.sky_type,
        brightest,
        contrast=blue,
        glow=low_sun,
        glow_share=blue * _lowness(position.apparent_elevation),
    )
    sun = _sun(kind, contents, position, azimuth, sun_light)
    return Daylight(shaded_sun(sun, cover), shaded_sky(sky, cover), position)


def _check_numbers(**given: tuple[float, float, float]) -> None:
    """Raise ValueError for a value out of its range; each is value, lowest, highest."""
    for key, (value, low, high) in given.items():
        if not low <= value <= high:
            raise ValueError(f"{key}: {value!r} is out of range; it must be {low:g} to {high:g}")


def _check_light(position: SunPosition, when: datetime) -> None:
    """Raise ValueError at night."""
    if position.elevation < END_OF_CIVIL_TWILIGHT:
        raise ValueError(
            f"when: at {when.isoformat(' ', 'minutes')} the sun is {-position.elevation:.1f}° below the horizon there; "
            f"daylight is known down to {-END_OF_CIVIL_TWILIGHT:g}° below it, the end of civil twilight"
        )


def _clear(position: SunPosition, day: int, air: Air, pressure: float, ground: float) -> tuple[np.ndarray, np.ndarray]:
    """Direct and diffuse spectra (81,) of the clear sky, from noon to the end of civil twilight."""
    apparent = position.apparent_elevation
    diffuse = clear_spectra(max(apparent, LOWEST_SUN), day, air, pressure, ground)[1]
    diffuse = diffuse * ozone_transmittance(min(position.elevation, 0.0), air.ozone)
    direct = np.zeros_like(diffuse)
    if visible_share(apparent) > 0:
        direct = clear_spectra(max(apparent, 0.05), day, air, pressure, ground)[0] * visible_share(apparent)
    level = float(luminous(direct)) * max(np.sin(np.radians(apparent)), 0.0)
    follow = share_of_twilight(position.elevation)
    if follow > 0:
        expected = max(clear_illuminance(position.elevation) - level, 1e-3)
        diffuse = diffuse * (expected / float(luminous(diffuse))) ** follow
    return direct, diffuse


def _sun(weather: Weather, air: Air, position: SunPosition, azimuth: float, irradiance: np.ndarray) -> SunDisc | None:
    """The sun as a light, or None where it gives none."""
    if not float(luminous(irradiance)) > 1e-3:
        return None
    spread = min(air.circumsolar + weather.circumsolar, 0.7)
    irradiance = irradiance.copy()
    irradiance.setflags(write=False)
    # The centre of a setting disc is below the horizon while its upper part still shines.
    elevation = max(position.apparent_elevation, SUN_DIAMETER / 8)
    return SunDisc(azimuth, elevation, position.compass, softened_diameter(spread), irradiance)


def _lowness(apparent_elevation: float) -> float:
    """How low the sun is: 0 from 15 degrees up, 1 from 2 degrees down, smooth between."""
    s = float(np.clip((15 - apparent_elevation) / 13, 0, 1))
    return s * s * (3 - 2 * s)
