"""How far a model spectrum is from a measured one: by wavelength and by colour together."""

from __future__ import annotations

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading.colour_spaces import Lab_from_XYZ
from sitterlight.shading.skin import SkinConstants, albedos
from sitterlight.shading.skin_amounts import Residual, Trend, to_amounts
from sitterlight.shading.skin_colour import colour_weights

BAND = (WAVELENGTHS >= 400) & (WAVELENGTHS <= 720)
"""Where fits are judged."""

# What the fit strives for: this much albedo at each 5 nm (little is asked outside the band) and this much ΔE00.
_ALBEDO_ERROR = np.where(BAND, 0.006, 0.03)
_COLOUR_ERROR = 0.12


def spectral_residual(
    target: np.ndarray, sought: Trend, of: SkinConstants, sampled: int = 1, colour_weight: float = 1.0
) -> Residual:
    """The residual of unknowns (n, 6) against body albedos `target` (n, 81): spectrum, colour, and the trend.

    `sampled` 2 compares at every second wavelength of the grid, for measurements at 10 nm, and takes both
    colours as linear between them.
    """
    seen = between_samples(sampled)
    Lab = Lab_through(target, seen)
    scale = _ALBEDO_ERROR[::sampled] * np.sqrt(2 / sampled)
    tolerance = _COLOUR_ERROR * lightness_and_chroma_scale(Lab)

    def residual(unknowns: np.ndarray) -> np.ndarray:
        model = albedos(to_amounts(unknowns), of)
        spectral = (model - target)[:, ::sampled] / scale
        colour = colour_weight * (Lab_through(model, seen) - Lab) / tolerance
        return np.concatenate([spectral, colour, sought.residual(unknowns)], axis=1)

    return residual


def Lab_through(albedo: np.ndarray, seen: np.ndarray) -> np.ndarray:
    """Lab (n, 3), D65 and 2°, of albedos (n, 81) resampled by `seen` (81, 81)."""
    weights, white = colour_weights()
    return Lab_from_XYZ(np.maximum(albedo, 0) @ (seen @ weights), white)


def lightness_and_chroma_scale(Lab: np.ndarray) -> np.ndarray:
    """What one unit of ΔE00 is in L*, a*, b* near Lab, roughly (CIE 142:2001: SL, and 0.9 SC for both), (n,
    3)."""
    L, chroma = Lab[:, 0], np.hypot(Lab[:, 1], Lab[:, 2])
    SL = 1 + 0.015 * (L - 50) ** 2 / np.sqrt(20 + (L - 50) ** 2)
    SC = 0.9 * (1 + 0.045 * chroma)
    return np.stack([SL, SC, SC], axis=-1)


def between_samples(sampled: int) -> np.ndarray:
    """Matrix (81, 81) that keeps every `sampled`-th value and draws straight lines between, for rows @ matrix."""
    index = np.arange(len(WAVELENGTHS))
    kept = index[::sampled]
    return np.stack([np.interp(index, kept, kept == place) if place in kept else 0.0 * index for place in index])
