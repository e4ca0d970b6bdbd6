"""CAM16-UCS: how colours stand to each other for an eye used to a given white.

CIECAM16 (CIE 248:2022; Li et al. 2017, Color Research and Application 42, 703) with an average surround
(F = 1, c = 0.69, N_c = 1), and the uniform space J′a′b′ made from its lightness, colourfulness and hue.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sitterlight.shading.cat16 import CONES_FROM_XYZ

Array = NDArray[np.floating]

_C = 0.69
_NC = 1.0


@dataclass(frozen=True)
class ViewingConditions:
    """What the eye is used to.

    white: XYZ of the adopted white, any unit; colours are given in the same unit.
    adapting_luminance: cd/m², by custom 20 % of the luminance of white.
    background: luminance of the background as a share of white.
    degree: degree of adaptation, 0 to 1.
    """

    white: tuple[float, float, float]
    adapting_luminance: float
    background: float = 0.2
    degree: float = 1.0

    @cached_property
    def matrix(self) -> Array:
        """XYZ in the unit of `white` to adapted cones on the scale where white is 100, (3, 3)."""
        white = np.asarray(self.white, float) * (100.0 / self.white[1])
        gain = self.degree * 100.0 / (CONES_FROM_XYZ @ white) + 1.0 - self.degree
        return gain[:, None] * CONES_FROM_XYZ * (100.0 / self.white[1])

    @cached_property
    def level(self) -> float:
        """F_L, the luminance-level adaptation factor."""
        la = max(float(self.adapting_luminance), 1e-6)
        k4 = (1.0 / (5.0 * la + 1.0)) ** 4
        return 0.2 * k4 * 5.0 * la + 0.1 * (1.0 - k4) ** 2 * np.cbrt(5.0 * la)

    @cached_property
    def induction(self) -> float:
        """N_bb = N_cb, the brightness and chromatic induction of the background."""
        return 0.725 * (1.0 / self.background) ** 0.2

    @cached_property
    def exponent(self) -> float:
        """c z, the exponent of lightness."""
        return _C * (1.48 + np.sqrt(self.background))

    @cached_property
    def white_response(self) -> float:
        """A_w, the achromatic response to white."""
        return float(self._achromatic(self._compressed(np.asarray(self.white, float))))

    def _compressed(self, XYZ: Array) -> Array:
        """Post-adaptation cone responses (..., 3), without the 0.1 that cancels in every use below."""
        cones = XYZ @ self.matrix.T
        power = (self.level / 100.0 * np.abs(cones)) ** 0.42
        return np.sign(cones) * 400.0 * power / (power + 27.13)

    def _achromatic(self, response: Array) -> Array:
        return (response @ np.array([2.0, 1.0, 0.05])) * self.induction

    def ucs(self, XYZ: ArrayLike) -> Array:
        """J′, a′, b′ (..., 3) of XYZ (..., 3); black where the luminance response is not positive."""
        response = self._compressed(np.asarray(XYZ, float))
        a = response @ np.array([1.0, -12.0 / 11.0, 1.0 / 11.0])
        b = response @ np.array([1.0, 1.0, -2.0]) / 9.0
        size = np.hypot(a, b)
        lightness = (np.maximum(self._achromatic(response), 0.0) / self.white_response) ** self.exponent
        safe = np.where(size > 0.0, size, 1.0)
        cos_h, sin_h = a / safe, b / safe
        eccentricity = 0.25 * (cos_h * np.cos(2.0) - sin_h * np.sin(2.0) + 3.8)
        # The 0.1 left out of each response comes to 0.305 here.
        total = response @ np.array([1.0, 1.0, 1.05]) + 0.305
        t = 50000.0 / 13.0 * _NC * self.induction * eccentricity * size / np.maximum(total, 1e-9)
        chroma = t**0.9 * np.sqrt(lightness) * (1.64 - 0.29**self.background) ** 0.73
        colourfulness = np.log1p(0.0228 * chroma * self.level**0.25) / 0.0228
        lightness = 170.0 * lightness / (1.0 + 0.7 * lightness)
        return np.stack([lightness, colourfulness * cos_h, colourfulness * sin_h], axis=-1)
