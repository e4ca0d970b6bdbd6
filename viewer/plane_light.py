"""The light that comes from one plane: its pieces, in words and shares, and the spectrum that reaches the eye."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sitterlight.illuminants.observer import luminous, tristimulus
from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.sources import spectrum_of
from sitterlight.shading.targets import PlaneRow, Seen
from sitterlight.viewer.engine import Lit
from sitterlight.viewer.light_facts import light_code

LEAST_SHARE = 0.005


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


def plane_spectrum(lit: Lit, row: PlaneRow, seen: Seen) -> np.ndarray:
    """The spectrum (81,) that a plane sends to the eye, from its shares of luminance.

    Each light's part has that light's mean spectrum, times the albedo of the plane's region where it went through
    the skin and once more where it came by way of other skin.
    """
    albedo = lit.scene.region_albedos[REGIONS.index(row.region)] if row.region in REGIONS else lit.scene.skin_albedo
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


def _at(share: float | None, spectrum: np.ndarray) -> np.ndarray:
    bright = float(luminous(spectrum))
    return spectrum * (share / bright) if share and bright > 0 else np.zeros(81)
