"""Colours as the screen wants them: sRGB, or the codes of Display P3 for a screen that is one."""

from __future__ import annotations

import numpy as np
from PyQt6.QtGui import QColor, QColorSpace, QColorTransform

SCREENS = ("sRGB", "Display P3")
_chosen = SCREENS[0]
_transform: QColorTransform | None = None


def set_screen(name: str) -> None:
    """What kind of screen the window stands on, one of SCREENS."""
    global _chosen, _transform
    _chosen = name
    _transform = None
    if name != SCREENS[0]:
        wide = QColorSpace(QColorSpace.NamedColorSpace.DisplayP3)
        _transform = QColorSpace(QColorSpace.NamedColorSpace.SRgb).transformationToColorSpace(wide)


def screen() -> str:
    return _chosen


def on_screen(colour: QColor) -> QColor:
    """An sRGB colour in the codes of the screen."""
    return colour if _transform is None else _transform.map(colour)


def codes_on_screen(codes: np.ndarray) -> np.ndarray:
    """sRGB codes (n,3) uint8 in those of the screen."""
    if _transform is None:
        return codes
    from sitterlight.shading.colour_spaces import decode_sRGB, encode_sRGB

    linear = decode_sRGB(codes.astype(np.float32) / 255.0) @ _P3_FROM_SRGB.T
    return np.rint(encode_sRGB(linear) * 255).astype(np.uint8)


def _from_primaries(*xy: tuple[float, float]) -> np.ndarray:
    from sitterlight.shading.colour_spaces import D65_WHITE, white_from_xy

    primaries = np.stack([white_from_xy(*one) for one in xy], 1)
    return primaries * np.linalg.solve(primaries, D65_WHITE)


# Primaries of SMPTE RP 431-2 (P3) with the white of D65 and the curve of sRGB, which is what Display P3 is.
_P3_FROM_SRGB = (
    np.linalg.inv(_from_primaries((0.680, 0.320), (0.265, 0.690), (0.150, 0.060)))
    @ _from_primaries((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
).astype(np.float32)
