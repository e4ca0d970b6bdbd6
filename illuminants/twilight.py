"""Light while the sun is on or below the horizon, to the end of civil twilight.

How bright: Janiczek and DeYoung 1987, "Computer programs for sun and moon illuminance", US Naval Observatory
Circular 171, for clear skies. How blue: sunlight reaches the sky overhead on a long way through the ozone
layer, whose Chappuis band takes out orange (Hulburt 1953, J. Opt. Soc. Am. 43, 113-118).
"""

from __future__ import annotations

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS

END_OF_CIVIL_TWILIGHT = -6.0
"""Degrees of geometric elevation."""

# Lowest elevation in degrees of each range, and log10 lux as a cubic in elevation / 90° (Circular 171).
_RANGES = (
    (20.0, (3.74, 3.97, -4.07, 1.47)),
    (5.0, (3.05, 13.28, -45.98, 64.33)),
    (-0.8, (2.88, 22.26, -207.64, 1034.30)),
    (-5.0, (2.88, 21.81, -258.11, -858.36)),
    (-12.0, (2.70, 12.17, -431.69, -1899.83)),
)

# Absorption of ozone per atm cm in the Chappuis band against nm (Bird and Riordan 1984, table 2-1).
_CHAPPUIS = (
    (440, 450, 470, 490, 510, 530, 550, 570, 593, 610, 630, 656, 690, 710, 740, 780),
    (0.0, 0.003, 0.009, 0.021, 0.04, 0.063, 0.085, 0.12, 0.119, 0.12, 0.09, 0.065, 0.028, 0.018, 0.01, 0.0),
)

_OZONE_AT_HORIZON = 12.0
"""Slant over vertical path through a thin layer 22 km up, for a level ray from the ground."""


def clear_illuminance(elevation: float) -> float:
    """Lux on level ground under a clear sky, sun included, for a geometric elevation of −12 to 90 degrees."""
    x = elevation / 90
    coefficients = next((c for lowest, c in _RANGES if elevation >= lowest), None)
    if coefficients is None:
        raise ValueError(f"elevation: {elevation:g} is out of range; the illuminance is known from -12 to 90 degrees")
    return float(10 ** sum(c * x**power for power, c in enumerate(coefficients)))


def ozone_transmittance(elevation: float, ozone: float) -> np.ndarray:
    """What more ozone lets through, (81,), when the sun is below the horizon than when it stands on it.

    `elevation` in degrees, `ozone` in atm cm. A ray that reaches the sky overhead by grazing the earth
    crosses the layer twice where a level ray crosses it once; the second crossing comes in along civil
    twilight.
    """
    second = _OZONE_AT_HORIZON * np.clip(elevation / END_OF_CIVIL_TWILIGHT, 0, 1)
    return np.exp(-np.interp(WAVELENGTHS, *_CHAPPUIS) * ozone * second)


def share_of_twilight(elevation: float) -> float:
    """How far brightness follows Circular 171: 0 from 5 degrees up, 1 from 0 degrees down, smooth between."""
    s = float(np.clip((5 - elevation) / 5, 0, 1))
    return s * s * (3 - 2 * s)
