"""What is on a sheet or a strip: one stroke of paint for each target, in the order that a painter lays them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sitterlight.shading.sheet_paints import recipe_words, short_names, used_paints

GROUPS = ("light", "halftone", "shadow", "not seen")


@dataclass(frozen=True)
class SheetStroke:
    """One colour to mix. `group` is one of GROUPS; `part` says which part of its plane it is for, "whole" for all.

    `munsell` is None above white; `skylight_note` and `greying` are None where there is none to tell; `recipe` is in
    words, None without one; `area` in mm².
    """

    plane: str
    side: str
    part: str
    group: str
    Lab: tuple[float, float, float]
    munsell: str | None
    srgb: str
    in_srgb: bool
    above_white: bool
    skylight_note: float | None
    greying: float | None
    recipe: str | None
    area: float

    @property
    def name(self) -> str:
        """The plane, its side and its part in words."""
        words = [self.plane[:1].upper() + self.plane[1:]]
        words += [self.side] if self.side != "centre" else []
        words += [self.part] if self.part != "whole" else []
        return ", ".join(words)

    @property
    def notation(self) -> str:
        """The Munsell notation, or why there is none."""
        return self.munsell or ("above white" if self.above_white else "no Munsell notation")


def sheet_strokes(table: Mapping[str, Any]) -> list[SheetStroke]:
    """All strokes of a table made by `results.targets_table`, by group, each from light to dark."""
    short = short_names(used_paints(table))
    found = [_stroke(plane, target, short) for plane in table["planes"] for target in plane["targets"]]
    return sorted(found, key=lambda stroke: (GROUPS.index(stroke.group), -stroke.Lab[0]))


def _stroke(plane: Mapping[str, Any], target: Mapping[str, Any], short: Mapping[str, str]) -> SheetStroke:
    return SheetStroke(
        plane=plane["name"],
        side=plane["side"],
        part=target["part"],
        group="not seen" if plane["hidden"] else target["family"],
        Lab=tuple(target["Lab"]),
        munsell=target["munsell"],
        srgb=target["srgb"],
        in_srgb=target["in_srgb"],
        above_white=target["above_white"],
        skylight_note=target["skylight_note"],
        greying=target["greying"],
        recipe=recipe_words(target["recipe"], short),
        area=plane["area_mm2"] * target["share_of_area"],
    )
