"""What is built in, as tables to read and as JSON: lights, skins, heads, paints, sittings, surfaces, places."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS


def as_json(what: str) -> str:
    """An array of objects, each with "name", one a line; never NaN."""
    lines = [json.dumps(entry, ensure_ascii=False, allow_nan=False) for entry in _ENTRIES[what]()]
    return "[\n" + ",\n".join(lines) + "\n]"


def as_text(what: str) -> str:
    """A table with a heading, one line an entry."""
    heading, row, note = _TABLES[what]
    rows = [row(entry) for entry in _ENTRIES[what]()]
    widths = [max(map(len, column)) for column in zip(heading, *rows, strict=True)]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in (heading, *rows)
    ]
    return "\n".join(lines + (["", note] if note else []))


def lights() -> list[dict]:
    """Each light's name, description, xy, CCT in kelvin (or None), Duv and spectrum, scaled to 1 lux (2°)."""
    from sitterlight.illuminants.catalogue import names, spectrum
    from sitterlight.illuminants.observer import tristimulus
    from sitterlight.illuminants.temperature import cct_and_duv

    entries = []
    for name in names():
        light = spectrum(name)
        XYZ = tristimulus(light.power)
        cct, duv = cct_and_duv(XYZ)
        entries.append(
            {
                "name": name,
                "description": light.description,
                "xy": _numbers(XYZ[:2] / XYZ.sum(), 5),
                "cct": None if cct is None else round(float(cct), 1),
                "duv": round(float(duv), 5),
                "spectrum": _spectrum(light.power),
            }
        )
    return entries


def skins() -> list[dict]:
    """Each step of the ladder: amounts, Lab (D65, 2°, body), ITA in degrees and the albedo at every 10 nm."""
    from sitterlight.shading.ladder import LADDER, ladder_amounts
    from sitterlight.shading.skin import albedo
    from sitterlight.shading.skin_colour import describe

    entries = []
    for step in range(1, len(LADDER) + 1):
        amounts = ladder_amounts(step)
        body = albedo(amounts)
        colour = describe(body)
        entries.append(
            {
                "name": str(step),
                "ladder": step,
                "amounts": {name: float(value) for name, value in amounts.as_dict().items()},
                "Lab": _numbers(colour.Lab, 3),
                "ITA": round(float(colour.ITA), 2),
                "albedo": _spectrum(body, every=2),
            }
        )
    return entries


def heads() -> list[dict]:
    """Each built-in head, the number of its vertices and the names of its planes."""
    from sitterlight.meshes.library import head_names, load_head

    entries = []
    for name in head_names():
        head = load_head(name)
        planes = [plane.name if plane.side == "centre" else f"{plane.name}, {plane.side}" for plane in head.planes]
        entries.append({"name": name, "vertices": len(head.vertices), "planes": planes})
    return entries


def paints() -> list[dict]:
    """Each paint's id, common name, group, Colour Index generic name, character and caution."""
    from sitterlight.shading.paints import library

    return [
        {
            "name": paint.id,
            "common_name": paint.name,
            "colour_index": paint.colour_index,
            "group": paint.group,
            "also": list(paint.also),
            "transparent": paint.is_transparent,
            "strong": paint.is_strong,
            "origin": paint.origin,
            "caution": paint.caution,
        }
        for paint in library()
    ]


def sittings() -> list[dict]:
    """Each built-in sitting, its title and the names of its lights."""
    from sitterlight.shading.sittings import built_in, built_in_names

    return [
        {
            "name": name,
            "title": built_in(name).title,
            "lights": [light.name for light in built_in(name).lights],
        }
        for name in built_in_names()
    ]


def surfaces() -> list[dict]:
    """Each listed surface for ground, walls and clothes, with its reflectance."""
    from sitterlight.illuminants import surfaces as room

    return [
        {
            "name": surface.name,
            "description": surface.description,
            "reflectance": _spectrum(surface.reflectance),
        }
        for surface in room.surfaces().values()
    ]


def places() -> list[dict]:
    """Each listed city with its latitude, longitude and time zone."""
    from sitterlight.illuminants.places import PLACES

    return [
        {"name": place.name, "latitude": place.latitude, "longitude": place.longitude, "zone": place.zone}
        for place in PLACES
    ]


def _spectrum(values: np.ndarray, every: int = 1) -> dict:
    """Values (81,) as wavelengths in nm and values."""
    return {
        "wavelength": [int(nm) for nm in WAVELENGTHS[::every]],
        "value": [float(f"{value:.6g}") for value in values[::every]],
    }


def _numbers(values: Sequence[float] | np.ndarray, digits: int) -> list[float]:
    return [round(float(value), digits) for value in values]


def _kelvin(cct: float | None) -> str:
    return "none" if cct is None else f"{cct:.0f} K"


def _character(paint: dict) -> str:
    words = [word for word in ("transparent", "strong") if paint[word]]
    return ", ".join(words)


Row = Callable[[dict], tuple[str, ...]]

_ENTRIES: dict[str, Callable[[], list[dict]]] = {
    "lights": lights,
    "skins": skins,
    "heads": heads,
    "paints": paints,
    "sittings": sittings,
    "surfaces": surfaces,
    "places": places,
}

_TABLES: dict[str, tuple[tuple[str, ...], Row, str]] = {
    "lights": (
        ("light", "x", "y", "CCT", "Duv", "what it is"),
        lambda e: (
            e["name"],
            f"{e['xy'][0]:.4f}",
            f"{e['xy'][1]:.4f}",
            _kelvin(e["cct"]),
            f"{e['duv']:+.4f}",
            e["description"],
        ),
        'A spectrum may also be a temperature ("6500 K": daylight for skies, Planckian for lamps) or a CSV.',
    ),
    "skins": (
        ("skin", "L*", "a*", "b*", "ITA", "melanin", "blood", "oxygenation", "carotene", "scattering"),
        lambda e: (
            e["name"],
            *(f"{value:.1f}" for value in (*e["Lab"], e["ITA"])),
            *(f"{e['amounts'][name]:.3g}" for name in ("melanin", "blood", "oxygenation", "carotene", "scattering")),
        ),
        "From deepest to fairest; body of the skin without sheen, D65, 2° observer, ITA in degrees.",
    ),
    "heads": (
        ("head", "vertices", "planes"),
        lambda e: (e["name"], str(e["vertices"]), str(len(e["planes"]))),
        "",
    ),
    "paints": (
        ("paint", "common name", "group", "character", "caution"),
        lambda e: (e["name"], e["common_name"], e["group"], _character(e), e["caution"]),
        "",
    ),
    "sittings": (
        ("sitting", "title", "lights"),
        lambda e: (e["name"], e["title"], ", ".join(e["lights"])),
        "",
    ),
    "surfaces": (("surface", "what it is"), lambda e: (e["name"], e["description"]), ""),
    "places": (
        ("place", "latitude", "longitude", "clock"),
        lambda e: (e["name"], f"{e['latitude']:g}", f"{e['longitude']:g}", e["zone"]),
        'For place = "…" of a daylight light; degrees north and east.',
    ),
}
