"""The fewest spectra that all lights of a sitting are sums of.

Several lights often have one spectrum, as a sky and a window under it, and ground or walls that are grey return sums of
the others' light. What is told by vertices and spectra then needs fewer numbers, and stays the same.
"""

from __future__ import annotations

import numpy as np
from scipy.linalg import lstsq, qr

ALIKE = 1e-7
"""Relative distance from sums of others below which a spectrum is one: single precision knows no smaller."""


def common_spectra(spectra: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Some of `spectra (K,n)`, (E,n), and `shares (K,E)` such that shares @ some are all of them.

    Chosen by a QR decomposition with pivots (Businger and Golub 1965, Numerische Mathematik 7, 269): the spectrum
    farthest from sums of those that are chosen comes next.
    """
    size = np.linalg.norm(spectra, axis=1)
    shares = np.zeros((len(spectra), 0))
    if not size.any():
        return spectra[:0], shares
    directions = spectra / np.where(size > 0, size, 1.0)[:, None]
    distances, order = qr(directions.T, mode="r", pivoting=True)
    chosen = np.sort(order[: (np.abs(np.diag(distances)) > ALIKE).sum()])
    return spectra[chosen], lstsq(directions[chosen].T, directions.T)[0].T * size[:, None] / size[chosen]
