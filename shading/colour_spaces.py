"""Colour notations of one seen colour: XYZ, Lab, LCh, linear and encoded sRGB, hex, and ΔE00.

XYZ is relative to the white that is named with it: Y = 1 is white. Arrays are (..., 3) and any shape before
the last axis; float32 stays float32.
"""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sitterlight.shading.sitting_rules import shown

Array = NDArray[np.floating]


def white_from_xy(x: float, y: float) -> Array:
    """XYZ (3,) with Y = 1 of a white of chromaticity x, y."""
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


# CIE 15:2018 table T.3, CIE 1931 2° observer; D65 as IEC 61966-2-1 rounds it, so that it encodes to #ffffff.
D65_WHITE = white_from_xy(0.3127, 0.3290)
D50_WHITE = white_from_xy(0.34567, 0.35850)
C_WHITE = white_from_xy(0.31006, 0.31616)
E_WHITE = np.ones(3)

# CIE 15:2018 eq. 8.6 to 8.8
_LINEAR_BELOW = (6.0 / 29.0) ** 3
_LINEAR_SLOPE = (29.0 / 6.0) ** 2 / 3.0


def floats(values: ArrayLike) -> Array:
    """The values as an array of float32 or float64, float32 kept as it is."""
    array = np.asarray(values)
    return array if array.dtype in (np.float32, np.float64) else array.astype(float)


def Lab_from_XYZ(XYZ: ArrayLike, white: ArrayLike = D65_WHITE) -> Array:
    """CIE 1976 L*a*b* (..., 3) of XYZ (..., 3), both XYZ and white with Y = 1 for white."""
    XYZ = floats(XYZ)
    ratio = XYZ / np.asarray(white, XYZ.dtype)
    f = np.where(ratio > _LINEAR_BELOW, np.cbrt(ratio), _LINEAR_SLOPE * ratio + 4.0 / 29.0)
    Lab = np.empty_like(f)
    Lab[..., 0] = 116.0 * f[..., 1] - 16.0
    Lab[..., 1] = 500.0 * (f[..., 0] - f[..., 1])
    Lab[..., 2] = 200.0 * (f[..., 1] - f[..., 2])
    return Lab.astype(XYZ.dtype, copy=False)


def XYZ_from_Lab(Lab: ArrayLike, white: ArrayLike = D65_WHITE) -> Array:
    """XYZ (..., 3), white Y = 1, of L*a*b* (..., 3)."""
    Lab = floats(Lab)
    f = np.empty_like(Lab)
    f[..., 1] = (Lab[..., 0] + 16.0) / 116.0
    f[..., 0] = f[..., 1] + Lab[..., 1] / 500.0
    f[..., 2] = f[..., 1] - Lab[..., 2] / 200.0
    ratio = np.where(f > 6.0 / 29.0, f**3, (f - 4.0 / 29.0) / _LINEAR_SLOPE)
    return (ratio * np.asarray(white, Lab.dtype)).astype(Lab.dtype, copy=False)


def LCh_from_Lab(Lab: ArrayLike) -> Array:
    """L*, C*ab and hue angle in degrees 0 to 360 (..., 3)."""
    Lab = floats(Lab)
    hue = np.degrees(np.arctan2(Lab[..., 2], Lab[..., 1])) % 360.0
    return np.stack([Lab[..., 0], np.hypot(Lab[..., 1], Lab[..., 2]), hue], axis=-1)


def Lab_from_LCh(LCh: ArrayLike) -> Array:
    """L*a*b* (..., 3) of L*, C*ab, hue angle in degrees."""
    LCh = floats(LCh)
    hue = np.radians(LCh[..., 2])
    return np.stack([LCh[..., 0], LCh[..., 1] * np.cos(hue), LCh[..., 1] * np.sin(hue)], axis=-1)


def _sRGB_matrix() -> Array:
    """Linear sRGB to XYZ (3, 3) from the primaries and white of IEC 61966-2-1, so that white is exact."""
    primaries = np.stack([white_from_xy(0.64, 0.33), white_from_xy(0.30, 0.60), white_from_xy(0.15, 0.06)], 1)
    return primaries * np.linalg.solve(primaries, D65_WHITE)


XYZ_FROM_SRGB = _sRGB_matrix()
SRGB_FROM_XYZ = np.linalg.inv(XYZ_FROM_SRGB)


def linear_sRGB_from_XYZ(XYZ: ArrayLike) -> Array:
    """Linear sRGB (..., 3) of XYZ relative to D65; outside 0 to 1 where the screen can't show it."""
    XYZ = floats(XYZ)
    return XYZ @ SRGB_FROM_XYZ.T.astype(XYZ.dtype)


def encode_sRGB(linear: ArrayLike) -> Array:
    """Encoded sRGB 0 to 1 of linear sRGB, clipped to 0 to 1 (IEC 61966-2-1)."""
    linear = np.clip(floats(linear), 0.0, 1.0)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055).astype(
        linear.dtype, copy=False
    )


def decode_sRGB(encoded: ArrayLike) -> Array:
    """Linear sRGB of encoded sRGB 0 to 1."""
    encoded = floats(encoded)
    return np.where(encoded <= 0.04045, encoded / 12.92, (np.maximum(encoded, 0.0) + 0.055) ** 2.4 / 1.055**2.4)


