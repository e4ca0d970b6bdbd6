"""One colour, one palette, one recipe: what `sitterlight mix` answers."""

from __future__ import annotations

import json as json_text
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sitterlight.illuminants.catalogue import spectrum
from sitterlight.shading.cautions import cautions_and_general
from sitterlight.shading.colour_spaces import Lab_from_XYZ, XYZ_from_hex, XYZ_from_Lab, hex_from_XYZ
from sitterlight.shading.munsell import XYZ_from_munsell, munsell_under_D65
from sitterlight.shading.paints import paint, paints
from sitterlight.shading.recipe import WORTH_TELLING, Recipe
from sitterlight.shading.recipes import Preferences, recipes_for
from sitterlight.shading.sitting import EaselSetting
from sitterlight.shading.sitting_keys import EASEL, PALETTE
from sitterlight.shading.sitting_rules import SittingError, shown

EASEL_LIGHT = EaselSetting().light
SECOND_LIGHT = EaselSetting().second_light


@dataclass(frozen=True)
class Asked:
    """The tubes to mix from, the light at the easel and the second light, and wishes as `sitting.PaletteSetting`."""

    paints: tuple[str, ...]
    light: str = EASEL_LIGHT
    second_light: str = SECOND_LIGHT
    most: int = 4
    few_paints: bool = False
    base: str = "none"
    transparent_darks: bool = False
    no_black: bool = False

    @property
    def preferences(self) -> Preferences:
        """The wishes as recipes take them. ValueError for a base that is no paint."""
        base = None if self.base == "none" else paint(self.base).id
        return Preferences(self.few_paints, base, self.transparent_darks, self.no_black)


def asked(
    paints: Sequence[str],
    light: str = EASEL_LIGHT,
    second_light: str = SECOND_LIGHT,
    most: object = 4,
    base: str = "none",
    **flags: bool,
) -> Asked:
    """What is asked on a command line, by the rules of a sitting.

    ValueError, in one sentence that begins with the option, for a value that is not allowed.
    """
    for name, value in (("light", light), ("second_light", second_light)):
        option = f"--{name.replace('_', '-')}"
        EASEL[name](value, option)
        try:
            spectrum(value, role="lamp")
        except (ValueError, OSError) as error:
            raise SittingError(f"{option}: {error}") from None
    if base == "auto":
        raise SittingError('--base is "auto"; that is chosen for a whole head, for one colour name one of the paints')
    most, base = PALETTE["most"](most, "--most"), PALETTE["base"](base, "--base")
    found = Asked(tuple(paints), light, second_light, most, base=base, **flags)
    try:
        found.preferences  # noqa: B018 - the base is looked up
    except ValueError as error:
        raise SittingError(f"--base: {error}") from None
    return found


def mix_colour(
    colour: str,
    palette: Sequence[str],
    easel_light: str = EASEL_LIGHT,
    second_light: str = SECOND_LIGHT,
    max_paints: int = 4,
    preferences: Preferences | None = None,
    folder: str | Path | None = None,
) -> Recipe:
    """The recipe for a colour: Munsell ("5YR 4/4"), "Lab 42 12 20" (D65, 2°) or "#8a5a3c".

    Raises ValueError with one sentence for a colour, paint or light that is not understood.
    """
    tubes = paints(tuple(palette), folder)
    return recipes_for(Lab_of(colour)[None], tubes, easel_light, second_light, max_paints, preferences, folder)[0]


def Lab_of(colour: str) -> NDArray[np.floating]:
    """Lab (3,), D65 2°, of a colour in any of the three notations. Raises ValueError for anything else."""
    text = colour.strip()
    numbers = re.fullmatch(r"(?i)lab[\s:(]*([^)]*)\)?", text)
    if numbers:
        return _checked([_number(part, colour) for part in re.split(r"[\s,;]+", numbers[1].strip())], colour)
    if text.startswith("#"):
        return Lab_from_XYZ(XYZ_from_hex(text))
    try:
        return Lab_from_XYZ(XYZ_from_munsell(text))
    except ValueError as error:
        if re.match(r"(?i)n|[\d.]+ *[rygbp]", text):
            raise
        raise ValueError(f'{shown(colour)} is not a colour; write "5YR 4/4", "Lab 42 12 20" or "#8a5a3c".') from error


