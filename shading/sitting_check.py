"""The sitting that the tables of a file describe.

Each key is held to its rule (`sitting_keys`), then what holds between keys: one source of the skin, a lamp's size or
its distance and diameter, names that lead to one light each.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from sitterlight.shading.file_names import looks_like_path
from sitterlight.shading.sitting import (
    LIGHT_KINDS,
    DaylightLight,
    EaselSetting,
    EyeSetting,
    HeadSetting,
    Light,
    PaletteSetting,
    Sitting,
    SkinSetting,
    SurroundSetting,
    result_names,
)
from sitterlight.shading.sitting_formats import brought_up
from sitterlight.shading.sitting_keys import EASEL, EYE, HEAD, LIGHTS, PALETTE, SKIN, SURROUND
from sitterlight.shading.sitting_rules import (
    Moment,
    OneOf,
    SittingError,
    Text,
    check_table,
    near_miss,
    refuse,
    shown,
)

MOST_LIGHTS = 64
RESERVED_NAMES = ("sheen", "bounce", "ground", "walls")
WIDEST = 1.9
"""A near lamp's diameter for a distance of one, which it does not reach: no lamp reaches round the head."""

SECTIONS = ("format", "title", "head", "skin", "light", "surround", "eye", "easel", "palette")
SKIN_SOURCES = ("ladder", "amounts", "reflectance", "colour")
MESH_KEYS = ("unit", "up", "front", "planes", "plane")


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
    if values["diameter"] >= WIDEST * values["distance"]:
        raise refuse(
            f"{where}.diameter",
            values["diameter"],
            f"less than {WIDEST} times the distance, {values['distance']:g}",
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
