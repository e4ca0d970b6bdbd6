"""The wavelengths at which every spectrum of the program is held."""

from __future__ import annotations

import numpy as np

STEP = 5.0
"""Distance between neighbouring wavelengths, nm."""

WAVELENGTHS: np.ndarray = np.arange(380.0, 780.0 + STEP / 2, STEP)
"""The grid, nm, shape (81,)."""
WAVELENGTHS.setflags(write=False)

_MUST_COVER = (400.0, 700.0)


def on_grid(wavelengths: np.ndarray, values: np.ndarray, what: str = "spectrum") -> np.ndarray:
    """Resample a spectrum to the grid, shape (81,).

    `wavelengths` in nm, rising, covering at least 400 to 700 nm; `values` of the same length. Between points
    the spectrum is taken as linear, beyond its ends as constant. Where two of its points lie 2.5 nm or less
    apart it is seen through the triangular 5 nm passband of ASTM E308, so that narrow lines keep their power
    and their place.

    Raises ValueError, naming `what`, for anything that is not such a spectrum.
    """
    nm, value = np.asarray(wavelengths, dtype=float), np.asarray(values, dtype=float)
    _check(nm, value, what)
    if nm.size == WAVELENGTHS.size and np.array_equal(nm, WAVELENGTHS):
        return value.copy()
    if np.diff(nm).min() > STEP / 2:
        return np.interp(WAVELENGTHS, nm, value)
    return _through_passband(nm, value)


def _through_passband(nm: np.ndarray, value: np.ndarray) -> np.ndarray:
    """The spectrum (81,) weighted by a triangle about each wavelength of the grid, integrated exactly.

    Between the points of spectrum and grid both are linear, so Simpson's rule is exact; there only two triangles
    are not zero.
    """
    edges = np.arange(WAVELENGTHS[0] - STEP, WAVELENGTHS[-1] + 1.5 * STEP, STEP)
    points = np.union1d(edges, nm[(nm > edges[0]) & (nm < edges[-1])])
    heights = np.interp(points, nm, value)
    width, start, end = np.diff(points), heights[:-1], heights[1:]
    interval = np.clip(((points[:-1] - edges[0]) // STEP).astype(int), 0, len(edges) - 2)
    below, above = (points[:-1] - edges[interval]) / STEP, (points[1:] - edges[interval]) / STEP
    rising = width * (start * (2 * below + above) + end * (below + 2 * above)) / (6 * STEP)
    falling = width * (start * (3 - 2 * below - above) + end * (3 - below - 2 * above)) / (6 * STEP)
    count = len(edges)
    weighed = np.bincount(interval + 1, rising, count) + np.bincount(interval, falling, count)
    return np.maximum(weighed[1:-1], 0.0)


def _check(nm: np.ndarray, value: np.ndarray, what: str) -> None:
    """Raise ValueError with one sentence unless this is a usable spectrum."""
    if nm.ndim != 1 or value.shape != nm.shape:
        raise ValueError(
            f"{what}: needs one value for each wavelength, not {value.size} values for {nm.size} wavelengths"
        )
    if nm.size < 2:
        raise ValueError(f"{what}: needs at least two wavelengths, not {nm.size}")
    if not np.isfinite(nm).all() or not np.isfinite(value).all():
        raise ValueError(f"{what}: every wavelength and value must be a finite number")
    steps = np.diff(nm)
    if (steps == 0).any():
        raise ValueError(f"{what}: the wavelength {nm[1:][steps == 0][0]:g} nm is given twice")
    if (steps < 0).any():
        raise ValueError(f"{what}: wavelengths must rise, but {nm[1:][steps < 0][0]:g} nm follows a longer one")
    if (value < 0).any():
        raise ValueError(f"{what}: the value at {nm[value < 0][0]:g} nm is negative; it must be 0 or more")
    low, high = _MUST_COVER
    if nm[0] > low or nm[-1] < high:
        raise ValueError(f"{what}: covers {nm[0]:g} to {nm[-1]:g} nm, but must cover at least {low:g} to {high:g} nm")
