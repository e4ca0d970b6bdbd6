"""What each key of a sitting file may hold, and the sitting that its tables describe.

One rule per key of each section, then what holds between keys: one source of the skin, a lamp's size or its
distance and diameter, names that lead to one light each.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from sitterlight.illuminants.places import place_named
from sitterlight.shading.plane_rules import PlaneEdits
from sitterlight.shading.sitting import (
    LIGHT_KINDS,
    DaylightLight,
    EaselSetting,
    EyeSetting,
    HeadSetting,
    Light,
    PaletteSetting,
    Sitting,
    SkinColour,
    SkinSetting,
    SurroundSetting,
    looks_like_path,
    result_names,
)
from sitterlight.shading.sitting_formats import brought_up
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
    near_miss,
    refuse,
    shown,
)

MOST_LIGHTS = 64
RESERVED_NAMES = ("sheen", "bounce", "ground", "walls")
SECTIONS = ("format", "title", "head", "skin", "light", "surround", "eye", "easel", "palette")
SKIN_SOURCES = ("ladder", "amounts", "reflectance", "colour")
MESH_KEYS = ("unit", "up", "front", "planes", "plane")


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


def sitting_from(table: object, folder: Path | None = None) -> Sitting:
    """The sitting that the tables of a file describe; relative paths start from folder.

    SittingError, in one sentence, names the key, the value and what is allowed.
    """
    table = brought_up(table)
    for key in table:
        if key not in SECTIONS:
            wrong = f"{shown(key)[1:-1]} is not a part of a sitting{near_miss(key, SECTIONS)}"
            raise SittingError(f"{wrong}; allowed are {', '.join(SECTIONS)}")
    defaults = Sitting()
    return Sitting(
        title=Text("a title")(table.get("title", defaults.title), "title"),
        head=_head(table.get("head", {})),
        skin=_skin(table.get("skin", {})),
        lights=_lights(table["light"]) if "light" in table else defaults.lights,
        surround=SurroundSetting(**check_table(table.get("surround", {}), SURROUND, "surround", "[surround]")),
        eye=EyeSetting(**check_table(table.get("eye", {}), EYE, "eye", "[eye]")),
        easel=EaselSetting(**check_table(table.get("easel", {}), EASEL, "easel", "[easel]")),
        palette=_palette(table.get("palette", {})),
        folder=folder,
    )


def _head(table: object) -> HeadSetting:
    head = HeadSetting(**check_table(table, HEAD, "head", "[head]"))
    if not looks_like_path(head.mesh):
        for key in MESH_KEYS:
            if key in table:
                raise SittingError(f'head.{key} is for a mesh of your own; the built-in head "{head.mesh}" needs none')
    elif head.up[1] == head.front[1] and "guess" not in (head.up, head.front):
        raise SittingError(
            f"head.front is {shown(head.front)}; allowed is an axis across head.up, which is {shown(head.up)}"
        )
    return head


def _skin(table: object) -> SkinSetting:
    values = check_table(table, SKIN, "skin", "[skin]")
    given = [source for source in SKIN_SOURCES if source in values]
    if len(given) > 1:
        raise SittingError(f"skin has {' and '.join(given)}; allowed is one of {', '.join(SKIN_SOURCES)}")
    if "sheen_included" in values and "reflectance" not in values:
        raise SittingError("skin.sheen_included belongs to skin.reflectance, which is missing")
    if given and "ladder" not in given:
        values["ladder"] = None
    return SkinSetting(**values)


def _lights(tables: object) -> tuple[Light, ...]:
    if not isinstance(tables, list | tuple) or len(tables) > MOST_LIGHTS:
        found = f"has {len(tables)} entries" if isinstance(tables, list | tuple) else f"is {shown(tables)}"
        raise SittingError(f"light {found}; allowed are up to {MOST_LIGHTS} tables, each headed [[light]]")
    lights = tuple(_light(table, f"light[{place}]") for place, table in enumerate(tables, start=1))
    _check_names(lights)
    return lights


def _light(table: object, where: str) -> Light:
    if not isinstance(table, Mapping):
        raise SittingError(f"{where} is {shown(table)}; allowed is a table headed [[light]]")
    kind = OneOf(tuple(LIGHT_KINDS))(table.get("kind", "sky"), f"{where}.kind")
    if isinstance(table.get("name"), str):
        where = f"{where} {shown(table['name'])}"
    rest = {key: value for key, value in table.items() if key != "kind"}
    values = check_table(rest, LIGHTS[kind], where, f"a light of kind {kind}")
    if kind == "lamp":
        _check_extent(values, where)
        _check_strength(values, where)
    if kind == "daylight":
        _check_clock(values, where)
    try:
        return LIGHT_KINDS[kind](**values)
    except ValueError as error:  # a place that lies elsewhere
        raise SittingError(f"{where}: {error}") from None


def _check_extent(values: dict, where: str) -> None:
    """A lamp has a size in degrees, or a distance and a diameter in mm; size is then set to None."""
    near = [key for key in ("distance", "diameter") if key in values]
    if not near:
        if "shape" in values:
            raise SittingError(f"{where} has shape; a near lamp has one, with distance and diameter in mm")
        return
    if "size" in values:
        raise SittingError(f"{where} has size and {near[0]}; allowed is size alone, or distance and diameter")
    if len(near) == 1:
        missing = "diameter" if near == ["distance"] else "distance"
        raise SittingError(f"{where} has {near[0]} without {missing}; allowed is size alone, or distance and diameter")
    if values["diameter"] >= 1.9 * values["distance"]:
        raise refuse(
            f"{where}.diameter",
            values["diameter"],
            f"less than 1.9 times the distance, {values['distance']:g}",
        )
    values["size"] = None


def _check_strength(values: dict, where: str) -> None:
    """A lamp has illuminance in lux, or lumens if it is near; illuminance is then set to None."""
    if "lumens" not in values:
        return
    if "illuminance" in values:
        raise SittingError(
            f"{where} has illuminance and lumens; allowed is one: illuminance in lux at the head, or lumens at the lamp"
        )
    if "distance" not in values:
        raise SittingError(
            f"{where} has lumens, which need a near lamp with distance and diameter in mm; "
            "allowed for a distant one is illuminance in lux"
        )
    values["illuminance"] = None


def _check_clock(values: dict, where: str) -> None:
    """Without a place, whose clock is known, a time needs its offset from UTC; the default hour is that clock's."""
    if "place" in values:
        values.setdefault("when", DaylightLight.when.replace(tzinfo=None))
    when = values.get("when")
    if when is not None and when.tzinfo is None and "place" not in values:
        raise refuse(f"{where}.when", when, f"{Moment().allowed}; a time without offset needs a place")


