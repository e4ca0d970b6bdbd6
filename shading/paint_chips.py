"""How a tube looks on a chip: the paint as it is, a thin film of it over white, and a tint of it with white."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading.colour_spaces import D65_WHITE, XYZ_from_Lab, hex_from_XYZ
from sitterlight.shading.mixing import Lab_under, ViewingLight, glaze_reflectance, mix_Lab
from sitterlight.shading.paints import Paint, paint

PRIMING = 0.85
"""Reflectance of the white priming under a film."""

TINT_WHITE = 4.0
"""Parts of titanium white to one of the paint in the tint beside it; ten times as many for a strong tinter."""


@lru_cache(maxsize=512)
def paint_Lab(one: Paint, white: float, light: ViewingLight) -> tuple[float, float, float]:
    """Lab, in D65 notation, of a paint with `white` parts of titanium white, seen under a light."""
    parts = np.array([1.0, white * (10.0 if one.is_strong else 1.0)])
    return tuple(float(v) for v in mix_Lab(parts, (one, paint("PW6")), light))


@lru_cache(maxsize=512)
def undertone_Lab(one: Paint, light: ViewingLight) -> tuple[float, float, float]:
    """Lab of a film over white priming, so thin that it is half-way in L* between the priming and the paint itself.

    A paint as light as the priming has no undertone to show: then it is the paint itself.
    """
    from scipy.optimize import brentq  # here, being slow to load

    priming = np.full(WAVELENGTHS.shape, PRIMING)
    ends = Lab_under(priming, light)[0], paint_Lab(one, 0.0, light)[0]
    if ends[0] - ends[1] < 2.0:
        return paint_Lab(one, 0.0, light)

    def beyond(logarithm: float) -> float:
        return Lab_under(glaze_reflectance([1.0], (one,), 10.0**logarithm, priming), light)[0] - sum(ends) / 2

    thickness = 10.0 ** brentq(beyond, -6.0, 4.0, xtol=1e-4)
    return tuple(float(v) for v in Lab_under(glaze_reflectance([1.0], (one,), thickness, priming), light))


def chip_codes(one: Paint, light: ViewingLight) -> tuple[str, str]:
    """sRGB codes of the paint as it is and of its tint."""
    return code_of(paint_Lab(one, 0.0, light)), code_of(paint_Lab(one, TINT_WHITE, light))


def code_of(Lab: tuple[float, float, float] | NDArray[np.floating]) -> str:
    """The sRGB code of a Lab for D65, brought onto the screen."""
    return hex_from_XYZ(XYZ_from_Lab(np.asarray(Lab, float), D65_WHITE))
