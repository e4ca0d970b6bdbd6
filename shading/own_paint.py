"""A paint from measurements of one's own tube: the pure paint and tints of it with white, turned into K and S."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.mixing import Lab_under, viewing_light
from sitterlight.shading.paint_optics import (
    K_over_S,
    beneath_surface,
    opaque_reflectance,
    seen_through_surface,
)
from sitterlight.shading.paints import Paint, PaintError

Array = NDArray[np.floating]

_LEAST, _MOST = 5e-4, 0.995
_TYPICAL_SCATTERING = 0.1
_CHECKED_SHARES = np.array([1.0, 0.5, 0.2, 0.05])[:, None]


@dataclass(frozen=True, eq=False)
class Sample:
    """One opaque swatch: `paint` and `white` in parts by volume, its reflectance (81,) with gloss excluded.

    error: how far the reflectance may be wrong: 0.003 for a spectrum, more where it is guessed from a colour.
    """

    paint: float
    white: float
    reflectance: Array = field(repr=False)
    error: float = 0.003


@dataclass(frozen=True, eq=False)
class OwnPaint:
    """The paint found, how badly its K and S give back the samples, and how sure its mixes are.

    misfit: largest ΔE00, under D65, between a sample and what K and S make of it. uncertainty: ΔE00 by which
    masstone or tints move when the samples are wrong by their error. confidence: "sure", "fair" or "a rough guess".
    """

    paint: Paint
    misfit: float
    uncertainty: float
    confidence: str
    why: str


def paint_from_samples(
    samples: list[Sample], white: Paint, name: str, id: str | None = None, caution: str = ""
) -> OwnPaint:
    """K and S of a paint from swatches of it, alone and with a white whose K and S are known.

    At each wavelength the mixing rule cK + (1 − c)K_w = q (cS + (1 − c)S_w), with q = K/S of the swatch and c the
    share of paint, is linear in K and S: solved by least squares without negative amounts over the swatches, each
    weighted by what its reflectance can tell. With the masstone alone S is not known; it is taken as a tenth of
    titanium white's. Raises PaintError without any swatch, or with tints of the same strength only.
    """
    shares = {round(_share(s), 6) for s in samples}
    if not samples:
        raise PaintError(f'"{name}" has no sample; give at least the pure paint and a tint with white.')
    if len(shares) == 1 and shares != {1.0}:
        raise PaintError(f'"{name}" has one tint only; add the pure paint or a tint of another strength.')
    K, S = _invert(samples, white)
    misfit = _misfit(samples, white, K, S)
    uncertainty = _uncertainty(samples, white, K, S)
    confidence, why = _judge(samples, misfit, uncertainty, guessed=shares == {1.0})
    for values in (K, S):
        values.setflags(write=False)
    origin = f"own measurements ({len(samples)} swatch{'es' if len(samples) > 1 else ''}, {confidence})"
    return OwnPaint(Paint(id or name, name, K, S, "own", (), origin, caution), misfit, uncertainty, confidence, why)


def _share(sample: Sample) -> float:
    return sample.paint / (sample.paint + sample.white)


def _internal(reflectance: Array) -> Array:
    return np.clip(beneath_surface(reflectance), _LEAST, _MOST)


def _invert(samples: list[Sample], white: Paint) -> tuple[Array, Array]:
    """K and S (81,)."""
    c = np.array([_share(s) for s in samples])[:, None]
    internal = _internal(np.stack([s.reflectance for s in samples]))
    q = K_over_S(internal)
    if len(samples) == 1:
        S = np.full(q.shape[1], _TYPICAL_SCATTERING)
        return q[0] * S, S
    error = np.array([s.error for s in samples])[:, None]
    telling = (2.0 * internal**2 / (1.0 - internal**2)) / error
    right = (1.0 - c) * (q * white.S - white.K)
    scattering = c * _TYPICAL_SCATTERING + (1.0 - c) * white.S
    for _ in range(3):
        weight = telling / scattering
        K, S = least_of_two(c * weight, -c * q * weight, right * weight)
        scattering = np.maximum(c * S + (1.0 - c) * white.S, 1e-4)
    return K, S


def least_of_two(first: Array, second: Array, right: Array) -> tuple[Array, Array]:
    """x and y (n,), none below 0, for which x·first + y·second is nearest to `right` in every column; all (m, n).

    Where the best of all x and y is not allowed, the best that is has one of them at 0.
    """
    lengths = [np.maximum(np.linalg.norm(one, axis=0), 1e-300) for one in (first, second)]
    first, second = first / lengths[0], second / lengths[1]
    alike = np.sum(first * second, axis=0)
    across = second - alike * first
    apart = np.sum(across**2, axis=0)
    y = np.sum(across * right, axis=0) / np.maximum(apart, 1e-300)
    alone = [np.maximum(np.sum(one * right, axis=0), 0.0) for one in (first, second)]
    x = np.sum(first * right, axis=0) - alike * y
    both = (x >= 0) & (y >= 0) & (apart > 1e-24)
    one = alone[0] >= alone[1]
    x = np.where(both, x, np.where(one, alone[0], 0.0))
    y = np.where(both, y, np.where(one, 0.0, alone[1]))
    return x / lengths[0], y / lengths[1]


def _seen(c: Array, white: Paint, K: Array, S: Array) -> Array:
    """Reflectance (shares, 81) of tints with these shares (shares, 1) of paint."""
    return seen_through_surface(opaque_reflectance(c * K + (1 - c) * white.K, c * S + (1 - c) * white.S))


def _misfit(samples: list[Sample], white: Paint, K: Array, S: Array) -> float:
    c = np.array([_share(s) for s in samples])[:, None]
    given = np.stack([s.reflectance for s in samples])
    light = viewing_light("D65")
    return float(delta_E00(Lab_under(_seen(c, white, K, S), light), Lab_under(given, light)).max())


def _uncertainty(samples: list[Sample], white: Paint, K: Array, S: Array) -> float:
    light = viewing_light("D65")
    own = Lab_under(_seen(_CHECKED_SHARES, white, K, S), light)
    worst = 0.0
    for wrong in range(len(samples)):
        for sign in (-1.0, 1.0):
            moved = list(samples)
            s = samples[wrong]
            shifted = np.clip(s.reflectance + sign * s.error, 0.001, 0.99)
            moved[wrong] = Sample(s.paint, s.white, shifted, s.error)
            other = Lab_under(_seen(_CHECKED_SHARES, white, *_invert(moved, white)), light)
            worst = max(worst, float(delta_E00(own, other).max()))
    return worst


def _judge(samples: list[Sample], misfit: float, uncertainty: float, guessed: bool) -> tuple[str, str]:
    if guessed:
        return "a rough guess", "The pure paint alone does not tell how strongly it tints; add a tint with white."
    if misfit > 4.0:
        return "a rough guess", f"The swatches disagree by ΔE {misfit:.1f}; check their parts of white."
    told = f"Masstone and tints are known to within ΔE {uncertainty:.1f}; the swatches agree to within {misfit:.1f}."
    by_colour = any(s.error > 0.003 for s in samples)
    if by_colour:
        told += " Spectra were guessed from colours, so mixes may turn in another light."
    if uncertainty < 3.0 and misfit < 1.0 and not by_colour:
        return "sure", told
    return ("fair" if uncertainty < 12.0 else "a rough guess"), told
