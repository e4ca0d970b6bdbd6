"""Munsell notation of a colour and the colour of a notation, at once.

The data are the Munsell renotation (Newhall, Nickerson and Judd 1943, Journal of the Optical Society of
America 33, 385) for illuminant C and the 2° observer, interpolated as ASTM D1535 and Centore (2012, Color
Research and Application 37, 455) do: along the ovoid of one value and chroma between the 2.5-step hues
(straight or as an arc), then linearly in chroma, then linearly in luminance between values.

Above the greatest tabulated chroma the last two steps are carried on in a straight line. Below value 1 the
data of value 1 are used at the same share of value, xy(H, V, C) = xy(H, 1, C / V): a chromaticity keeps its
hue as it darkens, and chroma falls with value. Between 9 and 10 the tabulated colours of value 10 serve
(Centore lets chroma run out there instead). Above value 10 there is nothing.

A specification is an array (..., 3) of hue (0 to 100: 5 is 5R, 15 is 5YR, 0 and 100 are 10RP), value and
chroma; neutrals have hue 0.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sitterlight.shading.cat16 import adapt
from sitterlight.shading.colour_spaces import C_WHITE, D65_WHITE, XYZ_from_Lab
from sitterlight.shading.sitting_rules import shown

Array = NDArray[np.floating]

FAMILIES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
TOP_CHROMA_STEP = 60
_GREY = np.array([0.31006, 0.31616])
_LUMINANCE = np.array([0.00081939, -0.020484, 0.23352, -0.22533, 1.1914, 0.0]) / 100.0
_CHUNK = 512


def luminance_of_value(value: ArrayLike) -> Array:
    """Y, 1 for a perfect white, of Munsell value 0 to 10 (ASTM D1535)."""
    return np.polyval(_LUMINANCE, np.asarray(value, float))


def value_of_luminance(Y: ArrayLike) -> Array:
    """Munsell value 0 to 10 of Y, 1 for a perfect white; NaN above white."""
    Y = np.asarray(Y, float)
    values, luminances = _value_table()
    value = np.interp(Y, luminances, values)
    for _ in range(3):
        value = value - (np.polyval(_LUMINANCE, value) - Y) / np.polyval(np.polyder(_LUMINANCE), value)
    return np.where(Y > 1.0 + 1e-6, np.nan, np.clip(value, 0.0, 10.0))


@cache
def _value_table() -> tuple[Array, Array]:
    values = np.linspace(0.0, 10.0, 1001)
    return values, np.polyval(_LUMINANCE, values)


@cache
def _ovoids() -> tuple[Array, Array, NDArray[np.bool_]]:
    """x − x_C, y − y_C (10 values, 40 hues, 61 chroma steps, 2); as radius and angle; where arcs are."""
    with np.load(Path(__file__).parent / "data" / "munsell.npz") as data:
        tabulated, arc = data["xy_millionths"] * 1e-6, data["arc"]
    known = tabulated.shape[2]
    away = np.zeros((10, 40, TOP_CHROMA_STEP + 1, 2))
    away[:, :, 1 : known + 1] = np.where(tabulated < -10.0, np.nan, tabulated - _GREY)
    for step in range(2, TOP_CHROMA_STEP + 1):
        straight = 2.0 * away[:, :, step - 1] - away[:, :, step - 2]
        away[:, :, step] = np.where(np.isnan(away[:, :, step]), straight, away[:, :, step])
    polar = np.stack([np.hypot(away[..., 0], away[..., 1]), np.arctan2(away[..., 1], away[..., 0])], -1)
    arcs = np.zeros((10, 40, TOP_CHROMA_STEP + 1), bool)
    arcs[:9, :, 1 : known + 1] = arc
    arcs[:9, :, known + 1 :] = arc[:, :, -1:]
    arcs[9] = arcs[8]
    return away, polar, arcs


def _on_ovoid(value: NDArray, step: NDArray, hue: Array) -> Array:
    """Chromaticity from C (..., 2) at whole value 1 to 10 and whole chroma step, for hue in steps of 2.5."""
    away, polar, arcs = _ovoids()
    low = np.floor(hue).astype(int)
    share = (hue - low)[..., None]
    low %= 40
    high = (low + 1) % 40
    straight = (1.0 - share) * away[value - 1, low, step] + share * away[value - 1, high, step]
    first, turn = polar[value - 1, low, step], polar[value - 1, high, step] - polar[value - 1, low, step]
    turn[..., 1] = np.remainder(turn[..., 1] + np.pi, 2.0 * np.pi) - np.pi
    radius, angle = np.moveaxis(first + share * turn, -1, 0)
    arc = radius[..., None] * np.stack([np.cos(angle), np.sin(angle)], -1)
    return np.where(arcs[value - 1, low, step][..., None], arc, straight)


def _at_value(value: NDArray, hue: Array, chroma: Array) -> Array:
    """Chromaticity from C (..., 2) at whole value 1 to 10, any hue in steps of 2.5, any chroma."""
    step = np.clip(np.floor(chroma / 2.0).astype(int), 0, TOP_CHROMA_STEP - 1)
    share = (chroma / 2.0 - step)[..., None]
    return (1.0 - share) * _on_ovoid(value, step, hue) + share * _on_ovoid(value, step + 1, hue)


def renotation_xy(specification: ArrayLike) -> Array:
    """x, y (..., 2) under illuminant C, 2°, of specifications (..., 3); value 0 to 10."""
    hue, value, chroma = np.moveaxis(np.asarray(specification, float), -1, 0)
    dark = value < 1.0
    chroma = np.where(dark, chroma / np.maximum(value, 1e-9), chroma)
    value = np.clip(value, 1.0, 10.0)
    low = np.minimum(np.floor(value).astype(int), 9)
    Y, Y_low, Y_high = map(luminance_of_value, (value, low, low + 1))
    share = ((Y - Y_low) / (Y_high - Y_low))[..., None]
    steps = hue / 2.5
    away = (1.0 - share) * _at_value(low, steps, chroma) + share * _at_value(low + 1, steps, chroma)
    return away + _GREY


def specification_from_XYZ(XYZ: ArrayLike, white: ArrayLike = D65_WHITE) -> Array:
    """Hue, value, chroma (..., 3) of 2° XYZ (..., 3) relative to `white`, Y = 1, adapted to C by full CAT16.

    NaN above white, and in the rare place outside all real colours where the renotation has no answer.
    """
    XYZ = adapt(XYZ, white, C_WHITE)
    flat = XYZ.reshape(-1, 3)
    found = [_specify(flat[i : i + _CHUNK]) for i in range(0, len(flat), _CHUNK)]
    return np.concatenate(found).reshape(XYZ.shape) if found else np.empty(XYZ.shape)


def _specify(XYZ: Array) -> Array:
    """Specifications (N, 3) of XYZ (N, 3) under C."""
    value = value_of_luminance(XYZ[:, 1])
    total = XYZ.sum(1, keepdims=True)
    lit = (total[:, 0] > 1e-12) & (XYZ[:, 1] > 1e-9)
    xy = np.where(lit[:, None], XYZ[:, :2] / np.where(lit[:, None], total, 1.0), _GREY)
    known = np.isfinite(value)
    chroma_hue = _searched(xy, np.where(known, value, 5.0))
    hue = np.degrees(np.arctan2(chroma_hue[:, 1], chroma_hue[:, 0])) / 3.6 % 100.0
    chroma = np.hypot(chroma_hue[:, 0], chroma_hue[:, 1])
    hue = np.where(chroma < 1e-6, 0.0, hue)
    return np.where(known[:, None], np.stack([hue, value, chroma], 1), np.nan)


def _searched(xy: Array, value: Array) -> Array:
    """Chroma · (cos, sin) of hue (N, 2) at xy (N, 2): Newton's method from the nearest datum."""
    place = _nearest(xy, value)
    missed = _miss(place, xy, value)
    for _ in range(40):
        wrong = np.flatnonzero(np.hypot(*missed.T) > 1e-10)
        if not len(wrong):
            break
        place[wrong], missed[wrong] = _newton_step(place[wrong], missed[wrong], xy[wrong], value[wrong])
    place[np.hypot(*missed.T) > 1e-6] = np.nan
    return place


