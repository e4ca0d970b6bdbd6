"""Colour temperature: spectra of a given temperature, and the temperature of a given colour.

Planckian radiators and CIE daylight are spectra that a single temperature describes. The other way round, any
light near them has a correlated colour temperature (CCT) and a distance from the Planckian locus (Duv).
"""

from __future__ import annotations

from functools import cache

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.illuminants.observer import luminous, tristimulus
from sitterlight.illuminants.tables import table

SECOND_RADIATION_CONSTANT = 1.4388e-2
"""c2 of Planck's law in m K, as CIE 15 takes it for the locus; illuminant A is defined with an older one."""

PLANCKIAN_RANGE = (1000.0, 25000.0)
DAYLIGHT_RANGE = (4000.0, 25000.0)
"""Kelvin; the range in which CIE 15 defines daylight of a given CCT."""

FARTHEST_DUV = 0.05
"""CIE 15: a CCT has no meaning for colours farther than this from the Planckian locus."""

HOTTEST = 1e5
"""Kelvin; bluer than this a CCT tells a painter nothing (the locus itself ends soon after)."""

_MIREDS = np.arange(0.0, 1000.1, 2.0)
_SEARCHED = _MIREDS[::5]


def planckian(temperature: float) -> np.ndarray:
    """Spectrum of a Planckian radiator, shape (81,), scaled to 1 lux; `temperature` in K from 1000 to
    25000.
    """
    _check_range(temperature, PLANCKIAN_RANGE, "a Planckian radiator")
    spectrum = _planck_shape(np.array([1e6 / temperature]))[0]
    return spectrum / luminous(spectrum)


def daylight(temperature: float) -> np.ndarray:
    """CIE daylight of a CCT of 4000 to 25000 K, shape (81,), scaled to 1 lux."""
    return daylight_weights(temperature) @ daylight_basis()


@cache
def daylight_basis() -> np.ndarray:
    """S0, S1, S2 of CIE daylight (CIE 15), shape (3, 81), read-only."""
    columns = table("daylight_components")
    basis = np.stack([columns[name] for name in ("S0", "S1", "S2")])
    basis.setflags(write=False)
    return basis


def daylight_weights(temperature: np.ndarray | float) -> np.ndarray:
    """Amounts of `daylight_basis()` that make CIE daylight of 1 lux: shape (..., 3) for temperatures (...) in
    K.

    Formulae of CIE 15:2018, 4.1.2 (Judd, MacAdam and Wyszecki 1964), with M1 and M2 unrounded so that the
    spectrum changes smoothly with temperature. Outside 4000 to 25000 K: ValueError.
    """
    temperature = np.asarray(temperature, dtype=float)
    _check_range(temperature, DAYLIGHT_RANGE, "CIE daylight")
    x, y = np.moveaxis(daylight_xy(temperature), -1, 0)
    shared = 0.0241 + 0.2562 * x - 0.7341 * y
    first = (-1.3515 - 1.7703 * x + 5.9114 * y) / shared
    second = (0.0300 - 31.4424 * x + 30.0717 * y) / shared
    weights = np.stack([np.ones_like(first), first, second], axis=-1)
    return weights / (weights @ luminous(daylight_basis()))[..., None]


def daylight_xy(temperature: np.ndarray | float) -> np.ndarray:
    """Chromaticity x, y that defines CIE daylight of a temperature (...) in K, shape (..., 2); CIE 15:2018,
    4.1.2.
    """
    t = 1e3 / np.asarray(temperature, dtype=float)
    warm = 0.244063 + 0.09911 * t + 2.9678 * t**2 - 4.6070 * t**3
    cool = 0.237040 + 0.24748 * t + 1.9018 * t**2 - 2.0064 * t**3
    x = np.where(t >= 1 / 7, warm, cool)
    return np.stack([x, -3.000 * x**2 + 2.870 * x - 0.275], axis=-1)


def cct_and_duv(colour: np.ndarray) -> tuple[float | None, float]:
    """CCT in K and Duv of one colour, given as X, Y, Z (3,) or as x, y (2,), for the 2° observer.

    The CCT is None where it has no meaning: |Duv| above 0.05, or outside 1000 to 100 000 K. Black gives
    (None, 0).
    """
    temperature, duv = ccts_and_duvs(np.asarray(colour, dtype=float)[None])
    return (None if np.isnan(temperature[0]) else float(temperature[0])), float(duv[0])


