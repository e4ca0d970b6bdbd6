"""The colour of an albedo in numbers: L*a*b* under D65, and the individual typology angle."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from sitterlight.illuminants.catalogue import spectrum
from sitterlight.illuminants.observer import tristimulus
from sitterlight.shading.colour_spaces import Lab_from_XYZ

ITA_LIMITS = (55.0, 41.0, 28.0, 10.0, -30.0)
"""Degrees between the classes I to VI of ITA, falling (Chardon, Cretois & Hourseau 1991, International
Journal of Cosmetic Science 13, 191; the sixth class, Del Bino & Bernerd 2013, British Journal of Dermatology
169 s3, 33)."""

_CLASSES = ("I", "II", "III", "IV", "V", "VI")


@dataclass(frozen=True)
class SkinColourNumbers:
    """An albedo in numbers: CIE L*a*b* (D65, 2°), ITA in degrees and its class, I lightest to VI deepest."""

    Lab: tuple[float, float, float]
    ITA: float
    ITA_class: str


def describe(albedo: np.ndarray) -> SkinColourNumbers:
    """Lab (D65, 2°), ITA and class of one albedo (81,)."""
    Lab = Lab_of(albedo)
    angle = float(ITA(Lab))
    return SkinColourNumbers(tuple(float(value) for value in Lab), angle, ITA_class(angle))


def Lab_of(albedo: np.ndarray, light: str = "D65", observer: int = 2) -> np.ndarray:
    """L*a*b* (..., 3) of albedos (..., 81) under a named light, whose white is that of an albedo of one."""
    weights, white = colour_weights(light, observer)
    return Lab_from_XYZ(np.asarray(albedo, dtype=float) @ weights, white)


def ITA(Lab: np.ndarray) -> np.ndarray:
    """Individual typology angle in degrees of L*a*b* (..., 3): arctan((L* − 50) / b*) (Chardon et al.
    1991)."""
    Lab = np.asarray(Lab, dtype=float)
    return np.degrees(np.arctan2(Lab[..., 0] - 50, Lab[..., 2]))


def ITA_class(angle: float) -> str:
    """Class of an ITA in degrees, "I" (above 55°) to "VI" (−30° or below)."""
    return _CLASSES[sum(angle <= limit for limit in ITA_LIMITS)]


@cache
def colour_weights(light: str = "D65", observer: int = 2) -> tuple[np.ndarray, np.ndarray]:
    """Weights (81, 3) that turn an albedo into XYZ with Y = 1 for white, and the white's XYZ (3,)."""
    power = spectrum(light, role="lamp").power
    weights = np.eye(len(power)) * power
    weights = tristimulus(weights, observer)
    weights /= weights[:, 1].sum()
    return weights, weights.sum(axis=0)
