"""From spectra to tristimulus values, by summation over the grid as ASTM E308 does at 5 nm."""

from __future__ import annotations

from functools import cache

import numpy as np

from sitterlight.illuminants.grid import STEP
from sitterlight.illuminants.tables import table

KM = 683.0
"""Luminous efficacy, lm/W, at the wavelength where the CIE 1931 ȳ is one."""


@cache
def colour_matching(observer: int = 2) -> np.ndarray:
    """x̄, ȳ, z̄ of the CIE 1931 2° (`observer` 2) or the CIE 1964 10° observer (10), shape (81, 3),
    read-only.
    """
    if observer not in (2, 10):
        raise ValueError(f"observer: {observer!r} is not known; it must be 2 or 10 (degrees)")
    columns = table("colour_matching")
    functions = np.stack([columns[f"{letter}{observer}"] for letter in "xyz"], axis=-1)
    functions.setflags(write=False)
    return functions


def tristimulus(spectra: np.ndarray, observer: int = 2) -> np.ndarray:
    """X, Y, Z of spectra (..., 81), shape (..., 3).

    Absolute: radiance in W/(m² sr nm) gives cd/m², irradiance in W/(m² nm) gives lux.
    """
    return np.asarray(spectra, dtype=float) @ (colour_matching(observer) * (KM * STEP))


def luminous(spectra: np.ndarray) -> np.ndarray:
    """Luminance in cd/m² or illuminance in lux of spectra (..., 81), shape (...): Y of the 2° observer."""
    return np.asarray(spectra, dtype=float) @ (colour_matching(2)[:, 1] * (KM * STEP))
