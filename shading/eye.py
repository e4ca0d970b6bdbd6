"""The eye: from scene XYZ in cd/m² to the seen colour that paint or screen has to give.

    scene XYZ ─► CAT16 from the white card to the reference white ─► key ─► XYZ relative to that white

The key is one factor on luminance (or a power of it, where a scene is pressed into the range of paint) and
keeps chromaticity. Up to white nothing bends. Above white, which paint and screen cannot follow, luminance
rolls off: Y = 1 + 0.25 (1 − exp(−(Y − 1) / 0.25)), smooth at white and never above 1.25. What lies there is
marked by `above_white`; it has no Munsell notation and shows on screen as white.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sitterlight.illuminants import catalogue
from sitterlight.illuminants.observer import tristimulus
from sitterlight.shading import colour_spaces
from sitterlight.shading.cat16 import adaptation_matrix, degree_of_adaptation

Array = NDArray[np.floating]
White = tuple[float, float, float]

ROOM_ABOVE_WHITE = 0.25


@dataclass(frozen=True)
class Key:
    """How luminance relative to the white card, Y, becomes the luminance of paint: factor · Y ** exponent.

    parting: the key under which planes are parted into strokes, where that is another (see keying).
    """

    factor: float = 1.0
    exponent: float = 1.0
    parting: Key | None = None

    def laid(self, Y: ArrayLike) -> Array:
        """Luminance before the roll-off, 1 being white paint; same shape as Y."""
        Y = np.maximum(colour_spaces.floats(Y), 0.0)
        return self.factor * (Y if self.exponent == 1.0 else Y**self.exponent)


AS_LIT = Key()


def rolled_off(Y: ArrayLike) -> Array:
    """Luminance with what lies above white pressed into 1 to 1.25; unchanged up to white."""
    Y = colour_spaces.floats(Y)
    over = np.maximum(Y - 1.0, 0.0)
    return np.minimum(Y, 1.0) - ROOM_ABOVE_WHITE * np.expm1(-over / ROOM_ABOVE_WHITE)


def adaptation_degree(setting: float | str, card_luminance: float) -> float:
    """Degree of adaptation 0 to 1 of the sitting's setting; "auto" is CIECAM16's D for the card's luminance.

    card_luminance: cd/m². The adapting luminance is taken as 20 % of it, the surround as average.
    """
    return degree_of_adaptation(0.2 * card_luminance) if setting == "auto" else float(setting)


@lru_cache(maxsize=64)
def light_spectrum(light: str, folder: Path | None = None) -> catalogue.NamedSpectrum:
    """A light by name to judge colour under; "N K" is daylight from 4000 K, Planckian below."""
    kelvin = re.fullmatch(r"\s*([\d.]+)\s*[Kk]\s*", light)
    role = "sky" if kelvin and float(kelvin[1]) >= 4000.0 else "lamp"
    return catalogue.spectrum(light, folder, role)


@lru_cache(maxsize=64)
def reference_white(light: str = "D65", observer: int = 2, folder: Path | None = None) -> White:
    """XYZ with Y = 1 of the white of a light, by name, for the 2° or 10° observer."""
    if light == "D65" and observer == 2:
        return tuple(map(float, colour_spaces.D65_WHITE))
    XYZ = tristimulus(light_spectrum(light, folder).power, observer)
    return tuple(map(float, XYZ / XYZ[1]))


@dataclass(frozen=True)
class Eye:
    """An eye that looks at a scene and lays it onto a reference white.

    card_XYZ: the white card, cd/m². adaptation: degree 0 to 1. white: XYZ of the reference white, Y = 1.
    observer: 2 or 10, that of card_XYZ and of every XYZ it is shown.
    """

    card_XYZ: White
    adaptation: float = 1.0
    key: Key = field(default=AS_LIT)
    white: White = field(default_factory=reference_white)
    observer: int = 2

    @cached_property
    def matrix(self) -> Array:
        """(3, 3), scene XYZ in cd/m² to adapted XYZ where the card has Y = 1; used as XYZ @ matrix.T."""
        return adaptation_matrix(self.card_XYZ, self.white, self.adaptation) / self.card_XYZ[1]

    @cached_property
    def to_screen(self) -> Array:
        """(3, 3), from seen XYZ to XYZ relative to the screen's white: full CAT16 where the reference is another."""
        if self.white == reference_white():
            return np.eye(3)
        return adaptation_matrix(self.white, colour_spaces.D65_WHITE)

    @cached_property
    def linear_matrix(self) -> Array:
        """(3, 3), scene XYZ in cd/m² to adapted light in sRGB's red, green and blue, before the key; as `matrix`."""
        return colour_spaces.SRGB_FROM_XYZ @ self.to_screen @ self.matrix

    @cached_property
    def luminances(self) -> Array:
        """(2, 3), what sRGB's red, green and blue count for in the eye's luminance and in the screen's."""
        to_screen = colour_spaces.SRGB_FROM_XYZ @ self.to_screen
        return np.stack([np.linalg.inv(to_screen)[1], colour_spaces.XYZ_FROM_SRGB[1]])

    def adapted(self, XYZ: ArrayLike) -> Array:
        """XYZ (..., 3) relative to the white card, adapted but before the key."""
        XYZ = colour_spaces.floats(XYZ)
        return XYZ @ self.matrix.T.astype(XYZ.dtype)

    def keyed(self, adapted: ArrayLike) -> Array:
        """Seen XYZ (..., 3) from adapted XYZ: key and roll-off, chromaticity kept."""
        adapted = colour_spaces.floats(adapted)
        Y = np.maximum(adapted[..., 1:2], 1e-12)
        return adapted * (rolled_off(self.key.laid(Y)) / Y).astype(adapted.dtype, copy=False)

    def see(self, XYZ: ArrayLike) -> Array:
        """Seen XYZ (..., 3) relative to the reference white, from scene XYZ (..., 3) in cd/m²."""
        if self.key.exponent == 1.0 and self.key.factor == 1.0:
            adapted = self.adapted(XYZ)
            return self.keyed(adapted) if np.any(adapted[..., 1] > 1.0) else adapted
        return self.keyed(self.adapted(XYZ))

    def above_white(self, XYZ: ArrayLike) -> NDArray[np.bool_]:
        """Where scene XYZ (..., 3), cd/m², comes out brighter than white paint (...,)."""
        return self.key.laid(self.adapted(XYZ)[..., 1]) > 1.0 + 1e-6

    def Lab(self, XYZ: ArrayLike) -> Array:
        """L*a*b* (..., 3) of the seen colour against the reference white, from scene XYZ in cd/m²."""
        return colour_spaces.Lab_from_XYZ(self.see(XYZ), self.white)

    def screen_XYZ(self, XYZ: ArrayLike) -> Array:
        """Seen XYZ (..., 3) relative to the screen's white."""
        seen = self.see(XYZ)
        if self.white == reference_white():
            return seen
        return seen @ self.to_screen.T.astype(seen.dtype)

    def sRGB(self, XYZ: ArrayLike) -> Array:
        """Encoded sRGB 0 to 1 (..., 3), inside the gamut, from scene XYZ in cd/m²."""
        return colour_spaces.sRGB_from_XYZ(self.screen_XYZ(XYZ))

    def sRGB_bytes(self, XYZ: ArrayLike) -> NDArray[np.uint8]:
        """sRGB as bytes (..., 3) from scene XYZ in cd/m²."""
        return colour_spaces.sRGB_bytes(self.screen_XYZ(XYZ))

    def in_sRGB(self, XYZ: ArrayLike) -> NDArray[np.bool_]:
        """Whether the screen can show the seen colour (...,), from scene XYZ in cd/m²."""
        return colour_spaces.in_sRGB(self.screen_XYZ(XYZ))

    def with_key(self, key: Key) -> Eye:
        """The same eye with another key."""
        return replace(self, key=key)

    def with_white(self, white: White) -> Eye:
        """The same eye laid onto another reference white, XYZ with Y = 1."""
        return replace(self, white=tuple(map(float, white)))