def _nearest(xy: Array, value: Array) -> Array:
    """The nearest tabulated colour of the nearest value, as chroma · (cos, sin) of hue (N, 2)."""
    away, _, _ = _ovoids()
    at = np.clip(np.rint(value).astype(int), 1, 10) - 1
    nodes = away[:, :, :28].reshape(10, -1, 2)[at]
    hue, step = np.divmod(np.argmin(((nodes - (xy - _GREY)[:, None]) ** 2).sum(-1), axis=1), 28)
    chroma = 2.0 * step * np.minimum(value, 1.0)
    angle = hue * (2.0 * np.pi / 40.0)
    return chroma[:, None] * np.stack([np.cos(angle), np.sin(angle)], 1)


def _miss(place: Array, xy: Array, value: Array) -> Array:
    """How far the colour at `place` is from xy, (..., 2)."""
    hue = np.arctan2(place[..., 1], place[..., 0]) * (50.0 / np.pi) % 100.0
    chroma = np.hypot(place[..., 0], place[..., 1])
    value = np.broadcast_to(value, hue.shape)
    return renotation_xy(np.stack([hue, value, chroma], -1)) - xy


def _newton_step(place: Array, missed: Array, xy: Array, value: Array) -> tuple[Array, Array]:
    """The best of a full and shortened Newton steps, so that kinks of the data cannot make it swing."""
    h = 1e-5 * np.maximum(np.minimum(value, 1.0), 1e-3)[:, None]
    by_p = (_miss(place + h * [1.0, 0.0], xy, value) - missed) / h
    by_q = (_miss(place + h * [0.0, 1.0], xy, value) - missed) / h
    determinant = by_p[:, 0] * by_q[:, 1] - by_q[:, 0] * by_p[:, 1]
    determinant = np.where(np.abs(determinant) < 1e-14, 1e-14, determinant)
    step = np.stack(
        [
            (by_q[:, 0] * missed[:, 1] - by_q[:, 1] * missed[:, 0]) / determinant,
            (by_p[:, 1] * missed[:, 0] - by_p[:, 0] * missed[:, 1]) / determinant,
        ],
        1,
    )
    lengths = np.array([1.0, 0.6, 0.3, 0.1, 0.02])[:, None, None]
    places = place + lengths * step
    misses = _miss(places, xy, value)
    best = np.argmin((misses**2).sum(-1), axis=0), np.arange(len(place))
    return places[best], misses[best]


