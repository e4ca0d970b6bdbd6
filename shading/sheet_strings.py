"""The strings of a plane on a page: rows of chips side by side, and their chroma and hue over the values."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from sitterlight.shading.lettering import BOLD, PLAIN
from sitterlight.shading.munsell import munsell_under_D65
from sitterlight.shading.page import INK, NEUTRAL, POINT, RULE, SOFT_INK, Box, Mark, Rule, Words, fitted, wrapped
from sitterlight.shading.paint_chips import code_of
from sitterlight.shading.paints import Paint
from sitterlight.shading.plane_strings import PlaneStrings, proportion
from sitterlight.shading.strings import CalmingChoice, LightenerChoice, String

CHIPS = 11
MOST_ROWS, MOST_CALMING = 4, 2
_ROW, _CHIP = 7.6, 5.4
_PLOT_HEIGHT = 26.0


def string_marks(
    strings: PlaneStrings, name: str, left: float, top: float, width: float, size: float
) -> tuple[list[Mark], float]:
    """Marks for the strings of the plane of that name, from `top` down, and where they end, in mm."""
    marks: list[Mark] = [Words(left, top + 3.0, f"Strings: {name}", 8.0, INK, BOLD)]
    base = top + 3.6
    for sentence in filter(None, (strings.words, strings.calm_words)):
        for text in wrapped(sentence, width, size):
            base += 1.32 * size * POINT
            marks.append(Words(left, base, text, size, INK))
    y, rows_width = base + 5.0, 0.7 * width
    marks += _heads(left, y - 1.2, rows_width, size)
    for number, choice in enumerate(strings.lighteners[:MOST_ROWS], 1):
        marks += _row(choice, f"{number}  {short_name(choice.string.added)}", strings, left, y, rows_width, size)
        y += _ROW
    for choice in strings.calmers[:MOST_CALMING]:
        marks += _row(choice, f"calm: {choice.string.added.name}", strings, left, y, rows_width, size)
        y += _ROW
    plots_left = left + rows_width + 9.0
    marks += _plots(strings, plots_left, base + 2.0, left + width - plots_left - 3.0, size)
    return marks, max(y, base + 2.0 + 2 * _PLOT_HEIGHT if strings.lighteners else y)


def _places(left: float, width: float) -> tuple[float, float, float, float]:
    """Where a row's chips begin, how wide each is, where its two large chips and its last words begin, in mm."""
    first, last = left + 0.28 * width, left + 0.85 * width
    pair = last - 14.0
    return first, (pair - 4.0 - first) / CHIPS, pair, last


def _heads(left: float, base: float, width: float, size: float) -> list[Mark]:
    first, each, pair, _ = _places(left, width)
    small = size * 0.8
    return [
        Words(first, base, "from the mix", small, SOFT_INK),
        Words(first + CHIPS * each, base, "to the tube", small, SOFT_INK, anchor="end"),
        Words(pair, base, "there | plane", small, SOFT_INK),
    ]


def how_much(choice: LightenerChoice | CalmingChoice) -> str:
    """How much of the paint is added where the row comes to the plane, and what that does to the chroma."""
    much = proportion(choice.parts).removesuffix(" of the mix")
    if isinstance(choice, CalmingChoice):
        return f"{much}, {choice.darker:.0f} L* darker" if choice.darker >= 2 else much
    chroma = "chroma kept" if abs(choice.greying) < 0.03 else f"chroma {-100 * choice.greying:+.0f} %".replace("-", "−")
    return f"{much}, {chroma}"


def _row(choice, name: str, strings: PlaneStrings, left: float, top: float, width: float, size: float) -> list[Mark]:
    """The paint's name and its chips, a mark where the row comes to the plane, and what the mix is there beside it."""
    first, each, pair, last = _places(left, width)
    room = first - left - 1.5
    weight = BOLD if choice is strings.pick else PLAIN
    marks: list[Mark] = [
        fitted(Words(left, top + 2.3, name, size, INK, weight), room, 0.7),
        fitted(Words(left, top + 4.9, how_much(choice), size * 0.84, SOFT_INK), room, 0.7),
    ]
    for k, Lab in enumerate(choice.string.even(CHIPS)):
        marks.append(Box(first + k * each, top, each, _CHIP, code_of(Lab)))
    for k, Lab in enumerate((choice.Lab, strings.target_Lab)):
        marks.append(Box(pair + 6.0 * k, top, 6.0, _CHIP, code_of(Lab)))
    notation = munsell_under_D65(np.asarray(choice.Lab)) or f"L* {choice.Lab[0]:.0f}"
    marks.append(Words(last, top + 2.3, notation, size * 0.84, INK))
    marks.append(Words(last, top + 4.9, f"ΔE {choice.delta_e:.1f}", size * 0.84, SOFT_INK))
    way = way_of(choice, strings)
    if way is not None:
        at = first + (way * (CHIPS - 1) + 0.5) * each
        marks.append(Rule(at, top - 0.7, at, top + 0.5, INK, 0.35))
        marks.append(Rule(at, top + _CHIP - 0.5, at, top + _CHIP + 0.7, INK, 0.35))
    return marks


