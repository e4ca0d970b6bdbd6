"""A page as PDF, drawn by ReportLab, and as PNG, made from that PDF by PDFium."""

from __future__ import annotations

from functools import lru_cache
from io import BytesIO

import numpy as np
from PIL import Image
from reportlab.lib.colors import HexColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from sitterlight.shading.lettering import BOLD, PLAIN, font_path, is_plain, text_picture
from sitterlight.shading.page import POINT, Box, Page, Picture, Rule, Words, text_width
from sitterlight.shading.png import png_bytes

_TEXT_PICTURE = 8  # pixels a point where words have to be drawn as a picture


def pdf_bytes(*pages: Page) -> bytes:
    """The content of a PDF file of these pages, its fonts embedded; the same pages give the same bytes. Title and
    subject are the first page's."""
    file = BytesIO()
    canvas = Canvas(file, invariant=1, pageCompression=1)
    canvas.setTitle(pages[0].title)
    canvas.setCreator("Sitterlight")
    canvas.setSubject(pages[0].kind)
    for page in pages:
        canvas.setPageSize((page.width / POINT, page.height / POINT))
        canvas.scale(1 / POINT, 1 / POINT)
        for mark in page.marks:
            _DRAW[type(mark)](canvas, page, mark)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def png_of_pdf(content: bytes, long_side: int = 1800, page: int = 0) -> bytes:
    """A page of a PDF, the first one without `page`, as the content of a PNG file, `long_side` pixels on its longer
    side."""
    import pypdfium2

    document = pypdfium2.PdfDocument(content)
    try:
        sheet = document[page]
        scale = long_side / max(sheet.get_size())
        picture = sheet.render(scale=scale).to_pil().convert("RGB")
        title = document.get_metadata_dict().get("Title", "")
    finally:
        document.close()
    return png_bytes(picture, title, dots_per_inch=72 * scale)


def _box(canvas: Canvas, page: Page, box: Box) -> None:
    canvas.setFillColor(HexColor(box.colour))
    canvas.rect(box.left, page.height - box.top - box.height, box.width, box.height, stroke=0, fill=1)


def _rule(canvas: Canvas, page: Page, rule: Rule) -> None:
    canvas.setStrokeColor(HexColor(rule.colour))
    canvas.setLineWidth(rule.thickness)
    canvas.line(rule.x1, page.height - rule.y1, rule.x2, page.height - rule.y2)


def _picture(canvas: Canvas, page: Page, picture: Picture) -> None:
    image = ImageReader(Image.fromarray(np.ascontiguousarray(picture.pixels)))
    bottom = page.height - picture.top - picture.height
    canvas.drawImage(image, picture.left, bottom, picture.width, picture.height)


def _words(canvas: Canvas, page: Page, words: Words) -> None:
    base = page.height - words.base
    if not is_plain(words.text):
        _words_as_picture(canvas, base, words)
        return
    canvas.setFillColor(HexColor(words.colour))
    canvas.setFont(_font_name(words.weight), words.size * POINT)
    x = words.x - _before(words, text_width(words.text, words.size, words.weight))
    canvas.drawString(x, base, words.text)


def _words_as_picture(canvas: Canvas, base: float, words: Words) -> None:
    colour = tuple(bytes.fromhex(words.colour[1:]))
    image = text_picture(words.text, words.size * _TEXT_PICTURE, colour, words.weight)
    width, height = (side / _TEXT_PICTURE * POINT for side in image.size)
    bottom = base - height + 1.05 * words.size * POINT
    canvas.drawImage(ImageReader(image), words.x - _before(words, width), bottom, width, height, mask="auto")


def _before(words: Words, width: float) -> float:
    return {"start": 0.0, "middle": width / 2, "end": width}[words.anchor]


@lru_cache(maxsize=2)
def _font_name(weight: str) -> str:
    name = {PLAIN: "Sitterlight", BOLD: "Sitterlight-Bold"}[weight]
    pdfmetrics.registerFont(TTFont(name, str(font_path(weight))))
    return name


_DRAW = {Box: _box, Rule: _rule, Picture: _picture, Words: _words}
