"""The plane sheet: one page with the head, its light in numbers, and a chip for every stroke from light to
dark."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from sitterlight.shading.legends import Legend, mark_places, number, scale_bar
from sitterlight.shading.lettering import BOLD, clean
from sitterlight.shading.page import INK, RULE, SOFT_INK, Mark, Page, Picture, Rule, Words, fitted, wrapped
from sitterlight.shading.sheet_chips import chip_marks
from sitterlight.shading.sheet_facts import fact_lines
from sitterlight.shading.sheet_strokes import sheet_strokes

A4 = (210.0, 297.0)
MARGIN = 12.0
TOP_OF_PICTURES, PICTURE_HEIGHT = 24.0, 70.0
TOP_OF_CHIPS, FOOT = 108.0, 281.5

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
    marks = [*_heading(title), *_pictures(pictures), *_facts(table, pictures, adaptation)]
    marks += chip_marks(sheet_strokes(table), (MARGIN, TOP_OF_CHIPS), A4[0] - 2 * MARGIN, FOOT - TOP_OF_CHIPS)
    marks += _foot()
    return Page(*A4, title, tuple(marks))


def _heading(title: str) -> list[Mark]:
    right = A4[0] - MARGIN
    return [
        fitted(Words(MARGIN, 17.0, title, 15.0, INK, BOLD), right - MARGIN - 30),
        Words(right, 17.0, "plane sheet", 7.0, SOFT_INK, anchor="end"),
        Rule(MARGIN, 20.5, right, 20.5),
    ]


def _width(pictures: SheetPictures) -> float:
    height, width = pictures.head.shape[:2]
    return PICTURE_HEIGHT * width / height


def _pictures(pictures: SheetPictures) -> list[Mark]:
    width, top, legend = _width(pictures), TOP_OF_PICTURES, pictures.legend
    second = MARGIN + width + 4
    below = top + PICTURE_HEIGHT
    return [
        Picture(MARGIN, top, width, PICTURE_HEIGHT, pictures.head, "the head as seen"),
        Picture(second, top, width, PICTURE_HEIGHT, pictures.map, legend.title.lower()),
        Words(MARGIN, below + 3.6, "As seen", 6.2, INK, BOLD),
        Words(second, below + 3.6, legend.title, 6.2, INK, BOLD),
        *_legend(legend, second, below, width),
    ]


def _legend(legend: Legend, left: float, below: float, width: float) -> list[Mark]:
    if legend.scale is None:
        return []
    start = left + 0.42 * width
    room = left + width - start
    bar = scale_bar(legend.scale, 256, 2)
    marks: list[Mark] = [Picture(start, below + 1.7, room, 2.2, bar, "the colours of the map")]
    for place, value, words in mark_places(legend.scale):
        if not words:
            continue
        anchor = "start" if place < 0.02 else "end" if place > 0.98 else "middle"
        marks.append(Words(start + place * room, below + 6.0, value, 4.6, INK, anchor=anchor))
        if place in (0.0, 1.0) or number(0) == value:
            marks.append(Words(start + place * room, below + 8.1, words, 4.6, SOFT_INK, anchor=anchor))
    return marks


def _facts(table: Mapping[str, Any], pictures: SheetPictures, adaptation: float) -> list[Mark]:
    left = MARGIN + 2 * (_width(pictures) + 4) + 2
    room = A4[0] - MARGIN - left
    marks: list[Mark] = []
    base = TOP_OF_PICTURES + 2.4
    bottom = TOP_OF_PICTURES + PICTURE_HEIGHT + 6
    for heading, lines in fact_lines(table, adaptation):
        marks.append(Words(left, base, heading, 6.2, INK, BOLD))
        base += 3.3
        for line in lines:
            for text in wrapped(line, room, 5.8):
                if base < bottom:
                    marks.append(fitted(Words(left, base, text, 5.8, INK), room))
                base += 2.75
            base += 0.5
        base += 2.2
    return marks


def _foot() -> list[Mark]:
    right = A4[0] - MARGIN
    marks: list[Mark] = [Rule(MARGIN, FOOT + 2.0, right, FOOT + 2.0, RULE)]
    for k, line in enumerate(wrapped(_CAUTIONS, right - MARGIN, 5.4)):
        marks.append(Words(MARGIN, FOOT + 5.0 + 2.5 * k, line, 5.4, SOFT_INK))
    return marks
