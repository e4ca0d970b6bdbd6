"""The skin's layers in compiled loops: the formulas of `skin`, band by band, for all regions of a head at once."""

from __future__ import annotations

from functools import cache, lru_cache

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading import skin
from sitterlight.shading.compiled import kernel
from sitterlight.shading.skin import AMOUNTS, UPPER_DERMIS, constants, internal_reflectance

_STEP = 1e-5  # mm⁻¹ of absorption, for the derivative


def albedos(amounts: np.ndarray) -> np.ndarray:
    """Spectral albedos (n, 81), read-only, of amounts (n, 7), as skin.albedos gives them."""
    return _bodies(np.asarray(amounts, float).tobytes())[0]


def in_the_dermis(amounts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Of the light that comes back: the share that was in the dermis, and ⟨r²⟩ of that in mm², as `under_skin` says;
    each (n, 81), read-only, of amounts (n, 7)."""
    return _bodies(np.asarray(amounts, float).tobytes())[1:]


@lru_cache(maxsize=4)
def _bodies(packed: bytes) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What is asked of the same amounts again and again, worked out together: the epidermis is in all of it."""
    amounts = np.frombuffer(packed).reshape(-1, len(AMOUNTS))
    results = np.empty((3, len(amounts), len(WAVELENGTHS)))
    _reflect(0, len(amounts), amounts, *_shapes(), *results)
    results.setflags(write=False)
    return tuple(results)


@cache
def _shapes() -> tuple[np.ndarray, float]:
    """By wavelength, (6, 81): absorption of melanin, scattering, absorption of blood with oxygen and without, of
    carotene and of the rest; and the share of light from inside that the surface turns back."""
    of = constants()
    pigments, rest = skin.pigments(of.bandwidth, of.carotene_shift), np.full(len(WAVELENGTHS), of.base)
    return np.stack([skin.melanin_shape(of), skin.scattering_shape(of), *pigments, rest]), internal_reflectance()


_MELANIN, _BLOOD, _OXYGENATION, _CAROTENE, _SCATTERING, _VEIL, _DEEP = (
    AMOUNTS.index(name)
    for name in ("melanin", "blood", "oxygenation", "carotene", "scattering", "veil", "deep_melanin")
)
_absorbed, _thick, _layer, _over, _from_outside = map(
    kernel, (skin.absorbed, skin.thick, skin.layer, skin.over, skin.from_outside)
)


@kernel
def _reflect(first, last, amounts, by_band, turned_back, albedo, share, mean_square):
    for row in range(first, last):
        roots = amounts[row, _DEEP]
        for band in range(by_band.shape[1]):
            epidermis, absorbed, scattered = _layers(amounts[row], by_band[:, band])
            less = _body(epidermis, absorbed - _STEP, scattered, roots, turned_back)
            exactly = _body(epidermis, absorbed, scattered, roots, turned_back)
            more = _body(epidermis, absorbed + _STEP, scattered, roots, turned_back)
            deep = max(exactly - _from_outside(epidermis[0], turned_back), 1e-12)
            albedo[row, band], share[row, band] = exactly, deep / exactly
            slope = max(less - more, 0.0) / (2 * _STEP)
            mean_square[row, band] = slope / deep * 4 / (3 * (absorbed + scattered))


@kernel
def _layers(of, band):
    """Reflectance and transmittance of the epidermis; absorption and scattering of the dermis, mm⁻¹."""
    dark, scattering = band[0], band[1]
    epidermis = _layer(2 * of[_MELANIN] * dark, 0.75 * of[_VEIL] * scattering, 1.0)
    absorbed = _absorbed(of[_BLOOD], of[_OXYGENATION], of[_CAROTENE], band[2], band[3], band[4], band[5])
    return epidermis, absorbed, of[_SCATTERING] * scattering


@kernel
def _body(epidermis, absorbed, scattered, roots, turned_back):
    return _from_outside(_over(_dermis(absorbed, scattered, roots), epidermis), turned_back)


@kernel
def _dermis(absorbed, scattered, roots):
    """Reflectance of the dermis, over hair roots where there are any."""
    K, S = 2 * absorbed, 0.75 * scattered
    if roots > 0:
        return _over(_thick(K + 2 * roots, S), _layer(K, S, UPPER_DERMIS))
    return _thick(K, S)