def _number(text: str, colour: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise ValueError(f'{shown(colour)} is not a Lab colour; write three numbers, as in "Lab 42 12 20".') from None


def _checked(Lab: list[float], colour: str) -> NDArray[np.floating]:
    if len(Lab) != 3 or not np.isfinite(Lab).all():
        raise ValueError(f'{shown(colour)} is not a Lab colour; write three numbers, as in "Lab 42 12 20".')
    if not 0 <= Lab[0] <= 100 or max(abs(Lab[1]), abs(Lab[2])) > 150:
        raise ValueError(f"{shown(colour)} is beyond any surface; L goes from 0 to 100, a and b from -150 to 150.")
    return np.array(Lab)


def recipe_for(colour: str, wanted: Asked) -> Recipe:
    """The recipe for a colour as it was asked for. ValueError as `mix_colour`."""
    lights = wanted.light, wanted.second_light
    return mix_colour(colour, wanted.paints, *lights, wanted.most, wanted.preferences)


def as_dict(recipe: Recipe, colour: str, wanted: Asked) -> dict:
    """The answer as `--json` gives it: the recipe, what was wanted, and the best mixes of fewer or more paints."""
    target = np.array(recipe.target_Lab)
    wishes = ("most", "few_paints", "base", "transparent_darks", "no_black")
    return {
        "format": "sitterlight-mix/1",
        **recipe.as_dict(),
        "colour": colour,
        "target": {
            "Lab": [round(v, 2) for v in recipe.target_Lab],
            "munsell": munsell_under_D65(target),
            "srgb": hex_from_XYZ(XYZ_from_Lab(target)),
        },
        "palette": list(wanted.paints),
        "easel_light": wanted.light,
        "wishes": {name: getattr(wanted, name) for name in wishes},
        "alternatives": [other.as_dict() for other in recipe.alternatives],
    }


def as_json(colour: str, wanted: Asked) -> str:
    """The answer as one JSON object."""
    return json_text.dumps(as_dict(recipe_for(colour, wanted), colour, wanted), ensure_ascii=False, indent=2)


def as_text(colour: str, wanted: Asked) -> str:
    """The answer as lines to read at the easel."""
    recipe = recipe_for(colour, wanted)
    under = "" if wanted.light == EASEL_LIGHT else f", under {wanted.light}"
    lines = [
        f"{_notation(recipe.target_Lab)} wanted{under}",
        f"{_notation(recipe.Lab)} mixed, ΔE {recipe.delta_e:.1f}; it {recipe.holds}",
        "",
        *(f"  {part.amount:>10}  {part.name}" for part in recipe.parts),
        "",
        recipe.order,
    ]
    if recipe.out_of_reach:
        lines.append(f"Out of reach: {recipe.missing}")
    near = max(WORTH_TELLING, recipe.delta_e)
    others = [other for other in recipe.alternatives if other.parts != recipe.parts and other.delta_e <= near]
    if others:
        lines += ["", "Or:"] + [f"  ΔE {other.delta_e:4.1f}  {other.text}" for other in others]
    tubes = [tube for tube in paints(wanted.paints) if tube.id in {part.paint for part in recipe.parts}]
    return "\n".join([*lines, "", *cautions_and_general(tubes)]).rstrip()


def _notation(Lab: tuple[float, float, float]) -> str:
    munsell = munsell_under_D65(np.array(Lab))
    return "Lab {:.0f} {:.0f} {:.0f}".format(*Lab) + (f" ({munsell})" if munsell else "")
