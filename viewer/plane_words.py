"""What the window says of a plane in a few letters, without Qt."""

from __future__ import annotations

from functools import lru_cache

from sitterlight.shading.families import FAMILIES
from sitterlight.shading.maps import greying_scale, note_scale
from sitterlight.shading.picture import encode
from sitterlight.shading.targets import PlaneRow, Seen

HIDDEN = "hidden"
GROUPS = {"light": "Light", "halftone": "Halftone", "shadow": "Shadow", HIDDEN: "Hidden from here"}
LEAST_NOTE, LEAST_GREYING = 1.0, 0.1


def plane_name(row: PlaneRow) -> str:
    """The plane's name with its side."""
    return row.name if row.side == "centre" else f"{row.name}, {row.side}"


def short_name(row: PlaneRow) -> str:
    """The same for a narrow column: L and R for the sitter's own left and right."""
    return row.name if row.side == "centre" else f"{row.name} {row.side[0].upper()}"


def group_of(row: PlaneRow) -> str:
    """The family a plane is listed under."""
    return HIDDEN if row.hidden else row.family


def in_order(rows: list[PlaneRow], by: str = "value") -> dict[str, list[int]]:
    """Numbers of the rows by group, each group from light to dark, or by name, note or greying."""
    keys = {
        "value": lambda i: -rows[i].Lab[0],
        "name": lambda i: plane_name(rows[i]),
        "note": lambda i: -(rows[i].skylight_note or 0.0),
        "greying": lambda i: -(rows[i].greying or 0.0),
    }
    groups: dict[str, list[int]] = {group: [] for group in (*FAMILIES, HIDDEN)}
    for number in sorted(range(len(rows)), key=keys[by]):
        groups[group_of(rows[number])].append(number)
    return groups


def note_words(seen: Seen) -> str:
    """The skylight note with its direction, nothing where it is too weak to see."""
    note = seen.skylight_note
    if note is None or abs(note) < LEAST_NOTE:
        return ""
    return f"{'blue' if note > 0 else 'warm'} {abs(note):.0f}"


def greying_words(seen: Seen) -> str:
    """Greying in percent, below nought where the colour is richer; nothing where there is hardly any."""
    greying = seen.greying
    if greying is None or abs(greying) < LEAST_GREYING:
        return ""
    return f"{100 * greying:.0f} %".replace("-", "−")


def note_code(seen: Seen, strongest: float = 16.0) -> str | None:
    """The colour that the map gives a plane's note, or None where there is none to speak of."""
    if not note_words(seen):
        return None
    return _note_code(round(seen.skylight_note), strongest)


def greying_code(seen: Seen) -> str | None:
    """The colour that the map gives a plane's greying."""
    if not greying_words(seen):
        return None
    return _greying_code(round(seen.greying, 2))


@lru_cache(maxsize=256)
def _note_code(note: int, strongest: float) -> str:
    return _code(note_scale(strongest), note)


@lru_cache(maxsize=512)
def _greying_code(greying: float) -> str:
    return _code(greying_scale(), greying)


def _code(scale, value: float) -> str:
    return "#{:02x}{:02x}{:02x}".format(*encode(scale.linear(value)).reshape(3))


NOTATIONS = ("Munsell", "L*a*b* (D65)", "hex (sRGB)", "recipe")


def percent(share: float) -> str:
    """A share of one in words: "57 %"."""
    return f"{100 * share:.0f} %".replace("-", "−")


def notation(seen: Seen, kind: str) -> str:
    """A colour in one of NOTATIONS, ready to be copied; nothing where there is no recipe yet. A plane of several
    strokes has one for each."""
    if kind == "Munsell":
        return seen.munsell or "brighter than white"
    if kind == "hex (sRGB)":
        return seen.srgb
    if kind == "recipe":
        from sitterlight.shading.sheet_paints import recipe_words

        strokes = getattr(seen, "targets", (seen,))
        told = [(stroke.part, recipe_words(stroke.recipe)) for stroke in strokes if stroke.recipe]
        return "; ".join(words if part == "whole" else f"{part}: {words}" for part, words in told)
    return "Lab {:.1f} {:.1f} {:.1f}".format(*seen.Lab)