def short_name(added: Paint) -> str:
    """The name of an added paint, short enough to stand before its row."""
    return added.name.replace(" warmed with ", " + ")


def way_of(choice: LightenerChoice | CalmingChoice, strings: PlaneStrings) -> float | None:
    """How far along its row, from 0 to 1, a choice comes to the plane: to its lightness, or to its chroma."""
    if isinstance(choice, LightenerChoice):
        return choice.string.way_at_lightness(strings.target_Lab[0])
    return choice.string.way_at_chroma(float(np.hypot(*strings.target_Lab[1:])))


def _plots(strings: PlaneStrings, left: float, top: float, width: float, size: float) -> list[Mark]:
    rows = [c.string for c in strings.lighteners[:MOST_ROWS]]
    if not rows:
        return []
    marks = _plot("chroma over L*", rows, strings, 1, left, top, width, size)
    return marks + _plot("hue angle over L*", rows, strings, 2, left, top + _PLOT_HEIGHT, width, size)


def plot_frame(rows: list[String], target, which: int) -> tuple[tuple[float, float], tuple[float, float]]:
    """Limits of lightness and of chroma (`which` 1) or hue angle (2) that hold these rows and the plane."""
    LCh = np.concatenate([row.LCh for row in rows])
    shown = LCh[LCh[:, 1] > 3.0] if which == 2 else LCh
    point = [np.hypot(*target[1:]), np.degrees(np.arctan2(target[2], target[1])) % 360.0][which - 1]
    values = np.append(shown[:, which], point)
    low = 0.0 if which == 1 else float(values.min()) - 4.0
    lightness = np.append(LCh[:, 0], target[0])
    return (float(lightness.min()) - 2.0, float(lightness.max()) + 2.0), (low, float(values.max()) * 1.05 + 1.0)


def _plot(title: str, rows, strings: PlaneStrings, which: int, left, top, width, size: float) -> list[Mark]:
    height = _PLOT_HEIGHT - 7.0
    (L0, L1), (v0, v1) = plot_frame(rows, strings.target_Lab, which)

    def place(L: float, value: float) -> tuple[float, float]:
        x = left + (L - L0) / (L1 - L0) * width
        return x, top + 3.0 + height * (1.0 - (value - v0) / max(v1 - v0, 1e-9))

    marks: list[Mark] = [
        Words(left, top + 1.8, title, size * 0.85, SOFT_INK),
        Rule(left, top + 3.0 + height, left + width, top + 3.0 + height, RULE, 0.15),
        Rule(left, top + 3.0, left, top + 3.0 + height, RULE, 0.15),
    ]
    for L in range(10 * int(np.ceil(L0 / 10)), int(L1) + 1, 20 if L1 - L0 > 50 else 10):
        x, y = place(L, v0)
        marks.append(Words(x, y + 2.4, str(L), size * 0.72, SOFT_INK, anchor="middle"))
    for value in (v0, v1):
        x, y = place(L0, value)
        marks.append(Words(left - 0.6, y + 0.8, f"{value:.0f}", size * 0.72, SOFT_INK, anchor="end"))
    ends: dict[int, tuple[float, float]] = {}
    for number, row in enumerate(rows):
        more, end = _curve(row, which, place, number)
        marks += more
        if end is not None:
            ends[number + 1] = end
    marks += _numbers(ends, size * 0.72)
    Lab = strings.target_Lab
    value = (np.hypot(*Lab[1:]), np.degrees(np.arctan2(Lab[2], Lab[1])) % 360.0)[which - 1]
    x, y = place(Lab[0], float(value))
    marks += [Box(x - 1.0, y - 1.0, 2.0, 2.0, NEUTRAL), Box(x - 0.7, y - 0.7, 1.4, 1.4, code_of(Lab))]
    return marks


def _numbers(ends: dict[int, tuple[float, float]], size: float) -> list[Mark]:
    """The number of each curve at its end; of curves that end at one place, all their numbers in one word."""
    together: list[tuple[list[int], tuple[float, float]]] = []
    for number, (x, y) in ends.items():
        near = [k for k, (_, at) in enumerate(together) if abs(at[0] - x) < 3.0 and abs(at[1] - y) < 0.8 * size * POINT]
        if near:
            together[near[0]][0].append(number)
        else:
            together.append(([number], (x, y)))
    return [
        Words(x + 0.6, y + 0.4, ", ".join(map(str, numbers)), size, INK, anchor="start") for numbers, (x, y) in together
    ]


def _curve(row: String, which: int, place, number: int) -> tuple[list[Mark], tuple[float, float] | None]:
    """A thin line with chips of the row's own colours on it, and where it ends."""
    shown = [k for k, C in enumerate(row.LCh[:, 1]) if which == 1 or C > 3.0]
    points = [place(row.LCh[k, 0], row.LCh[k, which]) for k in shown]
    marks: list[Mark] = [Rule(*a, *b, SOFT_INK, 0.18) for a, b in pairwise(points)]
    for k in range(number, len(shown), 5):
        (x, y), Lab = points[k], row.Lab[shown[k]]
        marks.append(Box(x - 0.6, y - 0.6, 1.2, 1.2, code_of(Lab)))
    return marks, points[-1] if points else None
