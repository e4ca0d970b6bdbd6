"""Colours a dome: a sky whose colour changes over it while its total keeps a given spectrum exactly.

Brighter parts of a blue sky are whiter. Chain, Dumortier and Fontoynont 1999 (Solar Energy 65, 285-295)
found, for clear skies, 10^6 / CCT = −132.1 + 59.77 log10 L. So a part that is ten times as bright as another
is 59.77 mired warmer, whatever the sky's level: that difference is kept here, the level comes from the
spectrum.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from sitterlight.illuminants.general_sky import (
    INDICATRICES,
    TYPES,
    angles_between,
    hemisphere,
    indicatrix,
    relative_luminance,
)
from sitterlight.illuminants.observer import luminous, tristimulus
from sitterlight.illuminants.sky import Sky
from sitterlight.illuminants.temperature import cct_and_duv, daylight_basis, daylight_weights

MIRED_PER_DECADE = 59.77
"""Chain and others 1999, for clear skies."""

# K: where the change of daylight with temperature is taken, inside the range in which CIE defines it.
_COLDEST, _HOTTEST = 4100.0, 24000.0

_LEAST = 0.1
"""No tint leaves less than this of the light at any wavelength; brighter or darker parts keep the strongest one."""

_DARKEST_LEFT = 0.25
"""The rest of the sky keeps at least about this share of the total at every wavelength when the glow is taken
out.
"""


def coloured_sky(
    name: str,
    diffuse: np.ndarray,
    sky_type: int,
    sun: np.ndarray,
    contrast: float = 1.0,
    glow: np.ndarray | None = None,
    glow_share: float = 0.0,
) -> Sky:
    """A sky in absolute units whose light on level ground is exactly `diffuse` (81,), in W/(m² nm).

    Luminance follows `sky_type` of ISO 15469 with the `sun` (3,) in the room frame. `contrast` scales the
    change of colour with luminance, 0 to 1. Around a low sun, `glow_share` (0 to 1) of the brightening takes
    the colour `glow` (81,), that of the sun's own light, as far as the total can spare it. Our own addition,
    no source; measured clear skies reach down to 3800 K there (Hernández-Andrés and others 2001, J. Opt. Soc.
    Am. A 18, 412-420).
    """
    points, solid_angles = hemisphere()
    shares = solid_angles * points[:, 1]
    luminance = relative_luminance(sky_type, points, sun)
    level = 1 / float(shares @ luminance)
    lux = float(luminous(diffuse))
    total = diffuse / lux
    glow = total if glow is None else glow / luminous(glow)

    aureole = _aureole(sky_type, sun, glow_share)
    mean = float(shares @ (luminance * aureole(points))) * level
    if mean > 0:
        spare = (1 - _DARKEST_LEFT) * float(np.min(total / np.maximum(glow, 1e-12)))
        aureole = _aureole(sky_type, sun, glow_share * min(1.0, spare / mean))
        mean = float(shares @ (luminance * aureole(points))) * level
    rest = (total - mean * glow) / (1 - mean)

    tint = _tint(rest)
    limits = (_LEAST - 1) / tint.max(), (_LEAST - 1) / tint.min()
    centre = _centre(luminance, shares * luminance * (1 - aureole(points)), contrast, limits)

    def pattern(directions: np.ndarray) -> np.ndarray:
        bright = relative_luminance(sky_type, directions, sun)
        near = aureole(directions)
        warmer = _mireds(bright, centre, contrast, limits)
        return level * bright[:, None] * np.stack([1 - near, (1 - near) * warmer, near], axis=-1)

    basis = lux * np.stack([rest, rest * tint, glow])
    basis.setflags(write=False)
    return Sky(name, basis, pattern)


def _tint(spectrum: np.ndarray) -> np.ndarray:
    """Relative change (81,) of a spectrum per mired, luminance kept.

    The change that CIE daylight makes at the spectrum's own temperature, to first order, so that it can be spread over
    the dome by weights; colours of the sky stay by the daylight locus.
    """
    temperature = cct_and_duv(tristimulus(spectrum))[0] or _HOTTEST
    mired = 1e6 / np.clip(temperature, _COLDEST, _HOTTEST)
    warmer, cooler = daylight_weights(1e6 / np.array([mired + 1, mired - 1])) @ daylight_basis()
    slope = (warmer - cooler) / (warmer + cooler)
    return slope - luminous(spectrum * slope) / luminous(spectrum)


def _mireds(luminance: np.ndarray, centre: float, contrast: float, limits: tuple[float, float]) -> np.ndarray:
    """Warmth (N,) in mired from the sky's mean, within the limits."""
    decades = np.log10(np.maximum(luminance, 1e-12))
    return np.clip(contrast * MIRED_PER_DECADE * decades - centre, *limits)


def _centre(luminance: np.ndarray, shares: np.ndarray, contrast: float, limits: tuple[float, float]) -> float:
    """The centre for which warmth, weighted by the light that each part gives the ground, sums to zero."""
    from scipy.optimize import brentq  # here, being slow to load

    def surplus(centre: float) -> float:
        return float(shares @ _mireds(luminance, centre, contrast, limits)) / float(shares.sum())

    return brentq(surplus, -1000.0, 1000.0, xtol=1e-12, rtol=1e-14)


def _aureole(sky_type: int, sun: np.ndarray, strength: float) -> Callable[[np.ndarray], np.ndarray]:
    """Share (N,) of a part's luminance that is sunlight thrown forward, for unit directions (N, 3)."""
    group = TYPES[sky_type].indicatrix
    c, d, _ = INDICATRICES[group]

    def share(directions: np.ndarray) -> np.ndarray:
        angle = angles_between(directions, sun)
        forward = np.maximum(c * (np.exp(d * angle) - np.exp(d * np.pi / 2)), 0.0)
        return strength * (forward / indicatrix(group, angle)) ** 2

    return share
