"""The plane sheet: one page with the head, its light in numbers, and a chip for every stroke from light to
dark."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sitterlight.shading.legends import Legend, mark_places, scale_bar
from sitterlight.shading.lettering import BOLD, clean
from sitterlight.shading.page import INK, POINT, RULE, SOFT_INK, Mark, Page, Picture, Rule, Words, fitted, wrapped
from sitterlight.shading.sheet_chips import chip_marks, chip_size
from sitterlight.shading.sheet_facts import fact_lines
from sitterlight.shading.sheet_strokes import SheetStroke, sheet_strokes

A4 = (210.0, 297.0)
MARGIN = 12.0
TOP_OF_PICTURES, BELOW_PICTURES, FOOT = 22.0, 17.5, 283.5
PICTURE_HEIGHTS = (72.0, 64.0, 54.0)
FACT_SIZES = (5.9, 5.5, 5.1, 4.7)
LARGE_ENOUGH = 9.0
"""Height of a chip in mm for whose sake the pictures are made smaller."""

_CAUTIONS = (
    "A generic bust and a skin model drawn from forearm spectra stand in for the sitter: a sheet is where to "
    "begin, the sitter has the last word. Screens and printers shift colours; where chip and notation part, "
    "trust the notation. Judge a mix dry, under the easel's light, against its chip."
)


@dataclass(frozen=True)
class SheetPictures:
    """The pictures of a sheet, (H,W,3) uint8 of one shape: the `head` as seen, and one map with its
    `legend`."""

    head: np.ndarray
    map: np.ndarray
    legend: Legend


def plane_sheet(table: Mapping[str, Any], pictures: SheetPictures, adaptation: float) -> Page:
    """The sheet of a table made by `results.targets_table`; `adaptation` is the eye's degree of it."""
    title = clean(table["sitting"]["title"])
    strokes = sheet_strokes(table)
    tall = _picture_height(strokes)
    width = tall * pictures.head.shape[1] / pictures.head.shape[0]
    marks = [*_heading(title), *_pictures(pictures, width, tall), *_facts(table, width, tall, adaptation)]
    corner = (MARGIN, TOP_OF_PICTURES + tall + BELOW_PICTURES)
    marks += chip_marks(strokes, corner, A4[0] - 2 * MARGIN, FOOT - corner[1])
    return Page(*A4, title, (*marks, *_foot()))


def _picture_height(strokes: list[SheetStroke]) -> float:
    """The largest height of the pictures, in mm, that leaves room for large enough chips."""
    for tall in PICTURE_HEIGHTS:
        room = FOOT - TOP_OF_PICTURES - tall - BELOW_PICTURES
        if chip_size(strokes, room) >= LARGE_ENOUGH:
            return tall
    return PICTURE_HEIGHTS[-1]


def _heading(title: str) -> list[Mark]:
    right = A4[0] - MARGIN
    return [
        fitted(Words(MARGIN, 15.5, title, 15.0, INK, BOLD), right - MARGIN - 30),
        Words(right, 15.5, "plane sheet", 7.0, SOFT_INK, anchor="end"),
        Rule(MARGIN, 18.7, right, 18.7),
    ]


def _pictures(pictures: SheetPictures, width: float, tall: float) -> list[Mark]:
    top, legend = TOP_OF_PICTURES, pictures.legend
    second = MARGIN + width + 5
    below = top + tall
    return [
        Picture(MARGIN, top, width, tall, pictures.head, "the head as seen"),
        Picture(second, top, width, tall, pictures.map, legend.title.lower()),
        Words(MARGIN, below + 3.4, "As seen", 6.2, INK, BOLD),
        Words(second, below + 3.4, legend.title, 6.2, INK, BOLD),
        *_legend(legend, second, below + 4.6, width),
    ]


def _legend(legend: Legend, left: float, top: float, width: float) -> list[Mark]:
    if legend.scale is None:
        return []
    bar = scale_bar(legend.scale, 256, 2)
    marks: list[Mark] = [Picture(left, top, width, 1.8, bar, "the colours of the map")]
    for place, value, words in mark_places(legend.scale):
        anchor = "start" if place < 0.02 else "end" if place > 0.98 else "middle"
        x = left + place * width
        marks.append(Words(x, top + 3.9, value, 4.6, INK, anchor=anchor))
        marks.append(Words(x, top + 5.9, words, 4.6, SOFT_INK, anchor=anchor))
    return [mark for mark in marks if not isinstance(mark, Words) or mark.text]


def _facts(table: Mapping[str, Any], width: float, tall: float, adaptation: float) -> list[Mark]:
    """The facts beside the pictures, set as large as the room allows; what no size fits is cut."""
    left = MARGIN + 2 * (width + 5) + 2
    room, top, bottom = A4[0] - MARGIN - left, TOP_OF_PICTURES, TOP_OF_PICTURES + tall + 13
    facts = fact_lines(table, adaptation)
    for size in FACT_SIZES:
        marks = _facts_of_size(facts, size, left, top, room)
        if marks[-1].base <= bottom:
            return marks
    return [mark for mark in marks if mark.base <= bottom]


def _facts_of_size(facts, size: float, left: float, top: float, room: float) -> list[Words]:
    marks: list[Words] = []
    lead = 1.32 * size * POINT
    base = top + 0.9 * size * POINT
    for heading, lines in facts:
        marks.append(Words(left, base, heading, 1.07 * size, INK, BOLD))
        base += 1.2 * lead
        for line in lines:
            for text in wrapped(line, room, size):
                marks.append(fitted(Words(left, base, text, size, INK), room))
                base += lead
            base += 0.15 * lead
        base += 0.55 * lead
    return marks


def _foot() -> list[Mark]:
    right = A4[0] - MARGIN
    marks: list[Mark] = [Rule(MARGIN, FOOT + 1.6, right, FOOT + 1.6, RULE)]
    for k, line in enumerate(wrapped(_CAUTIONS, right - MARGIN, 5.4)):
        marks.append(Words(MARGIN, FOOT + 4.7 + 2.4 * k, line, 5.4, SOFT_INK))
    return marks