def ccts_and_duvs(colours: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """CCT in K (NaN where it has no meaning) and Duv of colours (N, 3) in XYZ or (N, 2) in xy, each shape
    (N,).

    Nearest point of the Planckian locus in the CIE 1960 u, v diagram (CIE 15; Duv signed after Ohno 2013,
    LEUKOS 10, 47-55: positive above the locus, toward green). The locus is a spline in reciprocal
    temperature.
    """
    colours = np.asarray(colours, dtype=float)
    black = colours.sum(axis=-1) <= 0
    uv = _uv(np.where(black[:, None], 1.0, colours))
    mired = _nearest_mired(uv)
    away, tangent = uv - _locus(mired), _along_locus(mired)[0]
    # With mired rising, the locus runs toward red; the side above it is then on the left of (−tangent).
    side = np.sign(tangent[:, 0] * away[:, 1] - tangent[:, 1] * away[:, 0])
    duv = np.where(black, 0.0, side * np.hypot(*away.T))
    at_end = (mired < 1e6 / HOTTEST) | (mired >= _MIREDS[-1])
    with np.errstate(divide="ignore"):
        temperature = np.where((np.abs(duv) > FARTHEST_DUV) | at_end | black, np.nan, 1e6 / mired)
    return temperature, duv


def _nearest_mired(uv: np.ndarray) -> np.ndarray:
    """Reciprocal temperatures, per million K, of the points of the locus nearest to `uv` (N, 2)."""
    points = _searched_locus()
    mired = np.empty(len(uv))
    for start in range(0, len(uv), 4096):
        part = uv[start : start + 4096, None]
        mired[start : start + 4096] = _SEARCHED[((part - points) ** 2).sum(-1).argmin(-1)]
    for _ in range(4):  # Newton's method on the derivative of the squared distance
        away, (first, second) = uv - _locus(mired), _along_locus(mired)
        slope = (first**2).sum(-1) - (away * second).sum(-1)
        step = (away * first).sum(-1) / np.where(slope > 0, slope, np.inf)
        mired = np.clip(mired + np.clip(step, -10, 10), _MIREDS[0], _MIREDS[-1])
    return mired


def _locus(mired: np.ndarray) -> np.ndarray:
    """The Planckian locus: CIE 1960 u, v (N, 2) at reciprocal temperatures (N,) per million K."""
    return _uv(tristimulus(_planck_shape(mired)))


@cache
def _searched_locus() -> np.ndarray:
    return _locus(_SEARCHED)


def _along_locus(mired: np.ndarray, step: float = 0.5) -> tuple[np.ndarray, np.ndarray]:
    """First and second derivative of the locus, (N, 2) each, by differences; it runs on smoothly past both ends."""
    before, here, after = (_locus(mired + shift) for shift in (-step, 0.0, step))
    return (after - before) / (2 * step), (after - 2 * here + before) / step**2


def _planck_shape(mired: np.ndarray) -> np.ndarray:
    """Planck's law up to a factor, shape (N, 81), for reciprocal temperatures (N,) per million K, 0
    included.
    """
    metres = WAVELENGTHS * 1e-9
    exponent = SECOND_RADIATION_CONSTANT / metres * (np.asarray(mired) * 1e-6)[:, None]
    hottest = (560e-9 / metres) ** 4
    # x / (e^x − 1) tends to 1 as x goes to 0, where the law becomes λ^−4.
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(exponent > 1e-9, exponent / np.expm1(exponent), 1.0)
    return hottest * share


def _uv(colours: np.ndarray) -> np.ndarray:
    """CIE 1960 u, v of XYZ (..., 3) or xy (..., 2)."""
    if colours.shape[-1] == 2:
        x, y = np.moveaxis(colours, -1, 0)
        colours = np.stack([x, y, 1 - x - y], axis=-1)
    X, Y, Z = np.moveaxis(colours, -1, 0)
    total = X + 15 * Y + 3 * Z
    return np.stack([4 * X / total, 6 * Y / total], axis=-1)


def _check_range(temperature: np.ndarray | float, allowed: tuple[float, float], what: str) -> None:
    """Raise ValueError unless all temperatures are within the allowed range, with a hair for rounding."""
    temperature = np.asarray(temperature, dtype=float)
    low, high = allowed
    outside = ~((temperature >= low * (1 - 1e-9)) & (temperature <= high * (1 + 1e-9)))
    if outside.any():
        wrong = np.ravel(temperature)[np.ravel(outside)][0]
        raise ValueError(f"{what} is defined from {low:g} K to {high:g} K, so not at {wrong:g} K")
