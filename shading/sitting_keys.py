"""What each key of a sitting file may hold: one rule per key of each section."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from sitterlight.illuminants.places import place_named
from sitterlight.shading.plane_rules import PlaneEdits
from sitterlight.shading.sitting import SkinColour
from sitterlight.shading.sitting_rules import (
    Either,
    Flag,
    Matching,
    Moment,
    NameOrFile,
    Number,
    OneOf,
    Row,
    SittingError,
    SkyType,
    Text,
    Whole,
    check_table,
    refuse,
)


@dataclass(frozen=True)
class Amounts:
    """A table of what is in the skin; what is left out is as in the middle of the ladder."""

    allowed: str = "a table of amounts such as {melanin = 0.3, blood = 0.5}"

    def __call__(self, value: object, where: str) -> tuple[tuple[str, float], ...]:
        from sitterlight.shading.ladder import LADDER, ladder_amounts
        from sitterlight.shading.skin import LIMITS

        if not isinstance(value, Mapping) or not value:
            raise refuse(where, value, self.allowed)
        rules = {name: Number(*limits) for name, limits in LIMITS.items()}
        middle = ladder_amounts(LADDER[len(LADDER) // 2]).as_dict()
        return tuple((middle | check_table(value, rules, where, f"[{where}]")).items())


@dataclass(frozen=True)
class Colour:
    """A table with Lab and its light, or with srgb."""

    allowed: str = 'a table such as {Lab = [42, 12, 20], light = "D65"} or {srgb = "#8a5a3c"}'

    def __call__(self, value: object, where: str) -> SkinColour:
        values = check_table(value, COLOUR, where, f"[{where}]")
        if ("Lab" in values) == ("srgb" in values) or ("srgb" in values and "light" in values):
            raise SittingError(f"{where} has {' and '.join(values) or 'nothing in it'}; allowed is {self.allowed}")
        if "Lab" in values and not 0 <= values["Lab"][0] <= 100:
            raise refuse(f"{where}.Lab[0]", values["Lab"][0], "a lightness L* from 0 to 100")
        return SkinColour(**values)


@dataclass(frozen=True)
class PlaceName:
    """The name of a listed city, as the list writes it."""

    allowed: str = "a listed city"

    def __call__(self, value: object, where: str) -> str:
        try:
            return place_named(Text("the name of a listed city")(value, where)).name
        except SittingError:
            raise
        except ValueError as error:
            raise SittingError(f"{where.removesuffix('.place')}: {error}") from None


AZIMUTH = Number(-180, 180)
ELEVATION = Number(-90, 90)
LUX = Number(0, 1e6)
NAME = Text("a name", 60)
SPECTRUM = NameOrFile('a spectrum such as "6500 K", "D65", "A" or "LED-B1", or a CSV file')
SKY = SkyType()
WEATHERS = ("clear", "hazy", "dusty", "thin cloud", "broken cloud", "overcast")
AIR = ("auto", "clear", "hazy", "dusty")
SHADES = ("none", "open", "tree", "awning", "porch")
AXES = ("+x", "-x", "+y", "-y", "+z", "-z")
SURFACE = Either((Number(0, 1), NameOrFile('the name of a surface such as "grass", "sand" or "snow", or a CSV file')))

HEAD = {
    "mesh": NameOrFile("a built-in head or an OBJ, PLY, STL or GLB file", 1000),
    "unit": OneOf(("mm", "cm", "m", "in", "guess")),
    "up": OneOf((*AXES, "guess")),
    "front": OneOf((*AXES, "guess")),
    "turn": AZIMUTH,
    "tilt": ELEVATION,
    "lean": ELEVATION,
    "planes": Whole(2, 120),
    "plane": PlaneEdits(),
}
COLOUR = {
    "Lab": Row(Number(-150, 150), (3, 3), "three numbers, L* a* b*, such as [42, 12, 20]"),
    "light": SPECTRUM,
    "srgb": Matching(re.compile(r"#[0-9a-fA-F]{6}"), 'six hexadecimal digits after #, such as "#8a5a3c"'),
}
SKIN = {
    "ladder": Whole(1, 9),
    "amounts": Amounts(),
    "colour": Colour(),
    "reflectance": NameOrFile("a CSV file of reflectance", 1000),
    "sheen_included": Flag(),
    "roughness": Number(0.05, 1),
    "oil": Number(0, 5),
    "regions": Flag(),
    "under_skin": Flag(),
}
SUN_PLACE = {"sun_azimuth": AZIMUTH, "sun_elevation": Number(0, 90)}
LIGHTS = {
    "sky": {"name": NAME, "sky": SKY, "spectrum": SPECTRUM, "illuminance": LUX, **SUN_PLACE, "on": Flag()},
    "lamp": {
        "name": NAME,
        "spectrum": SPECTRUM,
        "azimuth": AZIMUTH,
        "elevation": ELEVATION,
        "size": Number(0.05, 170),
        "distance": Number(200, 1e6),
        "diameter": Number(1, 1e6),
        "shape": OneOf(("disc", "sphere")),
        "illuminance": LUX,
        "lumens": Number(0, 1e8),
        "on": Flag(),
    },
    "daylight": {
        "name": NAME,
        "place": PlaceName(),
        "latitude": Number(-90, 90),
        "longitude": Number(-180, 180),
        "when": Moment(),
        "weather": OneOf(WEATHERS),
        "air": OneOf(AIR),
        "shade": OneOf(SHADES),
        "facing": Number(0, 360),
        "on": Flag(),
    },
    "window": {
        "name": NAME,
        "azimuth": AZIMUTH,
        "elevation": ELEVATION,
        "distance": Number(200, 1e5),
        "width": Number(10, 1e5),
        "height": Number(10, 1e5),
        "sky": SKY,
        "spectrum": SPECTRUM,
        "illuminance": LUX,
        **SUN_PLACE,
        "on": Flag(),
    },
}
SURROUND = {"ground": SURFACE, "walls": SURFACE, "clothes": SURFACE}
EYE = {
    "azimuth": AZIMUTH,
    "elevation": ELEVATION,
    "distance": Number(300, 1e5),
    "adaptation": Either((OneOf(("auto",)), Number(0, 1))),
    "key": Either((OneOf(("as lit", "compressed")), Number(1, 10))),
    "observer": OneOf((2, 10)),
}
EASEL = {"light": SPECTRUM, "second_light": SPECTRUM}
PALETTE = {
    "paints": Row(NameOrFile("a paint", 200), (1, 200), 'an array of 1 to 200 paints such as ["PW6", "PY43"]'),
    "most": Whole(1, 4),
    "few_paints": Flag(),
    "base": Text('"none", "auto" or one of the paints'),
    "transparent_darks": Flag(),
    "no_black": Flag(),
}