def notation(specification: ArrayLike) -> str | None:
    """ "5YR 3.2/2.1", or "N 5.2/" for a neutral, of one specification (3,); None where it has none."""
    hue, value, chroma = np.asarray(specification, float)
    if not np.isfinite([hue, value, chroma]).all():
        return None
    value, chroma = round(value, 1), round(chroma, 1)
    if chroma == 0.0 or value == 0.0:
        return f"N {value:.1f}/"
    tenths = round(hue * 10.0) % 1000
    family, within = divmod((tenths - 1) % 1000, 100)
    return f"{(within + 1) / 10:g}{FAMILIES[family]} {value:.1f}/{chroma:.1f}"


def munsell_notations(XYZ: ArrayLike, white: ArrayLike = D65_WHITE) -> list[str | None]:
    """Notations of 2° XYZ (N, 3) relative to `white`; None above white."""
    return [notation(one) for one in specification_from_XYZ(np.reshape(XYZ, (-1, 3)), white)]


def munsell_from_XYZ(XYZ: ArrayLike, white: ArrayLike = D65_WHITE) -> str | None:
    """Notation of one 2° XYZ (3,) relative to `white`; None above white."""
    return munsell_notations(XYZ, white)[0]


_NUMBER = r"(\d+(?:\.\d*)?|\.\d+)"
_COLOUR = re.compile(rf"\s*{_NUMBER}\s*(R|YR|Y|GY|G|BG|B|PB|P|RP)\s*{_NUMBER}\s*/\s*{_NUMBER}\s*", re.I)
_NEUTRAL = re.compile(rf"\s*N\s*{_NUMBER}\s*/?\s*(?:0+(?:\.0*)?)?\s*", re.I)


def parse_munsell(text: str) -> Array:
    """Specification (3,) of "5YR 3.2/2.1" or "N 5.2/". Raises ValueError for anything else."""
    neutral, coloured = _NEUTRAL.fullmatch(text), _COLOUR.fullmatch(text)
    if neutral:
        specification = np.array([0.0, float(neutral[1]), 0.0])
    elif coloured:
        within = float(coloured[1])
        if within > 10.0:
            raise ValueError(f"{shown(text)}: the hue number of a Munsell notation goes from 0 to 10.")
        hue = (10.0 * FAMILIES.index(coloured[2].upper()) + within) % 100.0
        specification = np.array([hue, float(coloured[3]), float(coloured[4])])
    else:
        raise ValueError(f'{shown(text)} is no Munsell notation such as "5YR 3.2/2.1" or "N 5.2/".')
    if not specification[1] <= 10.0:
        raise ValueError(f"{shown(text)}: Munsell value goes from 0 to 10.")
    if specification[2] > 2.0 * TOP_CHROMA_STEP:
        raise ValueError(f"{shown(text)}: there is no such Munsell chroma; the strongest are about 50.")
    return specification


def XYZ_from_munsell(text: str, white: ArrayLike = D65_WHITE) -> Array:
    """2° XYZ (3,) relative to `white`, Y = 1, of a notation. Raises ValueError as the parser does."""
    return XYZ_from_specification(parse_munsell(text), white)


def XYZ_from_specification(specification: ArrayLike, white: ArrayLike = D65_WHITE) -> Array:
    """2° XYZ (..., 3) relative to `white`, of specifications (..., 3) with value 0 to 10."""
    specification = np.asarray(specification, float)
    xy = renotation_xy(specification)
    Y = luminance_of_value(specification[..., 1])[..., None]
    x, y = xy[..., :1], xy[..., 1:]
    return adapt(np.concatenate([x, y, 1.0 - x - y], -1) * Y / y, C_WHITE, white)


def munsell_under_D65(Lab: ArrayLike) -> str | None:
    """Notation of one L*a*b* (3,) under D65, 2°; None above white."""
    return munsell_from_XYZ(XYZ_from_Lab(np.asarray(Lab, float)))
