"""The tables of a study: `targets.json` and `targets.csv`, the same numbers under the same names.

Colours and light are computed elsewhere; here they are only put in order. No table ever holds NaN: where
there is no answer JSON says null and CSV an empty cell.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, is_dataclass
from io import StringIO
from typing import Any

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.illuminants.temperature import cct_and_duv
from sitterlight.shading.colour_spaces import XYZ_from_Lab
from sitterlight.shading.light_mix import added_light, key_to_fill, light_shares
from sitterlight.shading.munsell import munsell_from_XYZ
from sitterlight.shading.sitting_file import to_json
from sitterlight.shading.skin_colour import describe

FORMAT = "sitterlight-targets/1"

_COMPONENTS = {"normal": "xyz", "XYZ": "XYZ", "paint_XYZ": "XYZ", "Lab": "Lab", "own_Lab": "Lab"}
_PLACE = ("name", "side", "region", "normal", "area_mm2", "visible", "hidden", "illuminance")
_COLOUR = ("XYZ", "Lab", "munsell", "srgb", "in_srgb", "above_white", "own_Lab")
_WHY = ("family", "skylight_note", "greying", "shares", "sheen_by_light", "bounce_by_light")
_PLANE = (*_PLACE, *_COLOUR, *_WHY)
_TARGET = ("part", "share_of_area", "Lab", "munsell", "srgb", "in_srgb", "above_white", "recipe")
_TARGET_IN_CSV = (*_TARGET, "family", "skylight_note", "greying")


def targets_table(scene, rows: Sequence) -> dict[str, Any]:
    """Everything `targets.json` holds, as plain dicts, lists, texts, numbers and None.

    `rows` are the plane rows of `targets.plane_rows(scene)`.
    """
    return plain(
        {
            "format": FORMAT,
            "sitting": to_json(scene.sitting),
            "white_card": white_card(scene),
            "skin": skin(scene),
            "lights": lights(scene),
            "key_to_fill_stops": key_to_fill(scene),
            "open_horizontal_lux": scene.open_horizontal_lux,
            "planes": [_plane(row) | {"added_XYZ": added} for row, added in zip(rows, added_XYZ(scene), strict=True)],
        }
    )


def white_card(scene) -> dict[str, Any]:
    """The white card's XYZ in cd/m², chromaticity, CCT in kelvin, Duv and illuminance in lux."""
    XYZ = np.asarray(scene.card_XYZ, dtype=float)
    total = XYZ.sum()
    if total <= 0:
        return {"XYZ": XYZ, "xy": None, "cct": None, "duv": None, "lux": scene.card_lux}
    cct, duv = cct_and_duv(XYZ)
    return {"XYZ": XYZ, "xy": XYZ[:2] / total, "cct": cct, "duv": duv, "lux": scene.card_lux}


def lights(scene) -> list[dict[str, Any]]:
    """Each light with its share of the lights at the card and on the head, and its stops below the key."""
    shares = {share.name: share for share in light_shares(scene)}
    names = ("card_share", "head_share", "stops_below_key")
    return [info | {name: getattr(shares[info["name"]], name) for name in names} for info in scene.light_info]


def added_XYZ(scene) -> list[dict[str, Any]]:
    """For each plane what each light alone adds to it, XYZ in cd/m², straight, by way of other skin and mirrored."""
    added = added_light(scene)
    return [{name: XYZ[plane] for name, XYZ in added.items()} for plane in range(len(scene.head.planes))]


def skin(scene) -> dict[str, Any]:
    """The skin's body under D65, 2°: Lab, Munsell, ITA in degrees, and its albedo from 380 to 780 nm."""
    albedo = np.asarray(scene.skin_albedo, dtype=float)
    numbers = describe(albedo)
    return {
        "Lab": numbers.Lab,
        "munsell": munsell_from_XYZ(XYZ_from_Lab(np.array(numbers.Lab))),
        "ITA": numbers.ITA,
        "albedo": {"wavelength": WAVELENGTHS, "value": albedo},
    }


