"""From the skin of a sitting to its albedo: the ladder, amounts, a user's reflectance, or a colour."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from sitterlight.illuminants.files import read_spectrum_csv
from sitterlight.illuminants.grid import on_grid
from sitterlight.shading.colour_spaces import D65_WHITE, Lab_from_XYZ, XYZ_from_hex
from sitterlight.shading.from_colour import REACHED, amounts_from_Lab, amounts_from_reflectance
from sitterlight.shading.ladder import ladder_amounts
from sitterlight.shading.sitting import SkinColour, SkinSetting
from sitterlight.shading.skin import AMOUNTS, SkinAmounts, albedo
from sitterlight.shading.surface import body_albedo, directional_albedo

INSTRUMENT_INCIDENCE = 8.0
"""Degrees from the normal at which instruments with a sphere light or look (ISO 7724-1; Cooksey et al. 2017)."""


@dataclass(frozen=True, eq=False)
class ResolvedSkin:
    """The skin of a sitting, ready for use."""

    amounts: SkinAmounts
    """The amounts that make it, or for a user's reflectance those that come nearest."""
    distance: float | None = None
    """ΔE00 between the colour asked for and the skin's; None where no colour was asked for."""
    note: str = ""
    """One sentence about what was done, or nothing."""
    measured: np.ndarray | None = None
    """Body albedo (81,) that is a user's own, so that regions scale it; None where the amounts decide."""

    @cached_property
    def albedo(self) -> np.ndarray:
        """Body albedo (81,) of the plain skin, without sheen."""
        return albedo(self.amounts) if self.measured is None else self.measured


def resolve_skin(setting: SkinSetting, folder: str | Path | None = None) -> ResolvedSkin:
    """The albedo and amounts of a skin setting; paths in it are relative to `folder`.

    Raises ValueError with one sentence for amounts out of range, an unknown light or a file that is no reflectance.
    """
    if setting.reflectance is not None:
        return _from_file(setting, folder)
    if setting.colour is not None:
        return _from_colour(setting.colour)
    if setting.amounts is not None:
        return ResolvedSkin(_from_amounts(dict(setting.amounts)))
    return ResolvedSkin(ladder_amounts(setting.ladder))


def _from_amounts(given: dict[str, float]) -> SkinAmounts:
    """Named amounts; those not named are those of the middle of the ladder."""
    for name in given:
        if name not in AMOUNTS:
            raise ValueError(f"skin.amounts: {name!r} is not known; it must be one of {', '.join(AMOUNTS)}")
    return SkinAmounts(**(ladder_amounts(5).as_dict() | given))


def _from_colour(colour: SkinColour) -> ResolvedSkin:
    light = colour.light
    if colour.srgb is not None:
        Lab, light = Lab_from_XYZ(XYZ_from_hex(colour.srgb), D65_WHITE), "D65"
    else:
        Lab = np.array(colour.Lab, dtype=float)
    amounts, distance = amounts_from_Lab(Lab, light)
    wish = f"Lab {Lab[0]:.1f} {Lab[1]:.1f} {Lab[2]:.1f}"
    if distance <= REACHED:
        note = f"Amounts found that give {wish} within ΔE00 {distance:.2f}."
    else:
        note = f"No skin of this model has {wish}; this is the nearest, at ΔE00 {distance:.1f}."
    return ResolvedSkin(amounts, distance, note)


def _from_file(setting: SkinSetting, folder: str | Path | None) -> ResolvedSkin:
    path = Path(folder or ".") / setting.reflectance
    wavelengths, values = read_spectrum_csv(path, quantity="reflectance")
    measured = on_grid(wavelengths, values, what=str(path))
    mirror = float(directional_albedo(setting.roughness, np.cos(np.radians(INSTRUMENT_INCIDENCE))))
    body = np.clip(body_albedo(measured, mirror, setting.sheen_included), 0.0, 1.0)
    amounts, rmse = amounts_from_reflectance(body)
    note = f"A reflectance of one's own; the model comes within RMSE {rmse:.4f} of it and serves for the regions."
    return ResolvedSkin(amounts, None, note, body)
