"""The chips of a sheet: flat squares of colour on neutral grey, from light to dark in each family, with
their words."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from sitterlight.shading.legends import number
from sitterlight.shading.lettering import BOLD
from sitterlight.shading.maps import Scale, greying_scale, note_scale
from sitterlight.shading.page import INK, NEUTRAL, POINT, RULE, SOFT_INK, Box, Mark, Rule, Words, fitted, text_width
from sitterlight.shading.picture import encode
from sitterlight.shading.sheet_strokes import GROUPS, SheetStroke

COLUMNS, GUTTER = 4, 4.5
HEADING = 5.4
LARGEST, SMALLEST, TINY = 12.0, 7.8, 5.5
SMALL_SHARE = 0.62  # height of a chip that the eye does not see, in heights of one it does

_TITLES = {
    "light": "Light",
    "halftone": "Halftone",
    "shadow": "Shadow",
    "not seen": "Not seen from here",
}
_DOT = 1.5


@dataclass(frozen=True)
class _Item:
    """A heading or a stroke with its place on the page."""

    height: float
    title: str = ""
    stroke: SheetStroke | None = None


def chip_marks(found: list[SheetStroke], corner: tuple[float, float], width: float, height: float) -> list[Mark]:
    """Marks for all strokes in columns within a rectangle; where they can't fit, the smallest are left to
    the tables and it is said how many."""
    column = (width - (COLUMNS - 1) * GUTTER) / COLUMNS
    left, top = corner
    marks = _key(corner, width)
    kept, size = _fit(found, height)
    for number_of_column, items in enumerate(_flow(kept, size, height)):
        marks += _column(items, left + number_of_column * (column + GUTTER), top, column, size)
    if len(kept) < len(found):
        said = f"{len(found) - len(kept)} smaller strokes are in the tables only"
        marks.append(Words(left + width, top - 2.6, said, 5.4, SOFT_INK, anchor="end"))
    return marks


def chip_size(found: list[SheetStroke], height: float) -> float:
    """The height in mm that chips would have within columns of `height` mm."""
    return _fit(found, height)[1]


def _key(corner: tuple[float, float], width: float) -> list[Mark]:
    left, top = corner
    base = top - 2.6
    marks: list[Mark] = [Words(left, base, "Strokes, light to dark", 8.0, INK, BOLD)]
    x = left + 42
    for colour, words in (
        (_code(note_scale(8.0), 6.0), "blue note"),
        (_code(note_scale(8.0), -6.0), "warm note, CAM16-UCS units"),
        (_code(greying_scale(), 0.5), "greying: 0 none, 1 neutral"),
    ):
        marks += [Box(x, base - _DOT, _DOT, _DOT, colour), Words(x + 2.3, base, words, 5.4, SOFT_INK)]
        x += text_width(words, 5.4) + 6.5
    return marks


def _fit(found: list[SheetStroke], height: float) -> tuple[list[SheetStroke], float]:
    """The strokes that fit, and the height of a chip in mm: as large as can be.

    Second parts of planes are left out before chips become smaller than SMALLEST, planes only before TINY.
    """
    leaving = _least_first(found)
    seconds = len(found) - len({(stroke.plane, stroke.side) for stroke in found})

    def kept(left_out: int) -> list[SheetStroke]:
        gone = {id(stroke) for stroke in leaving[:left_out]}
        return [stroke for stroke in found if id(stroke) not in gone]

    def fits(left_out: int, size: float) -> bool:
        return len(_flow(kept(left_out), size, height)) <= COLUMNS

    left_out = bisect_left(range(seconds), True, key=lambda n: fits(n, SMALLEST))
    if not fits(left_out, TINY):
        left_out = bisect_left(range(len(found)), True, lo=seconds, key=lambda n: fits(n, TINY))
    tenths = range(round(10 * TINY), round(10 * LARGEST) + 1)
    too_large = bisect_left(tenths, True, lo=1, key=lambda tenth: not fits(left_out, tenth / 10))
    return kept(left_out), tenths[too_large - 1] / 10


def _least_first(found: list[SheetStroke]) -> list[SheetStroke]:
    """In the order in which strokes are left out: second parts of unseen planes, second parts by area, planes."""
    largest: dict[tuple[str, str], SheetStroke] = {}
    for stroke in sorted(found, key=lambda stroke: stroke.area):
        largest[stroke.plane, stroke.side] = stroke

    def weight(stroke: SheetStroke) -> tuple[int, float]:
        first = largest[stroke.plane, stroke.side] is stroke
        return (2 if first else 0 if stroke.group == "not seen" else 1, stroke.area)

    return sorted(found, key=weight)


def _flow(found: list[SheetStroke], size: float, height: float) -> list[list[_Item]]:
    """Columns of headings and strokes; a heading never stands alone at a column's end."""
    columns: list[list[_Item]] = [[]]
    used = 0.0
    for group in GROUPS:
        members = [stroke for stroke in found if stroke.group == group]
        tall = size * (SMALL_SHARE if group == "not seen" else 1.0)
        for k, stroke in enumerate(members):
            items = [_Item(HEADING, _TITLES[group])] if k == 0 else []
            needed = tall + HEADING * len(items)
            if used + needed > height + 1e-9 and columns[-1]:
                columns.append([])
                used, needed = 0.0, tall + HEADING
                items = [_Item(HEADING, _TITLES[group] if k == 0 else f"{_TITLES[group]}, continued")]
            columns[-1] += [*items, _Item(tall, stroke=stroke)]
            used += needed
    return columns


