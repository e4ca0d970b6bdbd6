"""A skin from its colour or from its spectrum: the likeliest amounts that give it."""

from __future__ import annotations

from functools import partial
from typing import NamedTuple

import numpy as np

from sitterlight.shading.colour_spaces import Lab_from_XYZ, delta_E00
from sitterlight.shading.skin import LIMITS, SkinAmounts, albedos, constants
from sitterlight.shading.skin_amounts import FREE, solve, to_amounts, to_unknowns, trend
from sitterlight.shading.skin_colour import Lab_of, colour_weights
from sitterlight.shading.skin_spectra import BAND, lightness_and_chroma_scale, spectral_residual

REACHED = 0.3
"""ΔE00 up to which a colour counts as met."""

# The colour is asked for loosely first and then ever more strictly: at once, the search would creep.
_COLOUR_ERRORS = (2.0, 0.5, 0.12, 0.03)
_STARTS = np.log(np.geomspace(0.015, 1.2, 6))


class AmountsForColour(NamedTuple):
    """Amounts, and the ΔE00 between their colour and the one asked for."""

    amounts: SkinAmounts
    delta_e: float


class AmountsForReflectance(NamedTuple):
    """Amounts, and the root mean square of what is left from 400 to 720 nm."""

    amounts: SkinAmounts
    rmse: float


def amounts_from_Lab(Lab: np.ndarray, light: str = "D65") -> AmountsForColour:
    """The likeliest amounts whose body has the colour `Lab` (3,) under `light`, 2°; or those that come nearest.

    Many amounts give one colour; of these the ones nearest the main trend of the people measured are taken.
    """
    Lab = np.asarray(Lab, dtype=float)
    if Lab.shape != (3,) or not np.isfinite(Lab).all() or not 0 <= Lab[0] <= 100:
        raise ValueError(f"skin colour: Lab must be three finite numbers with L* from 0 to 100, not {Lab.tolist()}")
    weights, white = colour_weights(light)
    scale = lightness_and_chroma_scale(Lab[None])
    likely = trend()

    def residual(unknowns: np.ndarray, error: float) -> np.ndarray:
        model = albedos(to_amounts(_within(unknowns)))
        colour = (Lab_from_XYZ(model @ weights, white) - Lab) / (error * scale)
        return np.concatenate([colour, likely.residual(unknowns)], axis=1)

    found = likely.mean(_STARTS)
    for error in _COLOUR_ERRORS:
        found = solve(partial(residual, error=error), found, rounds=15)
    best = found[np.argmin((residual(found, _COLOUR_ERRORS[-1]) ** 2).sum(axis=1))]
    amounts = _as_amounts(best)
    return AmountsForColour(amounts, float(delta_E00(Lab_of(albedos(amounts.as_array()), light), Lab)))


def amounts_from_reflectance(albedo: np.ndarray) -> AmountsForReflectance:
    """The likeliest amounts whose body albedo is nearest `albedo` (81,), by wavelength and by colour together."""
    target = np.asarray(albedo, dtype=float)[None]
    residual = spectral_residual(np.repeat(target, len(_STARTS), axis=0), trend(), constants())
    found = solve(residual, trend().mean(_STARTS))
    amounts = _as_amounts(found[np.argmin((residual(found) ** 2).sum(axis=1))])
    away = (albedos(amounts.as_array()) - target[0])[BAND]
    return AmountsForReflectance(amounts, float(np.sqrt((away**2).mean())))


def _within(unknowns: np.ndarray) -> np.ndarray:
    """Unknowns kept to the limits of the amounts."""
    low, high = (to_unknowns(np.array([LIMITS[name][end] for name in FREE])) for end in (0, 1))
    return np.clip(unknowns, low, high)


def _as_amounts(unknowns: np.ndarray) -> SkinAmounts:
    return SkinAmounts(*(float(value) for value in to_amounts(_within(unknowns))))
