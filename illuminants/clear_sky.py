"""Direct and diffuse spectra of a cloudless sky, by SPECTRL2 through pvlib.

Bird and Riordan 1984, "Simple solar spectral model for direct and diffuse irradiance on horizontal and tilted
planes at the earth's surface for cloudless atmospheres", NREL TR-215-2436.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS, on_grid

LOWEST_SUN = 2.0
"""Degrees; the model's diffuse light is not followed to a lower sun, since its air is flat."""


@dataclass(frozen=True)
class Air:
    """What the air holds. Typical amounts, from memory (sun photometers: 0.05 to 0.1 clean, 0.5 and more in
    dust).

    `turbidity` is aerosol optical depth at 500 nm and `exponent` its Ångström exponent (large for fine smoke,
    small for coarse dust), `scattering` the aerosol's single scattering albedo at 400 nm, `asymmetry` its
    mean cosine; `water` and `ozone` in cm; `circumsolar` the share of the direct light that haze spreads
    around the sun.
    """

    turbidity: float
    exponent: float
    water: float
    circumsolar: float
    scattering: float = 0.945
    asymmetry: float = 0.65
    ozone: float = 0.3


AIRS = {
    "clear": Air(turbidity=0.08, exponent=1.3, water=1.5, circumsolar=0.0),
    "hazy": Air(turbidity=0.35, exponent=1.2, water=2.5, circumsolar=0.1),
    "dusty": Air(turbidity=0.6, exponent=0.3, water=1.5, circumsolar=0.3, scattering=0.90, asymmetry=0.72),
}


def clear_spectra(
    apparent_elevation: float,
    day_of_year: int,
    air: Air,
    pressure: float = 1013.25,
    ground: float = 0.2,
) -> tuple[np.ndarray, np.ndarray]:
    """Direct irradiance facing the sun and diffuse irradiance of level ground, each (81,) in W/(m² nm).

    `apparent_elevation` of the sun in degrees, above 0; `pressure` in mbar; `ground` the albedo all round,
    which lights the sky from below.
    """
    wavelengths, direct, diffuse = spectrl2(apparent_elevation, day_of_year, air, pressure, ground)
    near = wavelengths <= 800
    return on_grid(wavelengths[near], direct[near]), on_grid(wavelengths[near], diffuse[near])


def spectrl2(
    apparent_elevation: float, day_of_year: int, air: Air, pressure: float, ground: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The model on its own 122 wavelengths in nm: those, direct normal and diffuse horizontal in W/(m²
    nm).
    """
    import pvlib  # takes most of a second, so only where it is needed

    zenith = 90 - apparent_elevation
    result = pvlib.spectrum.spectrl2(
        apparent_zenith=zenith,
        aoi=zenith,
        surface_tilt=0,
        ground_albedo=ground,
        surface_pressure=pressure * 100,
        relative_airmass=pvlib.atmosphere.get_relative_airmass(zenith),
        precipitable_water=air.water,
        ozone=air.ozone,
        aerosol_turbidity_500nm=air.turbidity,
        dayofyear=day_of_year,
        scattering_albedo_400nm=air.scattering,
        alpha=air.exponent,
        aerosol_asymmetry_factor=air.asymmetry,
    )
    return np.ravel(result["wavelength"]), np.ravel(result["dni"]), np.ravel(result["dhi"])


def rayleigh_reflectance() -> np.ndarray:
    """Share (81,) of diffuse light from below that clean air throws back down.

    Half of what molecules scatter at an air mass of 1.8, as in equations 2-4 and 3-8 of Bird and Riordan
    1984.
    """
    micrometres = WAVELENGTHS / 1000
    depth = 1 / (micrometres**4 * (115.6406 - 1.335 / micrometres**2))
    return 0.5 * (1 - np.exp(-1.8 * depth))
