"""The strokes as a strip of swatches to pick from: flat squares on neutral grey, a row or more for each family."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sitterlight.shading.lettering import BOLD, clean
from sitterlight.shading.page import NEUTRAL, Box, Mark, Page, Words, fitted, wrapped
from sitterlight.shading.page_pdf import pdf_bytes, png_of_pdf
from sitterlight.shading.page_svg import svg_text
from sitterlight.shading.sheet_strokes import GROUPS, SheetStroke, sheet_strokes

SQUARE, GAP, EDGE = 16.0, 2.0, 6.0
ACROSS = 12
PIXELS_A_SQUARE = 96
_LETTERS, _ON_GREY = 4.4, "#ffffff"
_LINE = 2.0
_ROW = SQUARE + GAP + 3 * _LINE + 1.0
"""A square with a name of up to two lines and a code below it, all in letters of one size."""
_HEADING = 5.0


def swatches_svg(table: Mapping[str, Any]) -> str:
    """The strip as the content of an SVG file; `table` is that of `results.targets_table`."""
    return svg_text(swatch_page(table))


def swatches_png(table: Mapping[str, Any]) -> bytes:
    """The strip as the content of a PNG file in sRGB; a square is about 96 pixels wide."""
    page = swatch_page(table)
    long_side = round(max(page.width, page.height) * PIXELS_A_SQUARE / SQUARE)
    return png_of_pdf(pdf_bytes(page), min(long_side, 6000))


def swatch_page(table: Mapping[str, Any]) -> Page:
    """The strip as a page: each square with the name and the sRGB code of its stroke below it."""
    marks: list[Mark] = []
    top = EDGE
    found = sheet_strokes(table)
    for group in GROUPS:
        members = [stroke for stroke in found if stroke.group == group]
        if not members:
            continue
        marks.append(Words(EDGE, top + 3.0, group.capitalize(), 7.0, _ON_GREY, BOLD))
        top += _HEADING
        for k, stroke in enumerate(members):
            row, column = divmod(k, ACROSS)
            marks += _swatch(stroke, EDGE + column * (SQUARE + GAP), top + row * _ROW)
        top += _ROW * (1 + (len(members) - 1) // ACROSS) + 1.0
    width, height = 2 * EDGE + ACROSS * (SQUARE + GAP) - GAP, top + EDGE - 1.0
    ground = Box(0, 0, width, height, NEUTRAL)
    return Page(width, height, clean(table["sitting"]["title"]), (ground, *marks))


def _swatch(stroke: SheetStroke, left: float, top: float) -> list[Mark]:
    first, *others = wrapped(stroke.name, SQUARE, _LETTERS)
    lines = [first, *([" ".join(others)] if others else []), stroke.srgb]
    return [
        Box(left, top, SQUARE, SQUARE, stroke.srgb),
        *(
            fitted(Words(left, top + SQUARE + k * _LINE, words, _LETTERS, _ON_GREY), SQUARE, 1.0)
            for k, words in enumerate(lines, 1)
        ),
    ]
