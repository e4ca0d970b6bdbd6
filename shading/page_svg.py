"""A page as SVG: texts stay texts, chips stay rectangles with their sRGB code."""

from __future__ import annotations

from base64 import b64encode
from xml.sax.saxutils import escape

from sitterlight.shading.lettering import BOLD
from sitterlight.shading.page import POINT, Box, Page, Picture, Rule, Words
from sitterlight.shading.png import png_bytes

_XLINK = 'xmlns:xlink="http://www.w3.org/1999/xlink"'


def svg_text(page: Page) -> str:
    """The content of an SVG 1.1 file of the page, lengths in millimetres."""
    marks = "\n".join(_DRAW[type(mark)](mark) for mark in page.marks)
    size = f'width="{page.width:g}mm" height="{page.height:g}mm" viewBox="0 0 {page.width:g} {page.height:g}"'
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" {_XLINK} version="1.1" {size}>\n'
        f"<title>{escape(page.title)}</title>\n"
        f'<rect width="{page.width:g}" height="{page.height:g}" fill="#ffffff"/>\n'
        f'<g font-family="DejaVu Sans, Bitstream Vera Sans, Verdana, sans-serif">\n{marks}\n</g>\n</svg>\n'
    )


def _box(box: Box) -> str:
    place = f'x="{box.left:.3f}" y="{box.top:.3f}" width="{box.width:.3f}" height="{box.height:.3f}"'
    return f'<rect {place} fill="{box.colour}"/>'


def _rule(rule: Rule) -> str:
    ends = f'x1="{rule.x1:.3f}" y1="{rule.y1:.3f}" x2="{rule.x2:.3f}" y2="{rule.y2:.3f}"'
    return f'<line {ends} stroke="{rule.colour}" stroke-width="{rule.thickness:g}"/>'


def _words(words: Words) -> str:
    bold = ' font-weight="bold"' if words.weight == BOLD else ""
    anchor = "" if words.anchor == "start" else f' text-anchor="{words.anchor}"'
    place = f'x="{words.x:.3f}" y="{words.base:.3f}" font-size="{words.size * POINT:.3f}"'
    return f'<text {place} fill="{words.colour}"{bold}{anchor}>{escape(words.text)}</text>'


def _picture(picture: Picture) -> str:
    content = b64encode(png_bytes(picture.pixels)).decode("ascii")
    place = f'x="{picture.left:.3f}" y="{picture.top:.3f}"'
    place += f' width="{picture.width:.3f}" height="{picture.height:.3f}"'
    source = f'xlink:href="data:image/png;base64,{content}"'
    return f'<image {place} preserveAspectRatio="none" {source}><title>{escape(picture.name)}</title></image>'


_DRAW = {Box: _box, Rule: _rule, Words: _words, Picture: _picture}