def in_sRGB(XYZ: ArrayLike, tolerance: float = 5e-4) -> NDArray[np.bool_]:
    """Whether sRGB holds XYZ relative to D65 (...,); tolerance in linear light, well below half a code."""
    linear = linear_sRGB_from_XYZ(XYZ)
    return np.all((linear >= -tolerance) & (linear <= 1.0 + tolerance), axis=-1)


def into_sRGB(XYZ: ArrayLike) -> Array:
    """Linear sRGB 0 to 1 (..., 3) nearest on the way to the neutral axis.

    Luminance and dominant wavelength are held and purity gives way, which in linear light is one division:
    the colour moves toward the grey of its own luminance until it is inside. Above white it is white.
    """
    linear = linear_sRGB_from_XYZ(XYZ)
    grey = np.clip(floats(XYZ)[..., 1:2], 0.0, 1.0).astype(linear.dtype, copy=False)
    away = linear - grey
    room = np.where(away > 0.0, 1.0 - grey, grey)
    keep = np.min(room / np.maximum(np.abs(away), 1e-12), axis=-1, keepdims=True)
    return np.clip(grey + np.minimum(keep, 1.0) * away, 0.0, 1.0)


def sRGB_from_XYZ(XYZ: ArrayLike) -> Array:
    """Encoded sRGB 0 to 1 (..., 3) of XYZ relative to D65, brought into the gamut by `into_sRGB`."""
    return encode_sRGB(into_sRGB(XYZ))


def sRGB_bytes(XYZ: ArrayLike) -> NDArray[np.uint8]:
    """sRGB as bytes (..., 3) of XYZ relative to D65, brought into the gamut by `into_sRGB`."""
    return np.rint(sRGB_from_XYZ(XYZ) * 255.0).astype(np.uint8)


def hex_from_XYZ(XYZ: ArrayLike) -> str:
    """ "#rrggbb" of one XYZ (3,) relative to D65, brought into the gamut by `into_sRGB`."""
    return "#{:02x}{:02x}{:02x}".format(*sRGB_bytes(XYZ).reshape(3))


def XYZ_from_sRGB(encoded: ArrayLike) -> Array:
    """XYZ (..., 3) relative to D65 of encoded sRGB 0 to 1."""
    linear = decode_sRGB(encoded)
    return linear @ XYZ_FROM_SRGB.T.astype(linear.dtype)


def XYZ_from_hex(text: str) -> Array:
    """XYZ (3,) relative to D65 of "#rrggbb" or "#rgb". Raises ValueError for anything else."""
    digits = re.fullmatch(r"#?([0-9a-fA-F]{6}|[0-9a-fA-F]{3})", text.strip())
    if not digits:
        raise ValueError(f'{shown(text)} is no colour of the form "#8a5a3c".')
    code = digits[1] if len(digits[1]) == 6 else "".join(2 * c for c in digits[1])
    return XYZ_from_sRGB(np.array([int(code[i : i + 2], 16) for i in (0, 2, 4)]) / 255.0)


def delta_E00(Lab_1: ArrayLike, Lab_2: ArrayLike) -> Array:
    """CIEDE2000 colour difference (...,), kL = kC = kH = 1 (CIE 142:2001, ISO/CIE 11664-6)."""
    Lab_1, Lab_2 = np.broadcast_arrays(floats(Lab_1), floats(Lab_2))
    (L1, a1, b1), (L2, a2, b2) = np.moveaxis(Lab_1, -1, 0), np.moveaxis(Lab_2, -1, 0)
    mean_C7 = (0.5 * (np.hypot(a1, b1) + np.hypot(a2, b2))) ** 7
    stretch = 1.5 - 0.5 * np.sqrt(mean_C7 / (mean_C7 + 25.0**7))
    a1, a2 = a1 * stretch, a2 * stretch
    C1, C2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = np.arctan2(b1, a1), np.arctan2(b2, a2)
    grey = C1 * C2 == 0.0
    turn = np.where(grey, 0.0, np.remainder(h2 - h1 + np.pi, 2 * np.pi) - np.pi)
    dL, dC, dH = L2 - L1, C2 - C1, 2.0 * np.sqrt(C1 * C2) * np.sin(0.5 * turn)
    L, C = 0.5 * (L1 + L2), 0.5 * (C1 + C2)
    h = np.where(grey, h1 + h2, h1 + 0.5 * turn)
    T = 1.0 - 0.17 * np.cos(h - np.radians(30.0)) + 0.24 * np.cos(2.0 * h)
    T += 0.32 * np.cos(3.0 * h + np.radians(6.0)) - 0.20 * np.cos(4.0 * h - np.radians(63.0))
    offset = (np.remainder(np.degrees(h), 360.0) - 275.0) / 25.0
    C7 = C**7
    twist = -np.sin(np.radians(60.0) * np.exp(-(offset**2))) * 2.0 * np.sqrt(C7 / (C7 + 25.0**7))
    SL = 1.0 + 0.015 * (L - 50.0) ** 2 / np.sqrt(20.0 + (L - 50.0) ** 2)
    dL, dC, dH = dL / SL, dC / (1.0 + 0.045 * C), dH / (1.0 + 0.015 * C * T)
    return np.sqrt(np.maximum(dL**2 + dC**2 + dH**2 + twist * dC * dH, 0.0))
