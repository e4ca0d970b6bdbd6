"""Weather in plain words: which air, which sky of ISO 15469, and what clouds do to sun and sky.

Clouds are grey to visible light, so cloudlight has the colour of what falls on the cloud: sun and sky
together. That is how clouds whiten a sky. Two published models say how much passes:

- Kasten and Czeplak 1980, Solar Energy 24, 177-189: under clouds that cover a share N of the sky, global
irradiance is 1 − 0.75 N^3.4 of the clear sky's, and the share of it that is diffuse rises with 0.7 N². Means
over many hours. - A thin even veil is a layer of optical depth τ: of sunlight exp(−τ/μ) passes unscattered,
and 1/(1 + βτ/μ) passes in all, μ the sine of the sun's elevation and β the share scattered upward (Coakley
and Chýlek 1975, J. Atmos. Sci. 32, 409-418). Cirrus and cirrostratus that let the sun through have τ of 0.03
to 3 (Sassen and Cho 1992).

Between the cloud and the clean air above it light goes up and down again, which makes overcast light a little
bluer than what fell in (Bartlett and others 1998, J. Geophys. Res. 103 C13; Lee and Hernández-Andrés 2005,
Appl. Opt. 44, 5712).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.illuminants.clear_sky import AIRS, Air, rayleigh_reflectance
from sitterlight.illuminants.observer import luminous

ICE_ASYMMETRY = 0.8
"""Mean cosine of scattering by ice crystals (0.75 to 0.85, Fu 1996); half of what is missing to 1 goes
upward.
"""


@dataclass(frozen=True)
class Weather:
    """`sky_type` of ISO 15469; `cover` is the share of the sky under thick cloud, `veil` the optical depth of
    a thin one.

    `circumsolar` is what the veil adds to the air's own: the share of sunlight spread closely around the sun.
    """

    description: str
    air: str
    sky_type: int
    cover: float = 0.0
    veil: float = 0.0
    circumsolar: float = 0.0


WEATHERS = {
    "clear": Weather("cloudless, clean air", "clear", 12),
    "hazy": Weather("cloudless, hazy air", "hazy", 13),
    "dusty": Weather("cloudless, dust in the air", "dusty", 14),
    "thin cloud": Weather("an even veil of high cloud, sun shining through", "clear", 11, veil=0.5, circumsolar=0.4),
    "broken cloud": Weather("half the sky under cloud, sun as the mean of in and out", "clear", 10, cover=0.5),
    "overcast": Weather("covered, no sun", "clear", 1, cover=1.0),
}


def weather_named(name: str) -> Weather:
    """The weather of that name; "broken" is "broken cloud". Raises ValueError with the list otherwise."""
    plain = " ".join(str(name).casefold().split())
    plain = "broken cloud" if plain == "broken" else plain
    if plain not in WEATHERS:
        raise ValueError(f"weather: {name!r} is not known; it must be one of {', '.join(WEATHERS)}")
    return WEATHERS[plain]


def air_named(name: str | None, weather: Weather) -> Air:
    """The air of that name, or the weather's own where None. Raises ValueError with the list otherwise."""
    name = weather.air if name is None else name
    if name not in AIRS:
        raise ValueError(f"air: {name!r} is not known; it must be one of {', '.join(AIRS)}")
    return AIRS[name]


def through_clouds(
    weather: Weather, direct: np.ndarray, diffuse: np.ndarray, elevation: float
) -> tuple[np.ndarray, np.ndarray, float]:
    """What is left of sun and sky: direct facing the sun (81,), diffuse on level ground (81,), share of blue
    sky.

    `direct` and `diffuse` (81,) are the clear sky's, `elevation` the sun's in degrees. The last value is the
    share of the diffuse light that still is skylight, 1 without clouds.
    """
    sine = max(np.sin(np.radians(elevation)), 0.0)
    level = direct * sine
    if weather.veil > 0:
        path = weather.veil / max(sine, 0.05)
        upward = (1 - ICE_ASYMMETRY) / 2
        sun_passes, beam_total = np.exp(-path), 1 / (1 + upward * path)
        # Diffuse light crosses the veil at 53° on average, so 1.66 times its depth.
        sky_total = 1 / (1 + upward * 1.66 * weather.veil)
    else:
        beam_total = sky_total = 1 - 0.75 * weather.cover**3.4
        sun_passes = (1 - weather.cover**2) * beam_total
    blue = sky_total * diffuse
    white = (beam_total - sun_passes) * level
    cloudy = (blue + white) / (1 - (1 - sky_total) * rayleigh_reflectance())
    # Light of thick cloud is mixed through and through; only what passes between clouds stays blue.
    open_sky = 1.0 if weather.veil else 1 - weather.cover
    total = float(luminous(blue + white))
    share = open_sky * float(luminous(blue)) / total if total > 0 else 0.0
    return sun_passes * direct, cloudy, share
