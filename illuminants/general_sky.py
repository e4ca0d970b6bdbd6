"""The CIE standard general sky: how luminance is spread over the dome (ISO 15469:2004, CIE S 011).

Relative luminance of a sky element is gradation × indicatrix: φ(Z) f(χ), with Z its distance from the zenith
and χ its distance from the sun. A type is one of six gradations with one of six indicatrices (Kittler, Perez
and Darula).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

GRADATIONS = {
    "I": (4.0, -0.70),
    "II": (1.1, -0.80),
    "III": (0.0, -1.00),
    "IV": (-1.0, -0.55),
    "V": (-1.0, -0.32),
    "VI": (-1.0, -0.15),
}
"""a and b of φ(Z) = 1 + a exp(b / cos Z), by group."""

INDICATRICES = {
    1: (0.0, -1.0, 0.00),
    2: (2.0, -1.5, 0.15),
    3: (5.0, -2.5, 0.30),
    4: (10.0, -3.0, 0.45),
    5: (16.0, -3.0, 0.30),
    6: (24.0, -2.8, 0.15),
}
"""c, d and e of f(χ) = 1 + c (exp(d χ) − exp(d π/2)) + e cos² χ, by group."""

TRADITIONAL_OVERCAST = 16


@dataclass(frozen=True)
class SkyType:
    """One row of the standard: number, groups and a description of our own."""

    number: int
    gradation: str
    indicatrix: int
    description: str

    @property
    def directional(self) -> bool:
        """Whether its brightness depends on where the sun stands."""
        return self.indicatrix != 1


TYPES = {
    row.number: row
    for row in (
        SkyType(1, "I", 1, "overcast, steep toward the zenith, the same all round"),
        SkyType(2, "I", 2, "overcast, steep toward the zenith, a little brighter near the sun"),
        SkyType(3, "II", 1, "overcast, somewhat brighter overhead, the same all round"),
        SkyType(4, "II", 2, "overcast, somewhat brighter overhead and near the sun"),
        SkyType(5, "III", 1, "the same everywhere"),
        SkyType(6, "III", 2, "partly cloudy, even, a little brighter near the sun"),
        SkyType(7, "III", 3, "partly cloudy, even, clearly brighter near the sun"),
        SkyType(8, "III", 4, "partly cloudy, even, a distinct glow around the sun"),
        SkyType(9, "IV", 2, "partly cloudy, the sun hidden, brighter toward the horizon"),
        SkyType(10, "IV", 3, "partly cloudy, clearly brighter near the sun and toward the horizon"),
        SkyType(11, "IV", 4, "white and blue, a distinct glow around the sun"),
        SkyType(12, "V", 4, "clear, clean air"),
        SkyType(13, "V", 5, "clear, hazy air"),
        SkyType(14, "VI", 5, "cloudless, hazy, a broad glow around the sun"),
        SkyType(15, "VI", 6, "white and blue, hazy, a broad bright glow around the sun"),
        SkyType(TRADITIONAL_OVERCAST, "", 1, "traditional overcast, zenith three times the horizon"),
    )
}


def gradation(group: str, sine: np.ndarray) -> np.ndarray:
    """φ for elements whose elevation has the given sine (...), which must be 0 or more."""
    a, b = GRADATIONS[group]
    with np.errstate(divide="ignore"):
        return 1 + a * np.exp(b / np.asarray(sine, dtype=float))


def indicatrix(group: int, angle: np.ndarray) -> np.ndarray:
    """f for elements at an angle (...) in radians from the sun."""
    c, d, e = INDICATRICES[group]
    return 1 + c * (np.exp(d * angle) - np.exp(d * np.pi / 2)) + e * np.cos(angle) ** 2


def relative_luminance(number: int, directions: np.ndarray, sun: np.ndarray | None = None) -> np.ndarray:
    """Luminance of type `number` up to a factor, shape (N,), 0 below the horizon.

    `directions` (N, 3) and `sun` (3,) are unit vectors with y up; types that depend on the sun need it.
    """
    kind = TYPES[number]
    sine = directions[:, 1]
    above = np.maximum(sine, 0.0)
    overcast = number == TRADITIONAL_OVERCAST
    luminance = (1 + 2 * above) / 3 if overcast else gradation(kind.gradation, above)
    if kind.directional:
        if sun is None:
            raise ValueError(
                f"sky: type {number} of ISO 15469 depends on the sun, so it needs the sun's direction; "
                "types without one are 1, 3, 5 and 16"
            )
        luminance = luminance * indicatrix(kind.indicatrix, angles_between(directions, sun))
    return np.where(sine >= 0, luminance, 0.0)


def angles_between(directions: np.ndarray, one: np.ndarray) -> np.ndarray:
    """Angles (N,) in radians between unit vectors (N, 3) and one unit vector, exact also for small angles."""
    return 2 * np.arcsin(np.minimum(np.linalg.norm(directions - np.asarray(one), axis=-1) / 2, 1.0))


@cache
def hemisphere() -> tuple[np.ndarray, np.ndarray]:
    """Points (N, 3) on the upper half of the unit sphere and their solid angles (N,) in sr, for integration.

    Gauss-Legendre in elevation, even in azimuth: within 1e-4 of the integral of any standard sky times a
    cosine.
    """
    nodes, shares = np.polynomial.legendre.leggauss(96)
    azimuth = (np.arange(192) + 0.5) * (2 * np.pi / 192)
    sine = np.repeat((nodes + 1) / 2, azimuth.size)
    cosine = np.sqrt(1 - sine**2)
    azimuth = np.tile(azimuth, nodes.size)
    points = np.stack([np.sin(azimuth) * cosine, sine, np.cos(azimuth) * cosine], axis=-1)
    solid_angles = np.repeat(shares / 2, 192) * (2 * np.pi / 192)
    points.setflags(write=False)
    solid_angles.setflags(write=False)
    return points, solid_angles
