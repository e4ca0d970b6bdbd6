"""The light that comes from one plane: its pieces, in words and shares, and the spectrum that reaches the eye."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sitterlight.illuminants.observer import luminous, tristimulus
from sitterlight.shading.colour_spaces import Lab_from_XYZ, delta_E00
from sitterlight.shading.sources import spectrum_of
from sitterlight.shading.targets import PlaneRow, Seen
from sitterlight.viewer.engine import Lit
from sitterlight.viewer.light_facts import light_code

LEAST_SHARE = 0.005
MIDDLE = 0.2
"""Luminance, against the white card's, at which two spectra are compared."""
MOST_STEPS = 30


class Piece(NamedTuple):
    """Part of a plane's light: `words`, its `share` of luminance, the `code` of its light's colour, and whether the
    surface mirrored it."""

    words: str
    share: float
    code: str
    mirrored: bool


def pieces(lit: Lit, seen: Seen) -> list[Piece]:
    """Where the light of a plane or stroke comes from, the largest piece first."""
    if seen.shares["sheen"] is None:
        return []
    codes = {source.name: _code(source) for source in lit.scene.sources}
    found = [
        Piece(f"{name}, through the skin", share, codes[name], False)
        for name, share in seen.shares.items()
        if name not in ("bounce", "sheen")
    ]
    found += [
        Piece("other skin, mirrored" if name == "bounce" else f"{name}, mirrored (sheen)", share, codes.get(name), True)
        for name, share in seen.sheen_by_light.items()
    ]
    skin = light_code(tristimulus(lit.scene.skin_albedo * lit.scene.card_spectrum))
    found = [piece._replace(code=piece.code or skin) for piece in found]
    found.append(Piece("by way of other skin", seen.shares["bounce"], skin, False))
    return sorted((piece for piece in found if piece.share >= LEAST_SHARE), key=lambda piece: -piece.share)


def _code(source) -> str:
    return light_code(tristimulus(spectrum_of(source, source.mean_radiance())))


def plane_spectrum(lit: Lit, row: PlaneRow, seen: Seen) -> tuple[np.ndarray, float]:
    """The spectrum (81,) of luminance one that a plane sends to the eye, and how far it had to be bent for that, ΔE00.

    It is put together from the plane's shares of luminance, which is exact but for skies that change over the dome and
    for what bounced from unlike skin; then it is bent, smoothly over the wavelengths, until its XYZ is the plane's own.
    The second number is the distance before bending: how much of the curve is estimate.
    """
    guess = _from_shares(lit, row, seen)
    if not guess.any():
        return guess, 0.0
    wanted = np.array(seen.XYZ) / seen.XYZ[1]
    observer = lit.sitting.eye.observer
    found = tristimulus(guess, observer)
    white = lit.scene.card_XYZ / lit.scene.card_XYZ[1]
    away = delta_E00(Lab_from_XYZ(found / found[1] * MIDDLE, white), Lab_from_XYZ(wanted * MIDDLE, white))
    return bent_to(guess, wanted, observer), float(away)


def bent_to(spectrum: np.ndarray, XYZ: np.ndarray, observer: int) -> np.ndarray:
    """`spectrum (81,)` times the exponential of a parabola over the wavelengths, so that it has this XYZ."""
    place = np.linspace(-1, 1, len(spectrum))
    shapes = np.stack([np.ones_like(place), place, place**2])
    amounts = np.zeros(3)
    for _ in range(MOST_STEPS):
        bent = spectrum * np.exp(amounts @ shapes)
        missing = XYZ - tristimulus(bent, observer)
        if np.abs(missing).max() < 1e-9:
            break
        step = np.linalg.solve(tristimulus(bent * shapes, observer).T, missing)
        amounts += step / max(1.0, float(np.abs(step).max()))
    return spectrum * np.exp(amounts @ shapes)


def _from_shares(lit: Lit, row: PlaneRow, seen: Seen) -> np.ndarray:
    """Each light's part has that light's mean spectrum, times the albedo of the plane's region where it went through
    the skin and once more where it came by way of other skin."""
    albedo = _albedo(lit, row)
    total = np.zeros(81)
    for source in lit.scene.sources:
        power = spectrum_of(source, source.mean_radiance())
        for share, reflected in (
            (seen.shares.get(source.name), power * albedo),
            (seen.bounce_by_light.get(source.name), power * albedo * lit.scene.skin_albedo),
            (seen.sheen_by_light.get(source.name), power),
        ):
            total += _at(share, reflected)
    total += _at(seen.sheen_by_light.get("bounce"), lit.scene.card_spectrum * lit.scene.skin_albedo)
    return total


def _albedo(lit: Lit, row: PlaneRow) -> np.ndarray:
    """Mean albedo (81,) over a plane, whose vertices may belong to several regions."""
    head = lit.head
    number = next(k for k, plane in enumerate(head.planes) if (plane.name, plane.side) == (row.name, row.side))
    regions = np.asarray(head.plane_weights[number] @ head.region_weights).ravel()
    return regions / max(float(regions.sum()), 1e-9) @ lit.scene.region_albedos


def _at(share: float | None, spectrum: np.ndarray) -> np.ndarray:
    bright = float(luminous(spectrum))
    return spectrum * (share / bright) if share and bright > 0 else np.zeros(81)
