"""The mixing plan as a page: tubes to squeeze out, piles in the order of mixing, the strings of one plane, cautions."""

from __future__ import annotations

from collections.abc import Sequence

from sitterlight.shading.cautions import GENERAL, cautions_and_general
from sitterlight.shading.lettering import BOLD, clean
from sitterlight.shading.mixing import viewing_light
from sitterlight.shading.mixing_plan import MixingPlan, Pile
from sitterlight.shading.page import INK, NEUTRAL, POINT, SOFT_INK, Box, Mark, Page, Rule, Words, fitted, wrapped
from sitterlight.shading.paint_chips import chip_codes, code_of
from sitterlight.shading.paints import paints
from sitterlight.shading.plane_recipes import MixedHead
from sitterlight.shading.plane_strings import PlaneStrings, plane_strings, telling_stroke
from sitterlight.shading.sheet import A4, MARGIN
from sitterlight.shading.sheet_strings import MOST_CALMING, MOST_ROWS, string_marks
from sitterlight.shading.targets import PlaneRow

_GUTTER, _COLUMNS = 5.0, 2
_SIZES = (7.0, 6.6, 6.2, 5.8, 5.4, 5.0, 4.6)
_FOOT = 287.0
_LAYINGS = (*((size, None) for size in _SIZES[:3]), *((size, 3) for size in _SIZES))
"""Sizes of letters in points, and how many lines the planes of a pile may take: all of them where there is room."""


def plan_page(title: str, plan: MixingPlan, mixed: MixedHead, row: PlaneRow | None = None) -> Page:
    """The page for a plan of a mixed head, with the strings of a plane: of the largest stroke of `row`, or of the
    stroke that says most of the head."""
    told = (row, max(row.targets, key=lambda t: t.share_of_area)) if row is not None else telling_stroke(mixed)
    strings = plane_strings(*told, mixed) if told is not None else None
    for size, most_lines in _LAYINGS:
        marks, bottom = _laid(plan, mixed, told, strings, size, most_lines)
        if bottom <= _FOOT:
            break
    return Page(*A4, f"{title}: mixing plan", (*_heading(clean(title)), *marks), "Mixing plan")


def _laid(plan: MixingPlan, mixed: MixedHead, told, strings: PlaneStrings | None, size: float, most_lines: int | None):
    """The marks below the heading with letters of `size` points, and where they end, in mm."""
    marks, top = _tubes(plan, mixed, 22.0, size)
    more, top = _piles(plan, top + 5.0, size, most_lines)
    marks += more
    if strings is not None:
        row, target = told
        name = row.name if row.side == "centre" else f"{row.name}, {row.side}"
        name = name if target.part == "whole" else f"{name}, {target.part}"
        more, top = string_marks(strings, name, MARGIN, top + 5.0, A4[0] - 2 * MARGIN, size)
        marks += more
    more, top = _cautions(_all_cautions(plan, strings), top + 5.0, size)
    return marks + more, top


def _heading(title: str) -> list[Mark]:
    right = A4[0] - MARGIN
    return [
        fitted(Words(MARGIN, 15.5, title, 15.0, INK, BOLD), right - MARGIN - 30),
        Words(right, 15.5, "mixing plan", 7.0, SOFT_INK, anchor="end"),
        Rule(MARGIN, 18.7, right, 18.7),
    ]


def _title(text: str, base: float) -> list[Mark]:
    return [Words(MARGIN, base, text, 8.0, INK, BOLD)]


