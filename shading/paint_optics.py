"""How a film of paint returns light: two-constant Kubelka–Munk theory with Saunderson's surface correction.

K is absorption and S scattering for each unit of thickness, of any shapes that broadcast. Reflectances are from 0
to 1; single precision stays single. "Internal" means as met by light already in the film, "seen" means through
the film's surface.

Sources of the formulas: P. Kubelka and F. Munk, Zeitschrift für technische Physik 12 (1931) 593; P. Kubelka,
Journal of the Optical Society of America 38 (1948) 448; J. L. Saunderson, the same journal 32 (1942) 727;
mixtures by D. R. Duncan, Proceedings of the Physical Society 52 (1940) 390.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.floating]

SURFACE_OUTSIDE = 0.04
"""k1: share of light mirrored by the surface from outside, for a film of refractive index 1.5 (Fresnel)."""

SURFACE_INSIDE = 0.6
"""k2: share of diffuse light thrown back by the surface from inside; 0.596 for index 1.5, commonly taken as 0.6."""


def _floats(values: ArrayLike) -> Array:
    array = np.asarray(values)
    return array if array.dtype in (np.float32, np.float64) else array.astype(float)


def K_over_S(internal: ArrayLike) -> Array:
    """K/S of an opaque film from its internal reflectance (above 0): (1 − R)² / 2R."""
    R = _floats(internal)
    return (1.0 - R) ** 2 / (2.0 * R)


def opaque_reflectance(K: ArrayLike, S: ArrayLike) -> Array:
    """Internal reflectance of a film so thick that nothing beneath it shows.

    1 + K/S − √((K/S)² + 2 K/S), written so that it keeps its digits for very dark and very light paints, and
    gives 0 where nothing scatters.
    """
    K, S = _floats(K), _floats(S)
    root = np.sqrt(K * (K + 2.0 * S))
    return S / np.maximum(K + S + root, 1e-30)


def film_reflectance(K: ArrayLike, S: ArrayLike, thickness: ArrayLike, ground: ArrayLike) -> Array:
    """Internal reflectance of a film of finite `thickness` over a `ground` of known internal reflectance.

    Kubelka's hyperbolic solution, multiplied through by tanh(γX)/γ with γ = √(K² + 2KS), which leaves it finite
    where there is no thickness, no absorption or no scattering.
    """
    K, S, X, Rg = (_floats(v) for v in (K, S, thickness, ground))
    gamma = np.sqrt(K * (K + 2.0 * S))
    reach = np.where(gamma > 1e-12, np.tanh(gamma * X) / np.maximum(gamma, 1e-12), X)
    return ((S - Rg * (S + K)) * reach + Rg) / ((S + K - Rg * S) * reach + 1.0)


def film_transmittance(K: ArrayLike, S: ArrayLike, thickness: ArrayLike) -> Array:
    """Share of diffuse light that a film passes, with no surfaces: γ / ((K + S) sinh γX + γ cosh γX)."""
    K, S, X = (_floats(v) for v in (K, S, thickness))
    gamma = np.sqrt(K * (K + 2.0 * S))
    reach = np.where(gamma > 1e-12, np.tanh(gamma * X) / np.maximum(gamma, 1e-12), X)
    return 1.0 / (np.cosh(gamma * X) * ((K + S) * reach + 1.0))


def seen_through_surface(
    internal: ArrayLike, k1: float = SURFACE_OUTSIDE, k2: float = SURFACE_INSIDE, gloss: float = 0.0
) -> Array:
    """Saunderson: what is seen of an internal reflectance through the film's surface.

    `gloss` is the share of the surface's own mirror light that is counted: 0 as a painter stands, clear of the
    glare, 1 for a measurement with the specular part included.
    """
    R = _floats(internal)
    return gloss * k1 + (1.0 - k1) * (1.0 - k2) * R / (1.0 - k2 * R)


def beneath_surface(
    seen: ArrayLike, k1: float = SURFACE_OUTSIDE, k2: float = SURFACE_INSIDE, gloss: float = 0.0
) -> Array:
    """Saunderson backwards: the internal reflectance behind a seen one. Below the surface's own light it is 0."""
    body = np.maximum(_floats(seen) - gloss * k1, 0.0)
    return body / ((1.0 - k1) * (1.0 - k2) + k2 * body)


def mixture(parts: ArrayLike, K: Array, S: Array) -> tuple[Array, Array]:
    """K and S (..., wavelengths) of mixes by volume: `parts` (..., paints) with K and S (paints, wavelengths).

    Parts may be of any total above zero. Duncan's rule: each paint counts by its share of the volume.
    """
    share = _floats(parts)
    share = share / share.sum(axis=-1, keepdims=True)
    return share @ K, share @ S
