"""The light, the skin and the eye of a study in words and numbers, for sheets and pictures."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitterlight.shading.lettering import clean
from sitterlight.shading.sheet_paints import palette_words, used_paints
from sitterlight.shading.sheet_strokes import SheetStroke, sheet_strokes

LEAST_NOTE = 1.0
"""CAM16-UCS units; a note below it hardly shows."""


def fact_lines(table: Mapping[str, Any], adaptation: float) -> list[tuple[str, list[str]]]:
    """Headings, each with its lines, from a table made by `results.targets_table`."""
    return [
        ("Light", light_lines(table)),
        ("Skin", [skin_line(table["skin"])]),
        ("Eye", [eye_line(table["sitting"]["eye"], adaptation), key_line(table["sitting"]["eye"])]),
        ("In short", short_lines(sheet_strokes(table))),
        *_palette(table),
    ]


def _palette(table: Mapping[str, Any]) -> list[tuple[str, list[str]]]:
    used = used_paints(table)
    beyond = "≈ before a recipe: the nearest that this palette reaches"
    return [("Palette, in parts by volume", [palette_words(used), beyond])] if used else []


def light_lines(table: Mapping[str, Any]) -> list[str]:
    """The white card's light, then each light by itself, then the open horizontal illuminance."""
    card = table["white_card"]
    lines = [f"White card: {_join(lux(card['lux']), colour_words(card['cct'], card['duv']))}"]
    for light in table["lights"]:
        words = [f"{lux(light['card_lux'])} at the card{share_words(light)}", colour_words(light["cct"], light["duv"])]
        if light.get("azimuth") is not None:
            words.append(direction_words(light["azimuth"], light["elevation"]))
        lines.append(f"{clean(light['name'])}: {_join(*words)}")
    lines.append(f"Open level ground: {lux(table['open_horizontal_lux'])}{fill_words(table.get('key_to_fill_stops'))}")
    return lines


def share_words(light: Mapping[str, Any]) -> str:
    """A light's share at the card, and how far below the key, the strongest light on the head, it is there."""
    if light.get("card_share") is None or light["card_share"] > 0.9995:
        return ""
    below = light["stops_below_key"]
    told = "" if below is None else ", the key light" if below == 0 else f", {below:.1f} stops below the key light"
    return f" ({100 * light['card_share']:.0f} %{told})"


def fill_words(stops: float | None) -> str:
    """Key to fill: from what fills the shadows on the head to what stands in the light."""
    return "" if stops is None else f"; shadows {stops:.1f} stops below the lights".replace("-", "−")


def skin_line(skin: Mapping[str, Any]) -> str:
    """The body of the skin in one line."""
    L, a, b = skin["Lab"]
    words = [f"L* {L:.0f}, a* {a:.0f}, b* {b:.0f}".replace("-", "−")]
    words += [skin["munsell"]] if skin["munsell"] else []
    words.append(f"ITA {skin['ITA']:.0f}°".replace("-", "−"))
    return f"{_join(*words)} (body, under D65)"


def short_lines(strokes: list[SheetStroke]) -> list[str]:
    """The ends of what the eye sees: light and dark, greying, notes, and what lies above white."""
    seen = [stroke for stroke in strokes if stroke.group != "not seen"]
    if not seen:
        return ["The eye sees no plane from here"]
    light, dark = max(seen, key=lambda s: s.Lab[0]), min(seen, key=lambda s: s.Lab[0])
    lines = [f"L* {light.Lab[0]:.0f} ({_inside(light)}) to {dark.Lab[0]:.0f} ({_inside(dark)})"]
    greyed = [stroke for stroke in seen if stroke.greying is not None]
    if greyed:
        most, least = max(greyed, key=lambda s: s.greying), min(greyed, key=lambda s: s.greying)
        ends = f"{_hundredths(most.greying)} ({_inside(most)}) to {_hundredths(least.greying)} ({_inside(least)})"
        lines.append(f"Greying {ends}")
    lines += _note_lines([stroke for stroke in seen if stroke.skylight_note is not None])
    above = sum(stroke.above_white for stroke in seen)
    return [*lines, f"{above} of {len(seen)} strokes lie above white; paint cannot follow"] if above else lines


def _hundredths(value: float) -> str:
    return f"{round(value, 2) + 0.0:.2f}".replace("-", "−")


def _note_lines(told: list[SheetStroke]) -> list[str]:
    if not told:
        return []
    blue, warm = max(told, key=lambda s: s.skylight_note), min(told, key=lambda s: s.skylight_note)
    lines = []
    if blue.skylight_note >= LEAST_NOTE:
        lines.append(f"Bluest note {blue.skylight_note:+.1f} ({_inside(blue)})")
    if warm.skylight_note <= -LEAST_NOTE:
        lines.append(f"Warmest note −{-warm.skylight_note:.1f} ({_inside(warm)})")
    return lines or ["No note of sky blue or warmth as strong as 1"]


def _inside(stroke: SheetStroke) -> str:
    """The name of a stroke within a sentence."""
    return stroke.name[:1].lower() + stroke.name[1:]


def eye_line(eye: Mapping[str, Any], adaptation: float) -> str:
    """Where the eye stands and how far it is used to the light."""
    place = direction_words(eye["azimuth"], eye["elevation"])
    return f"{place}, {eye['distance']:.0f} mm away; {100 * adaptation:.0f} % used to the light"


def key_line(eye: Mapping[str, Any]) -> str:
    """How the scene's luminance is laid onto paint."""
    if isinstance(eye["key"], str):
        words = {"as lit": "as lit, the white card is white paint", "compressed": "compressed to the range of paint"}
        return f"Key: {words[eye['key']]}"
    return f"Key: the lightest target at Munsell value {eye['key']:g}"


def lux(value: float | None) -> str:
    """An illuminance in words, to three figures."""
    if value is None:
        return "no light"
    rounded = float(f"{value:.3g}")
    figures = f"{rounded:,.10g}".replace(",", "\u202f") if rounded >= 10000 else f"{rounded:g}"
    return f"{figures} lux"


def colour_words(cct: float | None, duv: float | None) -> str:
    """Colour temperature and distance from the Planckian locus in words; empty without a colour."""
    if duv is None:
        return ""
    distance = "Duv 0.000" if abs(duv) < 5e-4 else f"Duv {duv:+.3f}".replace("-", "−")
    return distance if cct is None else f"{cct:.0f} K, {distance}"


def direction_words(azimuth: float, elevation: float) -> str:
    """A direction as seen by the sitter, in whole degrees."""
    if abs(elevation) > 89.5:
        return "from straight above" if elevation > 0 else "from straight below"
    around = round(abs(azimuth))
    side = "the sitter's left" if azimuth > 0 else "the sitter's right"
    words = "from ahead" if around == 0 else "from behind" if around == 180 else f"from {around}° to {side}"
    up = round(elevation)
    return words if up == 0 else f"{words}, {abs(up)}° {'up' if up > 0 else 'down'}"


def _join(*words: str) -> str:
    return ", ".join(word for word in words if word)
