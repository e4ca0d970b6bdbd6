"""A table of targets made up for tests of sheets and tables: any number of planes, without a scene."""

from __future__ import annotations

import numpy as np

from sitterlight.shading.colour_spaces import XYZ_from_Lab, hex_from_XYZ

NAMES = ("forehead front", "temple", "brow", "upper lid", "nose side", "cheekbone top", "lower lip", "jaw underside")
FAMILIES = ("light", "halftone", "shadow")


def target(part: str, L: float, family: str, number: int) -> dict:
    """One target of a made-up plane; every third has a recipe, every seventh lies above white."""
    Lab = [L, 10.0 + number % 5, 14.0 - number % 7]
    recipe = {"parts": [{"paint": "PW6", "parts": 2}, {"paint": "PB29", "parts": 1}], "delta_e": 1.2, "Lab": Lab}
    above = number % 7 == 6
    return {
        "part": part,
        "share_of_area": {"whole": 1.0, "lit": 0.6, "shadow": 0.4}[part],
        "Lab": Lab,
        "munsell": None if above else f"{1 + number % 9}.5YR {L / 10:.1f}/2.0",
        "srgb": hex_from_XYZ(XYZ_from_Lab(np.array(Lab))),
        "in_srgb": not above,
        "above_white": above,
        "recipe": recipe if number % 3 == 0 else None,
        "family": family,
        "skylight_note": None if number % 4 == 0 else 6.0 - number % 13,
        "greying": None if number % 5 == 0 else 0.1 * (number % 15) - 0.2,
    }


def plane(number: int) -> dict:
    """One made-up plane; every third is split in two, every fifth is hidden."""
    family = FAMILIES[number % 3]
    L = 70.0 - 20 * (number % 3) - number % 11
    parts = ("lit", "shadow") if number % 3 == 1 else ("whole",)
    return {
        "name": f"{NAMES[number % len(NAMES)]} {number // len(NAMES) or ''}".strip(),
        "side": ("centre", "left", "right")[number % 3],
        "area_mm2": 400.0 + 7 * number,
        "visible": 0.0 if number % 5 == 4 else 0.8,
        "hidden": number % 5 == 4,
        "targets": [target(part, L - 6 * k, family, number + k) for k, part in enumerate(parts)],
    }


def made_up_table(planes: int = 56, title: str = "Garden, overcast") -> dict:
    """What a sheet reads of `targets.json`, for so many planes."""
    lamp = {"name": "lamp", "card_lux": 300.0, "cct": 2856.0, "duv": 0.0, "azimuth": -40.0, "elevation": 35.0}
    sky = {"name": "sky", "card_lux": 3100.0, "cct": None, "duv": 0.07, "azimuth": None, "elevation": None}
    return {
        "sitting": {"title": title, "eye": {"azimuth": 30, "elevation": -5, "distance": 1500, "key": "as lit"}},
        "white_card": {"XYZ": [900.0, 950.0, 1000.0], "cct": 6380.0, "duv": 0.003, "lux": 13520.0},
        "skin": {"Lab": [33.2, 12.1, -14.9], "munsell": None, "ITA": -48.0},
        "lights": [sky, lamp],
        "open_horizontal_lux": 8000.0,
        "planes": [plane(number) for number in range(planes)],
    }
