"""Strings: rows of mixes from a base toward light with one lightener or another, and from a base toward grey.

A lightener does more than lighten. Titanium white greys a brown; ochre keeps it warm. Which is wanted, the light
decides: compared at the value of the plane, the lightener is chosen whose mix is nearest to what the plane shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sitterlight.shading.colour_spaces import LCh_from_Lab, delta_E00
from sitterlight.shading.mixing import ViewingLight, mix_Lab
from sitterlight.shading.paints import Paint, paint

Array = NDArray[np.floating]

LIGHTENERS = ("PW6", "PW1", "PY43")
"""Lighteners that are always compared, beside the palette's own."""

_STEPS = 24
_MOST_ADDED = 40.0


@dataclass(frozen=True, eq=False)
class String:
    """A row of mixes: `parts` (steps,) of the added paint to one part of the base, and their Lab (steps, 3)."""

    added: Paint
    parts: Array = field(repr=False)
    Lab: Array = field(repr=False)

    @property
    def LCh(self) -> Array:
        """Lightness, chroma and hue angle in degrees (steps, 3) along the row."""
        return LCh_from_Lab(self.Lab)

    def at_lightness(self, L: float) -> Array | None:
        """Lab (3,) where the row first comes to lightness L, between steps; None if it never does."""
        here = self.Lab[:, 0] - L
        crossing = np.flatnonzero(here[:-1] * here[1:] <= 0.0)
        if not crossing.size:
            return None
        i = int(crossing[0])
        way = here[i] / (here[i] - here[i + 1]) if here[i] != here[i + 1] else 0.0
        return self.Lab[i] + way * (self.Lab[i + 1] - self.Lab[i])


@dataclass(frozen=True, eq=False)
class LightenerChoice:
    """How one lightener serves a plane: the row, the mix at the plane's lightness, and what it does to chroma.

    greying: share of the base's chroma lost on the way to that lightness; needed: the share that the plane's own
    colour lacks there (below zero: it must gain). delta_e: ΔE00 left between mix and plane.
    """

    string: String
    Lab: tuple[float, float, float]
    greying: float
    needed: float
    delta_e: float
    words: str


def string_to(
    base: ArrayLike, added: Paint, palette: tuple[Paint, ...], light: ViewingLight, steps: int = _STEPS
) -> String:
    """The row from a base, parts (paints,) of the palette, toward an added paint, the added paint last, pure."""
    parts = np.asarray(base, float)
    parts = parts / parts.sum()
    amounts = np.concatenate([[0.0], np.geomspace(_MOST_ADDED**-1, _MOST_ADDED, steps - 2)])
    if added.is_strong:
        amounts = amounts / 10.0
    rows = np.concatenate([np.tile(parts, (len(amounts), 1)), amounts[:, None]], axis=1)
    rows = np.concatenate([rows, np.eye(len(parts) + 1)[-1:]])
    return String(added, np.append(amounts, np.inf), mix_Lab(rows, (*palette, added), light))


def lighteners_for(palette: tuple[Paint, ...], light: ViewingLight, lightest: float = 55.0) -> tuple[Paint, ...]:
    """Titanium and lead white and yellow ochre, then the palette's own whites, yellows and earths of L* 55 or more."""
    own = [p for p in palette if p.is_white or p.group in ("earth", "yellow", "orange", "own")]
    own = [p for p in own if mix_Lab([1.0], (p,), light)[0] >= lightest]
    by_id = {p.id: p for p in (*map(paint, LIGHTENERS), *own)}
    return tuple(by_id.values())


def compare_lighteners(
    base: ArrayLike,
    target_Lab: ArrayLike,
    palette: tuple[Paint, ...],
    light: ViewingLight,
    lighteners: Sequence[Paint] | None = None,
) -> list[LightenerChoice]:
    """Rows from a base to the lightness of a plane, the lightener that does what the light does first.

    Lighteners that can't reach that lightness are left out; an empty list means that none can.
    """
    target = np.asarray(target_Lab, float)
    wanted = lighteners_for(palette, light) if lighteners is None else lighteners
    chroma = float(np.hypot(*mix_Lab(base, palette, light)[1:]))
    choices = []
    for added in wanted:
        string = string_to(base, added, palette, light)
        there = string.at_lightness(float(target[0]))
        if there is None:
            continue
        lost, needed = (1.0 - float(np.hypot(*Lab[1:])) / max(chroma, 1e-9) for Lab in (there, target))
        delta_e = float(delta_E00(there, target))
        words = _words(added, lost, needed)
        choices.append(LightenerChoice(string, tuple(float(v) for v in there), lost, needed, delta_e, words))
    return sorted(choices, key=lambda c: c.delta_e)


def _words(added: Paint, lost: float, needed: float) -> str:
    keeps = "greys" if lost > 0.15 else "enlivens" if lost < -0.15 else "keeps the chroma of"
    if abs(lost - needed) < 0.15:
        return f"{added.name} {keeps} the mix, as the light does here"
    verdict = "more grey" if lost > needed else "more lively"
    return f"{added.name} {keeps} the mix and leaves it {verdict} than the plane"


def complements(
    base: ArrayLike, palette: tuple[Paint, ...], light: ViewingLight, count: int = 4
) -> list[tuple[String, float]]:
    """Rows from a base toward each paint that calms it, with the least chroma each comes to, greyest first."""
    start = float(np.hypot(*mix_Lab(base, palette, light)[1:]))
    rows = []
    for added in palette:
        if added.is_white or added.is_black:
            continue
        string = string_to(base, added, palette, light)
        inner = string.LCh[1:-1, 1]
        alone = string.LCh[-1, 1]
        least = float(inner.min())
        if least < 0.7 * start and least < 0.9 * alone:
            rows.append((string, least))
    return sorted(rows, key=lambda row: row[1])[:count]