def _tubes(plan: MixingPlan, mixed: MixedHead, top: float, size: float) -> tuple[list[Mark], float]:
    """What to squeeze out: a chip of each tube as it is and with white, and a bar as long as its share."""
    marks = _title("Squeeze out, by volume", top + 3.0)
    light = viewing_light(mixed.sitting.easel.light, mixed.sitting.folder)
    tubes = {p.id: p for p in paints(mixed.sitting.palette.paints, mixed.sitting.folder)}
    columns, row_height, top = 3, 6.4, top + 5.5
    width = (A4[0] - 2 * MARGIN - (columns - 1) * _GUTTER) / columns
    rows = -(-len(plan.paints) // columns)
    largest = max((share for _, share in plan.paints), default=1.0)
    for place, (id, share) in enumerate(plan.paints):
        left = MARGIN + (place // rows) * (width + _GUTTER)
        y = top + (place % rows) * row_height
        for k, code in enumerate(chip_codes(tubes[id], light)):
            marks.append(Box(left + 5.0 * k, y, 5.0, 5.2, code))
        x, room = left + 12.0, width - 12.0
        marks.append(fitted(Words(x, y + 2.4, tubes[id].label, size, INK), room - 8))
        marks.append(Words(left + width, y + 2.4, f"{100 * max(share, 0.01):.0f} %", size, INK, anchor="end"))
        marks.append(Box(x, y + 3.7, room * share / largest, 1.1, NEUTRAL))
    return marks, top + rows * row_height


def _piles(plan: MixingPlan, top: float, size: float, most_lines: int | None) -> tuple[list[Mark], float]:
    """The piles in two columns, in the order of mixing: chip, recipe, how to mix, what is painted with it."""
    marks = _title("Piles, in the order of mixing", top + 3.0)
    if plan.words:
        marks.append(Words(MARGIN + 52, top + 3.0, plan.words[0], size, SOFT_INK))
    top += 6.5
    width = (A4[0] - 2 * MARGIN - (_COLUMNS - 1) * _GUTTER) / _COLUMNS
    half = -(-len(plan.piles) // _COLUMNS)
    bottom = top
    for column in range(_COLUMNS):
        y, left = top, MARGIN + column * (width + _GUTTER)
        for number in range(column * half, min((column + 1) * half, len(plan.piles))):
            more, y = _pile(number + 1, plan.piles[number], left, y, width, size, most_lines)
            marks += more
        bottom = max(bottom, y)
    return marks, bottom


def _pile(
    number: int, pile: Pile, left: float, top: float, width: float, size: float, most_lines: int | None
) -> tuple[list[Mark], float]:
    lead, x = 1.32 * size * POINT, left + 14.5
    room, base = width - 14.5, top + 0.95 * size * POINT
    share = f"{100 * pile.share_of_area:.0f} %" if pile.share_of_area >= 0.01 else "under 1 %"
    head = f"{number}  {pile.family}, {share} of the area"
    marks: list[Mark] = [Words(x, base, head, size, INK, BOLD)]
    marks.append(Words(left + width, base, f"ΔE {pile.recipe.delta_e:.1f}", size * 0.9, SOFT_INK, anchor="end"))
    lines = [(text, INK) for text in wrapped(pile.recipe.text, room, size)]
    lines += [(text, INK) for text in wrapped(pile.recipe.order, room, size)]
    strokes = wrapped(", ".join(pile.strokes), room, size * 0.9)
    if most_lines is not None and len(strokes) > most_lines:
        strokes = [*strokes[: most_lines - 1], strokes[most_lines - 1].rstrip(", ") + " …"]
    lines += [(text, SOFT_INK) for text in strokes]
    sizes = {INK: size, SOFT_INK: size * 0.9}
    for text, colour in lines:
        base += lead
        marks.append(fitted(Words(x, base, text, sizes[colour], colour), room))
    bottom = base + 0.5 * lead
    marks.insert(0, Box(left, top, 13.0, bottom - top - 0.6, NEUTRAL))
    marks.insert(1, Box(left + 1.0, top + 1.0, 11.0, bottom - top - 2.6, code_of(pile.recipe.Lab)))
    return marks, bottom + 1.4


def _all_cautions(plan: MixingPlan, strings: PlaneStrings | None) -> list[str]:
    """The plan's cautions and those of paints that only the strings show, the general words last."""
    shown = [] if strings is None else [*strings.lighteners[:MOST_ROWS], *strings.calmers[:MOST_CALMING]]
    told = [*plan.cautions, *cautions_and_general(choice.string.added for choice in shown)]
    each = [line for line in dict.fromkeys(told) if line != GENERAL]
    return [*each, GENERAL] if GENERAL in told else each


def _cautions(told: Sequence[str], top: float, size: float) -> tuple[list[Mark], float]:
    if not told:
        return [], top
    marks, base = _title("Cautions", top + 3.0), top + 3.4
    for line in told:
        for text in wrapped(line, A4[0] - 2 * MARGIN, size * 0.95):
            base += 1.3 * size * POINT
            marks.append(Words(MARGIN, base, text, size * 0.95, INK))
    return marks, base + 1.0
