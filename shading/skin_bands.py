"""The skin's layers in compiled loops: the formulas of `skin`, band by band, for all regions of a head at once."""

from __future__ import annotations

import numpy as np

from sitterlight.shading import skin
from sitterlight.shading.compiled import kernel
from sitterlight.shading.skin import AMOUNTS, UPPER_DERMIS, constants, dermis_absorption, internal_reflectance

_STEP = 1e-5  # mm⁻¹ of absorption, for the derivative


def albedos(amounts: np.ndarray) -> np.ndarray:
    """Spectral albedos (n, 81) of amounts (n, 7), as skin.albedos gives them."""
    of = constants()
    absorption = dermis_absorption(amounts, of)
    result = np.empty_like(absorption)
    _reflect(0, len(result), amounts, absorption, *_shapes(of), result)
    return result


def in_the_dermis(amounts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Of the light that comes back: the share that was in the dermis, and ⟨r²⟩ of that in mm², as `under_skin` says;
    each (n, 81), of amounts (n, 7)."""
    of = constants()
    absorption = dermis_absorption(amounts, of)
    share, mean_square = np.empty((2, *absorption.shape))
    _go_deep(0, len(share), amounts, absorption, *_shapes(of), share, mean_square)
    return share, mean_square


def _shapes(of: skin.SkinConstants) -> tuple[np.ndarray, np.ndarray, float]:
    return skin.melanin_shape(of), skin.scattering_shape(of), internal_reflectance()


_MELANIN, _SCATTERING, _VEIL, _DEEP = map(AMOUNTS.index, ("melanin", "scattering", "veil", "deep_melanin"))
_thick, _layer, _over, _from_outside = map(kernel, (skin.thick, skin.layer, skin.over, skin.from_outside))


@kernel
def _reflect(first, last, amounts, absorption, dark, shape, turned_back, result):
    for row in range(first, last):
        for band in range(len(shape)):
            epidermis = _layer(2 * amounts[row, _MELANIN] * dark[band], 0.75 * amounts[row, _VEIL] * shape[band], 1.0)
            dermis = _dermis(absorption[row, band], amounts[row, _SCATTERING] * shape[band], amounts[row, _DEEP])
            result[row, band] = _from_outside(_over(dermis, epidermis), turned_back)


@kernel
def _go_deep(first, last, amounts, absorption, dark, shape, turned_back, share, mean_square):
    for row in range(first, last):
        for band in range(len(shape)):
            epidermis = _layer(2 * amounts[row, _MELANIN] * dark[band], 0.75 * amounts[row, _VEIL] * shape[band], 1.0)
            absorbed, scattered, roots = (
                absorption[row, band],
                amounts[row, _SCATTERING] * shape[band],
                amounts[row, _DEEP],
            )
            less = _from_outside(_over(_dermis(absorbed - _STEP, scattered, roots), epidermis), turned_back)
            more = _from_outside(_over(_dermis(absorbed + _STEP, scattered, roots), epidermis), turned_back)
            whole = (less + more) / 2
            deep = max(whole - _from_outside(epidermis[0], turned_back), 1e-12)
            share[row, band] = deep / whole
            slope = max(less - more, 0.0) / (2 * _STEP)
            mean_square[row, band] = slope / deep * 4 / (3 * (absorbed + scattered))


@kernel
def _dermis(absorbed, scattered, roots):
    """Reflectance of the dermis, over hair roots where there are any."""
    K, S = 2 * absorbed, 0.75 * scattered
    if roots > 0:
        return _over(_thick(K + 2 * roots, S), _layer(K, S, UPPER_DERMIS))
    return _thick(K, S)
