"""A printed page as a list of marks, in millimetres from its upper left corner; drawing it is another matter.

The same page becomes PDF, PNG and SVG. Colours are sRGB codes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from sitterlight.shading.lettering import PLAIN, font

POINT = 25.4 / 72
"""Millimetres to a typographic point."""

INK, SOFT_INK, RULE, NEUTRAL = "#202020", "#666666", "#c9c9c9", "#797979"


@dataclass(frozen=True)
class Box:
    """A filled rectangle."""

    left: float
    top: float
    width: float
    height: float
    colour: str


@dataclass(frozen=True)
class Rule:
    """A straight line, `thickness` in mm."""

    x1: float
    y1: float
    x2: float
    y2: float
    colour: str = RULE
    thickness: float = 0.12


@dataclass(frozen=True)
class Words:
    """A line of text on its `base` line, `size` in points, starting, centred or ending at `x`."""

    x: float
    base: float
    text: str
    size: float = 6.0
    colour: str = INK
    weight: str = PLAIN
    anchor: str = "start"


@dataclass(frozen=True)
class Picture:
    """Pixels (H,W,3) uint8 laid into a rectangle; `name` says what they show."""

    left: float
    top: float
    width: float
    height: float
    pixels: np.ndarray = field(repr=False, compare=False)
    name: str = ""


Mark = Box | Rule | Words | Picture


@dataclass(frozen=True)
class Page:
    """A page of `width` × `height` mm with its `title`, its `marks` in the order they are laid down, and the `kind` of
    page it is."""

    width: float
    height: float
    title: str
    marks: tuple[Mark, ...]
    kind: str = "Plane sheet"


def text_width(text: str, size: float, weight: str = PLAIN) -> float:
    """Width in mm of a line of text, `size` in points."""
    return _hundredth(text, weight) * size * POINT / 100


def fitted(words: Words, width: float, least: float = 0.82) -> Words:
    """The same words no wider than `width` mm: set smaller down to `least` of their size, then cut short
    with …"""
    needed = text_width(words.text, words.size, words.weight)
    if needed <= width:
        return words
    size = max(words.size * width / needed, words.size * least)
    text, width = words.text, width + 1e-6  # what has just been set to this width is not cut for a rounding's sake
    while text and text_width(text.rstrip() + ("…" if text != words.text else ""), size, words.weight) > width:
        text = text[:-1]
    if text != words.text:
        text = text.rstrip() + "…"
    return Words(words.x, words.base, text, size, words.colour, words.weight, words.anchor)


def wrapped(text: str, width: float, size: float, weight: str = PLAIN) -> list[str]:
    """`text` parted at its spaces, but for those that hold together, into lines no wider than `width` mm."""
    lines: list[str] = []
    for word in filter(None, text.split(" ")):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, weight) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


@lru_cache(maxsize=4096)
def _hundredth(text: str, weight: str) -> float:
    return font(100.0, weight).getlength(text)
