"""Pictures side by side with their legends, as `notes.png` has them."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw

from sitterlight.shading.legend_words import VIEWS, Legend, legend, mark_places, number
from sitterlight.shading.lettering import BOLD, PLAIN, clean, font, is_plain, text_picture
from sitterlight.shading.maps import Scale
from sitterlight.shading.picture import encode

PAPER = (238, 238, 238)
INK = (34, 34, 34)
SOFT_INK = (96, 96, 96)
RULE = (190, 190, 190)


def scale_bar(scale: Scale, width: int, height: int) -> np.ndarray:
    """The scale's colours from lowest to highest, (height, width, 3) uint8."""
    values = np.linspace(*scale.ends, width)
    return np.repeat(encode(scale.linear(values))[None], height, axis=0)


def panels(title: str, pictures: list[np.ndarray], legends: list[Legend], facts: list[str]) -> Image.Image:
    """Pictures (H,W,3) of one size side by side on light neutral paper, each over its legend, under a title.

    `facts` are lines about the light, set where the first picture needs no scale.
    """
    height, width = pictures[0].shape[:2]
    unit = width / 640
    gap, head, foot = int(28 * unit), int(82 * unit), int(178 * unit)
    total = (gap + len(pictures) * (width + gap), head + height + foot)
    sheet = Image.new("RGB", total, PAPER)
    _title(sheet, title, gap, 26 * unit, 30 * unit)
    for k, (picture, words) in enumerate(zip(pictures, legends, strict=True)):
        left = gap + k * (width + gap)
        sheet.paste(Image.fromarray(picture), (left, head))
        below = head + height + int(14 * unit)
        _words(sheet, words, facts if k == 0 else [], (left, below), width, unit)
    return sheet


def _title(sheet: Image.Image, title: str, left: int, top: float, size: float) -> None:
    title = clean(title)
    if is_plain(title):
        ImageDraw.Draw(sheet).text((left, top + size), title, font=font(size, BOLD), fill=INK, anchor="ls")
        return
    line = text_picture(title, size, INK, BOLD)
    sheet.paste(line, (left, int(top)), line)


def _words(sheet, words: Legend, facts: list[str], corner: tuple[int, int], width: int, unit: float) -> None:
    draw = ImageDraw.Draw(sheet)
    left, top = corner
    draw.text((left, top), words.title, font=font(21 * unit, BOLD), fill=INK)
    small = font(14.5 * unit, PLAIN)
    draw.text((left, top + 31 * unit), words.line, font=fitting(words.line, width, 14.5 * unit), fill=SOFT_INK)
    if words.scale is not None:
        _bar(sheet, words, (left, int(top + 64 * unit)), width, unit)
    for k, fact in enumerate(facts[:4]):
        fact_font = fitting(fact, width, 14.5 * unit)
        draw.text((left, top + (64 + 22 * k) * unit), fact, font=fact_font, fill=INK)
    below = "; ".join(part for part in (words.unit, words.note) if part)
    draw.text((left, top + 138 * unit), below, font=fitting(below, width, small.size * 0.9), fill=SOFT_INK)


def _bar(sheet, words: Legend, corner: tuple[int, int], width: int, unit: float) -> None:
    left, top = corner
    height = int(22 * unit)
    sheet.paste(Image.fromarray(scale_bar(words.scale, width, height)), (left, top))
    draw = ImageDraw.Draw(sheet)
    letters = font(14 * unit)
    for place, value, text in mark_places(words.scale):
        x = left + place * (width - 1)
        draw.line((x, top + height, x, top + height + 5 * unit), fill=SOFT_INK, width=max(1, round(unit)))
        anchor = "l" if place < 0.02 else "r" if place > 0.98 else "m"
        draw.text((x, top + height + 8 * unit), value, font=letters, fill=INK, anchor=anchor + "a")
        draw.text((x, top + height + 27 * unit), text, font=letters, fill=INK, anchor=anchor + "a")


def fitting(text: str, width: float, size: float):
    """Our font at `size`, or as much smaller as makes `text` no longer than `width` pixels."""
    letters = font(size)
    length = letters.getlength(text)
    return letters if length <= width else font(size * width / length)


__all__ = ["VIEWS", "Legend", "fitting", "legend", "mark_places", "number", "panels", "scale_bar"]
