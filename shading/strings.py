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
from sitterlight.shading.recipe_words import direction

Array = NDArray[np.floating]

LIGHTENERS = ("PW6", "PW1", "PY43")
"""Lighteners that are always compared, beside the palette's own."""

_STEPS = 24
_MOST_ADDED = 40.0
_MOST_CALMING = 1.0


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

    @property
    def way(self) -> Array:
        """How far along the row each step is, by distance in Lab, from 0 to 1 (steps,)."""
        length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(self.Lab, axis=0), axis=1))])
        return length / max(length[-1], 1e-9)

    def even(self, count: int) -> Array:
        """Lab (count, 3) of mixes at even distances along the row, from the base to the added paint."""
        wanted = np.linspace(0.0, 1.0, count)
        return np.stack([np.interp(wanted, self.way, self.Lab[:, k]) for k in range(3)], axis=1)

    def way_at_lightness(self, L: float) -> float | None:
        """How far along the row, from 0 to 1, it first comes to lightness L; None if it never does."""
        return self._at(crossing(self.Lab[:, 0], L), self.way)

    def way_at_chroma(self, C: float) -> float | None:
        """How far along the row, from 0 to 1, it first comes to chroma C; None if it never does."""
        return self._at(crossing(self.LCh[:, 1], C), self.way)

    def at_lightness(self, L: float) -> Array | None:
        """Lab (3,) where the row first comes to lightness L, between steps; None if it never does."""
        return self._at(crossing(self.Lab[:, 0], L), self.Lab)

    def parts_at_lightness(self, L: float) -> float | None:
        """Parts of the added paint to one of the base there; None if it never is."""
        return self._parts_at(crossing(self.Lab[:, 0], L))

    def at_chroma(self, C: float) -> tuple[Array, float] | None:
        """Lab (3,) where the row first comes to chroma C, and the parts added there; None if it never does."""
        place = crossing(self.LCh[:, 1], C)
        parts = self._parts_at(place)
        return None if parts is None else (self._at(place, self.Lab), parts)

    def _at(self, place: float | None, values: Array) -> Array | None:
        if place is None:
            return None
        i = min(int(place), len(values) - 2)
        return values[i] + (place - i) * (values[i + 1] - values[i])

    def _parts_at(self, place: float | None) -> float | None:
        """Between two steps parts grow by a constant factor; from nothing, and toward the pure paint, by share."""
        if place is None:
            return None
        i = min(int(place), len(self.parts) - 2)
        before, after = float(self.parts[i]), float(self.parts[i + 1])
        if before > 0.0 and np.isfinite(after):
            return before * (after / before) ** (place - i)
        shares = [1.0 if np.isinf(x) else x / (1.0 + x) for x in (before, after)]
        share = shares[0] + (place - i) * (shares[1] - shares[0])
        return float(share / (1.0 - share)) if share < 1.0 else float("inf")


def crossing(values: Array, level: float) -> float | None:
    """Place, counted in steps with their fractions, where a row of values first comes to a level; None if never."""
    here = values - level
    found = np.flatnonzero(here[:-1] * here[1:] <= 0.0)
    if not found.size:
        return None
    i = int(found[0])
    return i + (float(here[i] / (here[i] - here[i + 1])) if here[i] != here[i + 1] else 0.0)


@dataclass(frozen=True, eq=False)
class LightenerChoice:
    """How one lightener serves a plane: the row, the mix at the plane's lightness, and what it does to chroma.

    parts: of the lightener to one part of the base, there. greying: share of the base's chroma lost on the way to
    that lightness; needed: the share that the plane's own colour lacks there (below zero: it must gain). delta_e:
    ΔE00 left between mix and plane.
    """

    string: String
    Lab: tuple[float, float, float]
    parts: float
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
    """Titanium and lead white and yellow ochre, then the palette's own whites, yellows and earths of L* 55 or more,
    and its white warmed with its ochre."""
    own = [p for p in palette if p.is_white or p.group in ("earth", "yellow", "orange", "own")]
    own = [p for p in own if mix_Lab([1.0], (p,), light)[0] >= lightest]
    by_id = {p.id: p for p in (*map(paint, LIGHTENERS), *own, *_warmed_white(own))}
    return tuple(by_id.values())


def _warmed_white(own: Sequence[Paint]) -> list[Paint]:
    """Four parts of the first white with one of the first earth, as one lightener; none where either is missing."""
    white, earth = (next((p for p in own if fits(p)), None) for fits in (_is_white, _is_earth))
    if white is None or earth is None:
        return []
    K, S = (0.8 * getattr(white, n) + 0.2 * getattr(earth, n) for n in "KS")
    name, id = f"{white.name} warmed with {earth.name}", f"4 {white.id} + 1 {earth.id}"
    return [Paint(id, name, K, S, "white", made_of=((white.id, 0.8), (earth.id, 0.2)))]


def _is_white(one: Paint) -> bool:
    return one.is_white


def _is_earth(one: Paint) -> bool:
    return one.group == "earth"


def shares_of(added: Paint, palette: Sequence[Paint]) -> Array | None:
    """Shares (paints,) of the palette that make an added paint; None where it is not made of the palette."""
    here = [p.id for p in palette]
    made = dict(added.made_of or ((added.id, 1.0),))
    return np.array([made.get(id, 0.0) for id in here]) if set(made) <= set(here) else None


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
        parts = string.parts_at_lightness(float(target[0]))
        words = _words(added, lost, needed)
        choices.append(LightenerChoice(string, tuple(float(v) for v in there), parts, lost, needed, delta_e, words))
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


@dataclass(frozen=True, eq=False)
class CalmingChoice:
    """How one paint calms a mix to a plane's chroma: the row, the mix there, and what else it does on the way.

    parts: of the paint to one part of the mix. darker: L* lost. delta_e: ΔE00 left to the plane once it is lifted to
    the plane's lightness again.
    """

    string: String
    Lab: tuple[float, float, float]
    parts: float
    darker: float
    delta_e: float
    words: str


def compare_calming(
    mix: ArrayLike, target_Lab: ArrayLike, palette: tuple[Paint, ...], light: ViewingLight, count: int = 4
) -> list[CalmingChoice]:
    """Rows from a mix to the chroma of a plane, by each paint of the palette that calms it, the best first.

    Whites and blacks are left aside, and paints of which it would take more than there is of the mix. Empty where
    the mix has no more chroma than the plane.
    """
    target = np.asarray(target_Lab, float)
    chroma = float(np.hypot(*target[1:]))
    start = mix_Lab(mix, palette, light)
    if float(np.hypot(*start[1:])) <= chroma:
        return []
    choices = []
    for added in palette:
        if added.is_white or added.is_black:
            continue
        string = string_to(mix, added, palette, light)
        found = string.at_chroma(chroma)
        if found is None or found[1] > _MOST_CALMING:
            continue
        Lab, parts = found
        left = float(delta_E00([target[0], *Lab[1:]], target))
        darker = float(start[0] - Lab[0])
        words = _calming_words(added, darker, Lab, target)
        choices.append(CalmingChoice(string, tuple(float(v) for v in Lab), parts, darker, left, words))
    return sorted(choices, key=lambda c: c.delta_e)[:count]


def _calming_words(added: Paint, darker: float, Lab: Array, target: Array) -> str:
    words = [f"{added.name} calms the mix to the plane's chroma"]
    if abs(darker) >= 2.0:
        words.append(f"{'darkens' if darker > 0 else 'lightens'} it by {abs(darker):.0f} L*")
    if float(np.hypot(*(Lab - target)[1:])) > 3.0:
        words.append(f"leaves it too {direction(Lab - target)}")
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]
