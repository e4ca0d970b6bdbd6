"""How far light travels under the skin before it comes out again, by wavelength, as weights of a few blurs.

What the epidermis alone returns comes out where it went in; the rest has been in the dermis and comes out around.
How far follows from the skin's own albedo: a wave of light over the surface, of wave number k, diffuses in depth as
even light does in a dermis of absorption μa + k² / (3 (μa + μs′)), so the mean square radius of what comes back is

    ⟨r²⟩ = −4 / (3 (μa + μs′)) · ∂ ln(albedo) / ∂μa                (the part from the dermis alone)

which counts light turned back under the surface and into the dermis again, and melanin's part in stopping it: in
deep skin light seldom goes down twice. The profile has the shape that Christensen and Burley found to fit
scattering of all albedos (2015, "Approximate reflectance profiles for efficient subsurface scattering", ACM
SIGGRAPH Talks): (e^(−r/d) + e^(−r/3d)) / (8π d r), with ⟨r²⟩ = 14 d².

Lengths are absolute because the amounts are: haemoglobin by its concentration in blood, and scattering such that
the ladder's dermis has μs′ = 4.6 mm⁻¹ at 500 nm, the mean of skins that Jacques collected (2013, Physics in
Medicine & Biology 58, R37).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.diffusion_bank import widths
from sitterlight.shading.skin import (
    AMOUNTS,
    SkinAmounts,
    albedos,
    constants,
    dermis_absorption,
    scattering_shape,
    shallow_albedos,
)
from sitterlight.shading.skin_regions import CHANGES, region_amounts

_STEP = 1e-5  # mm⁻¹ of absorption, for the derivative


def spread_weights(amounts: SkinAmounts) -> np.ndarray:
    """Weights (W, 81) of the bank's widths, none negative, adding up to one at each wavelength.

    Σ over widths of weight · blur is the light that comes out per light that comes out in all, so energy is the
    albedo's affair alone. What would lie beyond the widest blur is counted with that.
    """
    return _weights(amounts.as_array()[None])[0]


def region_spread_weights(amounts: SkinAmounts, regions: bool = True) -> np.ndarray:
    """Weights (15, W, 81), a row for each of REGIONS; in eyes and clothes all light stays where it is.

    Without `regions` all skin has the plain amounts. A skin that was given by its reflectance has the amounts that
    come nearest to it: how far its light travels is the model's, not measured.
    """
    result = np.zeros((len(REGIONS), len(widths()), len(WAVELENGTHS)))
    result[:, 0] = 1.0
    rows = [row for row, name in enumerate(REGIONS) if name in CHANGES]
    kinds = [region_amounts(amounts, REGIONS[row]) if regions else amounts for row in rows]
    result[rows] = _weights(np.stack([kind.as_array() for kind in kinds]))
    return result


def local_share(amounts: SkinAmounts) -> np.ndarray:
    """Share (81,) of the light returned by a skin's body that never was in the dermis."""
    return 1 - _deep(amounts.as_array())[0]


def mean_square_radius(amounts: SkinAmounts) -> np.ndarray:
    """⟨r²⟩ (81,), mm², between where light goes in and where it comes out, of all that the body returns."""
    return (1 - local_share(amounts)) * _deep(amounts.as_array())[1]


def burley_length(amounts: SkinAmounts) -> np.ndarray:
    """The length d (81,), mm, of the profile of light from the dermis."""
    return np.sqrt(_deep(amounts.as_array())[1] / 14)


def _deep(amounts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Share of the returned light that was in the dermis, and its ⟨r²⟩ in mm², each (..., 81), of amounts (..., 7)."""
    of = constants()
    more, less = (albedos(amounts, replace(of, base=of.base + step)) for step in (_STEP, -_STEP))
    whole, shallow = (more + less) / 2, shallow_albedos(amounts, of)
    scattering = amounts[..., [AMOUNTS.index("scattering")]] * scattering_shape(of)
    lost = dermis_absorption(amounts, of) + scattering
    deep = np.maximum(whole - shallow, 1e-12)
    return deep / whole, np.maximum(less - more, 0.0) / (2 * _STEP) / deep * 4 / (3 * lost)


def _weights(amounts: np.ndarray) -> np.ndarray:
    """Weights (n, W, 81) of amounts (n, 7)."""
    share, mean_square = _deep(amounts)
    weights = np.moveaxis(profile_weights(np.sqrt(mean_square / 14), widths()), -1, 1) * share[:, None]
    weights[:, 0] += 1 - share
    return weights


def profile_weights(d: np.ndarray, lengths: np.ndarray) -> np.ndarray:
    """Weights (..., W) of blurs of `lengths` (W,), ascending from zero, that make the profile of length `d` (...).

    It is a quarter of e^(−r/d) / (2π d r) and three quarters of the same with 3d.
    """
    d = np.asarray(d, dtype=float)
    return 0.25 * _exponential(d, lengths) + 0.75 * _exponential(3 * d, lengths)


def _exponential(a: np.ndarray, lengths: np.ndarray) -> np.ndarray:
    """Weights (..., W) that make e^(−r/a) / (2π a r).

    Its transform is 1/√(1 + k²a²) = (1/π) ∫₀¹ dt / (√(t(1−t)) (1 + k²a²t)): blurs of L² = a² t, as frequent as the
    arcsine law has t. Each is shared by the two widths about it, linearly in L², which keeps ⟨r²⟩ = 2a².
    """
    reach = np.maximum(a, 1e-9)[..., None] ** 2
    nodes = lengths**2
    t = np.clip(nodes / reach, 0.0, 1.0)
    angle = np.arcsin(np.sqrt(t))
    below = 2 * angle / np.pi
    moment = reach * (angle - np.sqrt(t * (1 - t))) / np.pi
    held, moved = np.diff(below, axis=-1), np.diff(moment, axis=-1)
    upward = (moved - nodes[:-1] * held) / np.diff(nodes)
    weights = np.zeros(t.shape)
    weights[..., 1:] += upward
    weights[..., :-1] += held - upward
    weights[..., -1] += 1 - below[..., -1]
    return np.clip(weights, 0.0, 1.0)
