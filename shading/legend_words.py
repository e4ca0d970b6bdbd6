"""What the views of a head are called, and what each one's colours say in words. Nothing is drawn here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sitterlight.shading.maps import Scale

_LINES = {
    "as seen": ("As seen", "The head as the eye meets it: its skin, its sheen and the light together."),
    "skylight notes": (
        "Skylight notes",
        "Where the light, not the skin, pulls the colour toward sky blue or toward warm.",
    ),
    "greying": (
        "Greying",
        "How much of the skin's own colour the light has taken, up to neutral and past it.",
    ),
    "values": ("Values", "Light and dark alone (L*), in a few flat steps over the head's own range."),
    "planes": ("Planes", "One flat colour for each plane: what to mix for it, as a whole."),
    "own colour": ("Own colour", "The skin under the white card's light, flat, without sheen or shade."),
}
VIEWS = tuple(_LINES)
"""The names of the views of a head, in the order they are offered."""

VALUE_STEPS = (2, 3, 5, 9)
"""Into how many values a head is parted."""


@dataclass(frozen=True)
class Legend:
    """A view's `title`, the one `line` that says what it shows, its `scale` (None where colours speak for
    themselves), the `unit` in words, and `note`, what a striped or grey place means."""

    title: str
    line: str
    scale: Scale | None = None
    unit: str = ""
    note: str = ""


GREY = "grey: eyes, clothes"
"""What a map says nothing of."""


def legend(view: str, scale: Scale | None = None, has_grey: bool = False) -> Legend:
    """The legend of one of VIEWS; `has_grey` where eyes or clothes are in the picture. ValueError for another name."""
    if view not in _LINES:
        raise ValueError(f'"{view}" is no view; there are {", ".join(VIEWS)}.')
    title, line = _LINES[view]
    grey = [GREY] if has_grey else []
    if view == "skylight notes":
        return Legend(title, line, scale, "1 is about the least that shows (CAM16\u2011UCS)", "; ".join(grey))
    if view == "greying":
        note = "; ".join(["striped: too little colour of its own", *grey])
        return Legend(title, line, scale, "share of the skin's own chroma", note)
    if view == "values":
        return Legend(title, line, scale, "L*: black is 0, white 100")
    return Legend(title, line, scale)


def number(value: float) -> str:
    """A number on a scale, with a true minus sign and no needless noughts."""
    return f"{value:g}".replace("-", "−")


def mark_places(scale: Scale) -> list[tuple[float, str, str]]:
    """For each mark of a scale: its place from 0 to 1, its number and its words."""
    low, high = scale.ends
    last = len(scale.marks) - 1
    marks = []
    for k, (value, words) in enumerate(scale.marks):
        beyond = "≤ " if k == 0 else "≥ " if k == last else ""
        marks.append(((value - low) / (high - low), beyond + number(value), words))
    return marks
