"""What a painter wants to know of a tube, in a few plain words."""

from __future__ import annotations

from pathlib import Path

from sitterlight.shading.cautions import caution
from sitterlight.shading.paints import Paint, paint

GROUPS = {
    "white": "white",
    "yellow": "yellow",
    "orange": "orange",
    "red": "red",
    "violet": "violet",
    "blue": "blue",
    "green": "green",
    "earth": "earth",
    "black": "black",
    "own": "your own",
}


def paint_words(one: Paint) -> str:
    """One line: hiding, strength, where its numbers come from."""
    hides = "transparent" if one.is_transparent else "white" if one.is_white else "opaque or nearly so"
    strength = "very strong, measured in drops" if one.is_strong else "strong" if one.takes_drops else ""
    return ", ".join(filter(None, (hides, strength)))


def tube_words(name: str, folder: str | Path | None = None) -> str:
    """All there is to tell of a tube by its name in a sitting: hiding, strength, how sure, cautions."""
    lines = []
    if name.strip().lower().endswith(".toml"):
        from sitterlight.shading.paint_file import read_paint_file

        own = read_paint_file(Path(folder or ".") / name)
        one = own.paint
        sure = {"sure": "The program is sure of it.", "fair": "The program is fairly sure of it."}
        lines.append(f"{sure.get(own.confidence, 'The program can only guess at it.')} {own.why}")
    else:
        one = paint(name, folder)
        lines.append("Typical of its pigment: your tube may be a third stronger or weaker.")
    words = paint_words(one)
    return " ".join(filter(None, (f"{one.label}: {words}.", *lines, caution(one))))


def matches(one: Paint, words: str) -> bool:
    """Whether every word of a search is in a paint's names, Colour Index name, group or caution."""
    text = " ".join((one.id, one.name, *one.also, GROUPS.get(one.group, one.group), one.caution, paint_words(one)))
    return all(word in text.casefold() for word in words.casefold().split())