def _check_names(lights: tuple[Light, ...]) -> None:
    """Every name in the results must lead to one light, whatever its capitals."""
    seen: dict[str, int] = {}
    for place, light in enumerate(lights, start=1):
        for name in {light.name, *result_names(light)}:
            if name.lower() in RESERVED_NAMES:
                raise refuse(f"light[{place}].name", name, f"any name but {', '.join(RESERVED_NAMES)}")
            first = seen.setdefault(name.lower(), place)
            if first != place:
                other = f"light[{first}] {shown(lights[first - 1].name)}"
                raise SittingError(
                    f"light[{place}].name is {shown(light.name)}, which is ambiguous beside {other}; "
                    "allowed is a name that no other light has in the results"
                )


def _palette(table: object) -> PaletteSetting:
    palette = PaletteSetting(**check_table(table, PALETTE, "palette", "[palette]"))
    for place, paint in enumerate(palette.paints):
        if paint in palette.paints[:place]:
            raise SittingError(f"palette.paints[{place}] is {shown(paint)} a second time; allowed is each paint once")
    if palette.base not in ("none", "auto", *palette.paints):
        hint = near_miss(palette.base, palette.paints)
        raise refuse("palette.base", palette.base, '"none", "auto" or one of palette.paints, as written there', hint)
    return palette
