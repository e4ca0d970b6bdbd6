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

from functools import lru_cache

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.compiled import kernel
from sitterlight.shading.diffusion_bank import widths
from sitterlight.shading.skin import SkinAmounts
from sitterlight.shading.skin_bands import in_the_dermis
from sitterlight.shading.skin_regions import CHANGES, amounts_by_region


def spread_weights(amounts: SkinAmounts) -> np.ndarray:
    """Weights (W, 81) of the bank's widths, none negative, adding up to one at each wavelength.

    Σ over widths of weight · blur is the light that comes out per light that comes out in all, so energy is the
    albedo's affair alone. What would lie beyond the widest blur is counted with that.
    """
    return _weights(amounts.as_array()[None])[0]


@lru_cache(maxsize=1)
def region_spread_weights(amounts: SkinAmounts, regions: bool = True) -> np.ndarray:
    """Weights (15, W, 81), read-only, a row for each of REGIONS; in eyes and clothes all light stays where it is.

    Without `regions` all skin has the plain amounts. A skin that was given by its reflectance has the amounts that
    come nearest to it: how far its light travels is the model's, not measured.
    """
    result = np.zeros((len(REGIONS), len(widths()), len(WAVELENGTHS)))
    result[:, 0] = 1.0
    result[_SKIN] = _weights(amounts_by_region(amounts) if regions else amounts.as_array()[None])
    result.setflags(write=False)
    return result


_SKIN = [REGIONS.index(name) for name in CHANGES]


def local_share(amounts: SkinAmounts) -> np.ndarray:
    """Share (81,) of the light returned by a skin's body that never was in the dermis."""
    return 1 - _deep(amounts)[0]


def mean_square_radius(amounts: SkinAmounts) -> np.ndarray:
    """⟨r²⟩ (81,), mm², between where light goes in and where it comes out, of all that the body returns."""
    return (1 - local_share(amounts)) * _deep(amounts)[1]


def burley_length(amounts: SkinAmounts) -> np.ndarray:
    """The length d (81,), mm, of the profile of light from the dermis."""
    return np.sqrt(_deep(amounts)[1] / 14)


def _deep(amounts: SkinAmounts) -> tuple[np.ndarray, np.ndarray]:
    """Share of the returned light that was in the dermis, and its ⟨r²⟩ in mm², each (81,)."""
    share, mean_square = in_the_dermis(amounts.as_array()[None])
    return share[0], mean_square[0]


def _weights(amounts: np.ndarray) -> np.ndarray:
    """Weights (n, W, 81) of amounts (n, 7)."""
    share, mean_square = in_the_dermis(amounts)
    weights = np.empty((len(share), len(widths()), share.shape[1]))
    _weigh(0, len(share), share, mean_square, widths() ** 2, weights)
    return weights


def profile_weights(d: np.ndarray, lengths: np.ndarray) -> np.ndarray:
    """Weights (..., W) of blurs of `lengths` (W,), ascending from zero, that make the profile of length `d` (...).

    It is a quarter of e^(−r/d) / (2π d r) and three quarters of the same with 3d. Each, e^(−r/a) / (2π a r), has the
    transform 1/√(1 + k²a²) = (1/π) ∫₀¹ dt / (√(t(1−t)) (1 + k²a²t)): blurs of L² = a² t, as frequent as the
    arcsine law has t. Each of these is shared by the two widths about it, linearly in L², which keeps ⟨r²⟩ = 2a².
    """
    d = np.asarray(d, dtype=float)
    weights = np.empty((d.size, len(lengths)))
    for each, own in zip(d.ravel(), weights, strict=True):
        _share_out(each**2, np.asarray(lengths, dtype=float) ** 2, own)
    return weights.reshape(*d.shape, len(lengths))


@kernel
def _weigh(first, last, share, mean_square, nodes, weights):
    """Weights (n, W, 81) where a `share (n, 81)` of the light that comes out was in the dermis."""
    for row in range(first, last):
        for band in range(share.shape[1]):
            own, deep = weights[row, :, band], share[row, band]
            _share_out(mean_square[row, band] / 14, nodes, own)
            for n in range(len(own)):
                own[n] *= deep
            own[0] += 1 - deep


@kernel
def _share_out(square, nodes, weights):
    """Weights (W,) of blurs of L² = `nodes (W,)` that make the profile whose d² is `square`."""
    weights[:] = 0.0
    for part, times in ((0.25, 1.0), (0.75, 9.0)):
        reach = max(times * square, 1e-18)
        below, moment = 0.0, 0.0
        for n in range(1, len(nodes)):
            held, moved = 1.0 - below, reach / 2 - moment  # all that is left
            if nodes[n] < reach:
                t = nodes[n] / reach
                angle = np.arcsin(np.sqrt(t))
                held, moved = 2 * angle / np.pi - below, reach * (angle - np.sqrt(t * (1 - t))) / np.pi - moment
            upward = (moved - nodes[n - 1] * held) / (nodes[n] - nodes[n - 1])
            upward = min(max(upward, 0.0), held)  # what rounding leaves beyond
            weights[n] += part * upward
            weights[n - 1] += part * (held - upward)
            below, moment = below + held, moment + moved
            if nodes[n] >= reach:
                break
        weights[len(nodes) - 1] += part * (1 - below)