def json_text(table: Mapping[str, Any]) -> str:
    """`targets.json` of a table made by `targets_table`."""
    return json.dumps(table, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def csv_text(table: Mapping[str, Any]) -> str:
    """`targets.csv` of a table made by `targets_table`: a row for each plane.

    Names are those of the JSON file, joined by dots where one holds another: `illuminance.direct`, `Lab.a`,
    `targets.1.munsell` (targets are counted from 1).
    """
    planes = [flat(plane) for plane in table["planes"]]
    names = _in_order(planes)
    stems = _stems(names)
    names = [name for name in names if name not in stems]
    text = StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(names)
    for plane in planes:
        values = (plane.get(name) for name in names)
        writer.writerow(["" if value is None else value for value in values])
    return text.getvalue()


def flat(plane: Mapping[str, Any]) -> dict[str, Any]:
    """One plane of `targets.json` as one row of names and plain values."""
    row: dict[str, Any] = {}
    plane = {name: value for name, value in plane.items() if name != "added_XYZ"}
    short = [{name: _short(target[name]) for name in _TARGET_IN_CSV} for target in plane["targets"]]
    for name, value in {**plane, "targets": short}.items():
        _flatten(name, value, row)
    return row


def _short(value: Any) -> Any:
    """A recipe without the other mixes that JSON tells of; anything else as it is."""
    if isinstance(value, Mapping):
        return {name: inner for name, inner in value.items() if name != "alternatives"}
    return value


def plain(value: Any) -> Any:
    """`value` as JSON knows it: dataclasses and arrays opened, numbers to nine figures, None for what is
    not finite."""
    if is_dataclass(value) and not isinstance(value, type):
        return plain(asdict(value))
    if isinstance(value, Mapping):
        return {str(name): plain(inner) for name, inner in value.items()}
    if isinstance(value, np.ndarray | list | tuple):
        return [plain(inner) for inner in value]
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return float(f"{float(value):.9g}") if math.isfinite(value) else None
    return value


def _plane(row: Any) -> dict[str, Any]:
    """A plane row as a dict, what it is first, then its colour, then why, then the rest and its targets."""
    plane = _ordered(asdict(row), _PLANE)
    plane["targets"] = [_ordered(target, _TARGET) for target in plane.pop("targets")]
    return plane


def _ordered(row: Mapping[str, Any], first: Sequence[str]) -> dict[str, Any]:
    return {name: row[name] for name in (*first, *(name for name in row if name not in first))}


def _flatten(name: str, value: Any, row: dict[str, Any]) -> None:
    last = name.rsplit(".", 1)[-1]
    if isinstance(value, Mapping):
        for inner, content in value.items():
            _flatten(f"{name}.{inner}", content, row)
    elif isinstance(value, list) and last in _COMPONENTS:
        for component, number in zip(_COMPONENTS[last], value, strict=True):
            row[f"{name}.{component}"] = number
    elif isinstance(value, list) and last == "parts":
        row[name] = " + ".join(f"{part['parts']:g} {part['paint']}" for part in value)
    elif isinstance(value, list):
        for count, content in enumerate(value, 1):
            _flatten(f"{name}.{count}", content, row)
    else:
        row[name] = value


def _in_order(rows: Iterable[Mapping[str, Any]]) -> list[str]:
    """Every name of the rows, each row's order kept and names of one stem together."""
    place: dict[str, int] = {}
    names: list[str] = []
    for row in rows:
        before = -1
        for name in row:
            if name not in place:
                names.insert(before + 1, name)
                place = {known: k for k, known in enumerate(names)}
            before = place[name]
    return names


def _stems(names: Iterable[str]) -> set[str]:
    """Names that hold others, such as `targets.1.recipe` of `targets.1.recipe.parts`."""
    return {name[:dot] for name in names for dot, sign in enumerate(name) if sign == "."}
