"""What the window says of lights, without Qt: their colour on a chip, their numbers in words, their ratio in stops."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from sitterlight.illuminants.observer import tristimulus
from sitterlight.shading.colour_spaces import D65_WHITE, hex_from_XYZ
from sitterlight.shading.light_mix import LightMix, LightShare
from sitterlight.shading.resolve_lights import own_lights, resolve_lights
from sitterlight.shading.sitting import LIGHT_KINDS, Light, Sitting, result_names
from sitterlight.shading.sources import spectrum_of

NEW_NAMES = {"sky": "sky", "lamp": "lamp", "daylight": "day", "window": "window"}


def light_code(XYZ: np.ndarray) -> str:
    """The sRGB code of a light's colour, as light as the screen allows; XYZ (3,) of any size."""
    XYZ = np.asarray(XYZ, float)
    if not XYZ[1] > 0:
        return "#808080"
    return hex_from_XYZ(0.8 * XYZ / XYZ[1] * (D65_WHITE[1]))


def codes_of(sitting: Sitting) -> dict[str, tuple[str, np.ndarray]]:
    """For each light of the sitting, on or off, the code of its colour and its spectrum (81,), unscaled."""
    return {light.name: _code_of(_plain(light), sitting.folder) for light in sitting.lights}


def _plain(light: Light) -> Light:
    """The light as far as its colour goes, so that moving or dimming one of fixed colour asks for nothing anew."""
    light = replace(light, on=True, name="light")
    if light.kind == "lamp":
        light = replace(light, azimuth=0.0, elevation=0.0, illuminance=1.0, lumens=None)
    return replace(light, illuminance=1.0) if hasattr(light, "illuminance") else light


@lru_cache(maxsize=128)
def _code_of(light: Light, folder: Path | None) -> tuple[str, np.ndarray]:
    try:
        sources = own_lights(resolve_lights(Sitting(lights=(light,), folder=folder)))
        spectrum = sum(spectrum_of(source, source.mean_radiance()) for source in sources)
        return light_code(tristimulus(spectrum)), spectrum
    except ValueError:
        return "#808080", np.zeros(81)


def lux_words(lux: float) -> str:
    """Three figures and the unit."""
    if lux <= 0:
        return "0 lx"
    if lux >= 1000:
        digits = 2 - math.floor(math.log10(lux))
        return f"{round(lux, digits):,.0f} lx".replace(",", " ")
    return f"{lux:.3g} lx"


def cct_words(cct: float | None, duv: float | None = None) -> str:
    """A colour temperature to 50 K, or that there is none."""
    if cct is None:
        return "no colour temperature"
    return f"{round(cct / 50) * 50:.0f} K"


def info_line(light: Light, infos: dict[str, dict]) -> str:
    """Strength at the white card and colour of a light that is on."""
    parts = [infos[name] for name in result_names(light) if name in infos]
    if not parts:
        return "off" if not light.on else ""
    lux = sum(info["card_lux"] for info in parts)
    if lux <= 0:
        return "behind the white card"
    main = max(parts, key=lambda info: info["card_lux"])
    return f"{lux_words(lux)} · {cct_words(main['cct'])}"


def mix_words(parts: Sequence[LightShare]) -> str:
    """A light's own numbers, a line for each of its parts: lux at the card, colour, share there and on the head."""
    lines = []
    for part in parts:
        duv = f"Duv {part.duv:+.3f}".replace("-", "−")
        below = part.stops_below_key
        place = "" if below is None else ", the key light" if below == 0 else f", {below:.1f} stops below the key light"
        lines.append(
            f"{part.name}: {lux_words(part.card_lux)} at the white card ({100 * part.card_share:.0f} %), "
            f"{cct_words(part.cct)}, {duv}; {100 * part.head_share:.0f} % of the light on the head{place}"
        )
    return "\n".join(lines)


def stops_words(mix: LightMix) -> list[str]:
    """Lights below the key in stops, and the shadows below the lights."""
    lit = sorted((share for share in mix.shares if share.stops_below_key is not None), key=lambda s: s.stops_below_key)
    lines = []
    if len(lit) > 1:
        below = ", ".join(f"{share.name} {share.stops_below_key:.1f}" for share in lit[1:])
        lines.append(f"Key light on the head: {lit[0].name}. Below it, in stops: {below}")
    if mix.key_to_fill is not None:
        lines.append(f"Shadows lie {mix.key_to_fill:.1f} stops below the lights".replace("-", "−"))
    return lines


def new_light(sitting: Sitting, kind: str) -> Light:
    """A light of a kind with a name that no other light has."""
    return named_anew(sitting, replace(LIGHT_KINDS[kind](), name=NEW_NAMES[kind]))


def named_anew(sitting: Sitting, light: Light) -> Light:
    """The light with its name, numbered where another light has it."""
    taken = {name.lower() for light in sitting.lights for name in (light.name, *result_names(light))}
    name, number = light.name, 1
    while name.lower() in taken or f"{name} sun".lower() in taken:
        number += 1
        name = f"{light.name} {number}"
    return replace(light, name=name)