def _column(items: list[_Item], left: float, top: float, width: float, size: float) -> list[Mark]:
    marks: list[Mark] = []
    for item in items:
        if item.stroke is None:
            marks.append(fitted(Words(left, top + HEADING - 1.7, item.title, 6.4, INK, BOLD), width))
            marks.append(Rule(left, top + HEADING - 0.6, left + width, top + HEADING - 0.6, RULE))
        elif item.stroke.group == "not seen":
            marks += _unseen(item.stroke, left, top, width, item.height, size)
        else:
            marks += _seen(item.stroke, left, top, width, item.height)
        top += item.height
    return marks


def _seen(stroke: SheetStroke, left: float, top: float, width: float, height: float) -> list[Mark]:
    mat = min(13.0, 1.35 * height)
    marks = _chip(stroke, left, top, mat, height)
    x, room = left + mat + 1.6, width - mat - 1.6
    line = height / 4.25
    size = min(6.4, 2.72 * line)
    right = left + width
    marks.append(fitted(Words(x, top + 0.86 * line, stroke.name, size, INK, BOLD), room, 0.75))
    marks.append(Words(x, top + 1.83 * line, stroke.notation, size * 0.96, INK))
    marks.append(Words(right, top + 1.83 * line, f"L* {stroke.Lab[0]:.0f}", size * 0.96, INK, anchor="end"))
    code = stroke.srgb if stroke.in_srgb else f"≈ {stroke.srgb}"
    marks.append(Words(x, top + 2.78 * line, code, size * 0.9, SOFT_INK))
    marks += _notes(stroke, right, top + 2.78 * line, size * 0.9)
    if stroke.recipe:
        marks.append(fitted(Words(x, top + 3.72 * line, stroke.recipe, size * 0.9, INK), room, 0.6))
    else:
        marks.append(Rule(x, top + 3.85 * line, right, top + 3.85 * line, RULE, 0.1))
    return marks


def _unseen(stroke: SheetStroke, left: float, top: float, width: float, height: float, size: float) -> list[Mark]:
    mat = min(13.0, 1.35 * size)
    marks = _chip(stroke, left, top, mat, height)
    x, room = left + mat + 1.6, width - mat - 1.6
    letters = min(5.4, 1.02 * height)
    marks.append(fitted(Words(x, top + 0.42 * height, stroke.name, letters, SOFT_INK), room, 0.75))
    marks.append(Words(x, top + 0.83 * height, stroke.notation, letters, SOFT_INK))
    marks.append(Words(left + width, top + 0.83 * height, f"L* {stroke.Lab[0]:.0f}", letters, SOFT_INK, anchor="end"))
    return marks


def _chip(stroke: SheetStroke, left: float, top: float, mat: float, height: float) -> list[Mark]:
    edge = 0.075 * mat
    return [
        Box(left, top, mat, height + 0.02, NEUTRAL),
        Box(left + edge, top + 0.06 * height, mat - 2 * edge, 0.88 * height, stroke.srgb),
    ]


def _notes(stroke: SheetStroke, right: float, base: float, size: float) -> list[Mark]:
    """The marks for greying and, from 1 unit on, for the note, set from the right."""
    marks: list[Mark] = []
    told, dot = [], 0.75 * size * POINT
    if stroke.greying is not None:
        greying = f"{round(stroke.greying, 2) + 0.0:.2f}".replace("-", "−")  # + 0.0: nothing is not −0.00
        told.append((greying, _code(greying_scale(), stroke.greying)))
    if stroke.skylight_note is not None and abs(stroke.skylight_note) >= 1:
        strength = number(round(stroke.skylight_note, 1))
        told.append((strength, _code(note_scale(8.0), stroke.skylight_note)))
    x = right
    for words, colour in told:
        marks.append(Words(x, base, words, size, INK, anchor="end"))
        x -= text_width(words, size) + 1.25 * dot
        marks.append(Box(x, base - dot, dot, dot, colour))
        x -= 0.9 * dot
    return marks


def _code(scale: Scale, value: float) -> str:
    return "#{:02x}{:02x}{:02x}".format(*encode(scale.linear(value)))
