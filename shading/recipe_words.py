"""A recipe said in words: how to mix it, whether it holds in another light, what a palette lacks."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.mixing import ViewingLight, mix_Lab
from sitterlight.shading.paints import Paint

Array = NDArray[np.floating]

# Hue angles in Lab at which one name gives way to the next; the trade's names, from memory.
_HUES = (
    (25.0, "red"),
    (60.0, "orange"),
    (105.0, "yellow"),
    (190.0, "green"),
    (285.0, "blue"),
    (335.0, "violet"),
    (360.0, "red"),
)

_PLAINLY = {"A": "lamplight (A)"}
"""Lights whose short name says nothing to a painter."""


def direction(change: ArrayLike) -> str:
    """The name of the hue toward which a change (L, a, b) goes."""
    _, a, b = np.asarray(change, float)
    angle = float(np.degrees(np.arctan2(b, a))) % 360.0
    return next(name for limit, name in _HUES if angle <= limit)


def holding(first: Array, second: Array, light: str) -> tuple[float, str]:
    """ΔE00 between the looks of one mix under two lights, and the words for it."""
    return holdings(first[None], second[None], light)[0]


def holdings(first: Array, second: Array, light: str) -> list[tuple[float, str]]:
    """The same for many mixes at once, `first (n,3)` and `second (n,3)`."""
    return [
        (float(change), _holding(float(change), way, light))
        for change, way in zip(delta_E00(first, second), second - first, strict=True)
    ]


def _holding(change: float, way: Array, light: str) -> str:
    light = _PLAINLY.get(light, light)
    if change < 1.0:
        return f"holds under {light}"
    how = "a little" if change < 2.5 else "clearly" if change < 5.0 else "strongly"
    return f"turns {how} {_shift(way)} under {light}"


def _shift(change: Array) -> str:
    if abs(change[0]) > np.hypot(change[1], change[2]):
        return "lighter" if change[0] > 0 else "darker"
    return "toward " + direction(change)


def lack(target: ArrayLike, reached: ArrayLike) -> str:
    """In what a target lies beyond a mix: "too light and too yellow"."""
    target, reached = np.asarray(target, float), np.asarray(reached, float)
    dL, da, db = target - reached
    words = []
    if abs(dL) > 1.5:
        words.append("too light" if dL > 0 else "too dark")
    if np.hypot(da, db) > 2.5:
        chroma = np.hypot(*target[1:]) - np.hypot(*reached[1:])
        across = np.sqrt(max(da**2 + db**2 - chroma**2, 0.0))
        if chroma < -across:
            words.append("too grey")
        else:
            words.append("too " + direction((0.0, da, db)))
    return " and ".join(words) or "a little beyond"


def mixing_order(parts: Array, palette: tuple[Paint, ...], light: ViewingLight, base: str | None = None) -> str:
    """How to mix `parts` (paints,): from the base outward, each step named for what it does.

    The base is the paint asked for, or else the one that there is most of, white left aside and an earth counting
    double; white comes last.
    """
    return mixing_orders(parts[None], palette, light, base)[0]


def mixing_orders(many: Array, palette: tuple[Paint, ...], light: ViewingLight, base: str | None = None) -> list[str]:
    """The same for many mixes at once, `many (n, paints)`."""
    orders = [_order(parts, palette, base) for parts in many]
    so_far = np.zeros((sum(map(len, orders)), len(palette)))
    first = 0
    for parts, order in zip(many, orders, strict=True):
        for step, paint in enumerate(order):
            so_far[first + step : first + len(order), paint] = parts[paint]
        first += len(order)
    Lab = np.split(mix_Lab(so_far, palette, light), np.cumsum([len(order) for order in orders])[:-1])
    return [_told(*each, palette) for each in zip(many, orders, Lab, strict=True)]


def _order(parts: Array, palette: tuple[Paint, ...], base: str | None) -> list[int]:
    """The paints that there is some of, in the order of mixing."""
    weight = parts * [2.0 if p.group == "earth" else 1.0 for p in palette]
    used = [int(i) for i in np.argsort(-weight, kind="stable") if parts[i] > 0]
    colours = [i for i in used if not palette[i].is_white] or used
    asked = [i for i in used if palette[i].id == base]
    start = (asked or [i for i in colours if not palette[i].is_strong] or colours)[0]
    return [start, *(i for i in colours if i != start), *(i for i in used if palette[i].is_white and i != start)]


def _told(parts: Array, order: list[int], Lab: Array, palette: tuple[Paint, ...]) -> str:
    """The order of mixing in words; `Lab` of what has been mixed after each step."""
    start, *rest = order
    if not rest:
        return f"{palette[start].name} alone, from the tube."
    steps, last = [f"start with {palette[start].name}"], ""
    for i, before, after in zip(rest, Lab[:-1], Lab[1:], strict=True):
        verb = "lift with" if palette[i].is_white else _verb(before, after)
        trace = "a trace of " if parts[i] < 0.05 * parts.sum() and palette[i].takes_drops else ""
        if verb == last:
            steps[-1] += f" and {trace}{palette[i].name}"
        else:
            steps.append(f"{verb} {trace}{palette[i].name}")
        last = verb
    sentence = ", ".join(steps) + "."
    return sentence[0].upper() + sentence[1:]


def _verb(before: Array, after: Array) -> str:
    """What adding a paint does, in the trade's words."""
    dL, da, db = after - before
    dC = float(np.hypot(*after[1:]) - np.hypot(*before[1:]))
    if dL > 6.0 and dL > abs(dC):
        return "lift with"
    if dC < -3.0 and -dC > abs(dL):
        return "calm with"
    if dL < -6.0 and -dL > abs(dC):
        return "deepen with"
    if dC > 3.0:
        return "enliven with"
    return f"turn toward {direction((0.0, da, db))} with"
