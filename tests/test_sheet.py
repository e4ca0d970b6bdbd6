"""The plane sheet: one page for any head, every plane on it, read back by readers that are not ours."""

import dataclasses
import xml.etree.ElementTree as ElementTree
from io import BytesIO
from itertools import pairwise

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from sheet_table import made_up_table

from sitterlight.shading import legends, maps, sheet_chips
from sitterlight.shading.page import Box, Picture, Rule, Words, fitted, text_width
from sitterlight.shading.page_pdf import pdf_bytes, png_of_pdf
from sitterlight.shading.page_svg import svg_text
from sitterlight.shading.sheet import A4, SheetPictures, plane_sheet
from sitterlight.shading.sheet_facts import direction_words, fact_lines, lux
from sitterlight.shading.sheet_paints import palette_words, recipe_words, short_names
from sitterlight.shading.sheet_strokes import sheet_strokes

GREY = np.full((50, 40, 3), 121, np.uint8)
SVG = "{http://www.w3.org/2000/svg}"


def page_for(table, scale=None):
    scale = scale or maps.note_scale(7.0)
    return plane_sheet(table, SheetPictures(GREY, GREY, legends.legend("skylight notes", scale)), 0.97)


def text_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    assert len(document) == 1
    text = document[0].get_textpage().get_text_range()
    document.close()
    return " ".join(text.replace("\u202f", " ").split())


@pytest.fixture(scope="module")
def pdf():
    return pdf_bytes(page_for(made_up_table()))


def test_one_page_of_a4(pdf):
    document = pypdfium2.PdfDocument(pdf)
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx((595.28, 841.89), abs=0.1)
    assert document.get_metadata_dict()["Title"] == "Garden, overcast"


def test_fonts_are_embedded(pdf):
    assert pdf.count(b"/FontFile2") >= 2


def test_the_text_tells_every_plane_its_notation_and_the_light(pdf):
    text = text_of(pdf)
    table = made_up_table()
    for plane in table["planes"]:
        assert plane["name"][1:] in text
    for stroke in sheet_strokes(table):
        if stroke.group != "not seen":
            assert stroke.srgb in text
        assert stroke.notation in text
    for words in ("13 500 lux", "6380 K", "2856 K", "from 40° to the sitter's right, 35° up", "97 % used", "Not seen"):
        assert words in text


def test_the_same_sheet_gives_the_same_bytes(pdf):
    assert pdf_bytes(page_for(made_up_table())) == pdf


@pytest.mark.parametrize("planes", [0, 1, 6, 36, 60, 90])
def test_every_plane_has_a_chip(planes):
    table = made_up_table(planes)
    shown = {mark.colour for mark in page_for(table).marks if isinstance(mark, Box)}
    largest = [max(plane["targets"], key=lambda t: t["share_of_area"]) for plane in table["planes"]]
    assert {target["srgb"] for target in largest} <= shown


def test_too_many_planes_are_said_to_be_in_the_tables():
    page = page_for(made_up_table(400))
    said = [mark.text for mark in page.marks if isinstance(mark, Words) and "in the tables only" in mark.text]
    assert len(said) == 1
    assert int(said[0].split()[0]) > 200


@pytest.mark.parametrize("planes", [1, 20, 56, 90, 400])
def test_nothing_lies_outside_the_page_and_no_chips_overlap(planes):
    chips = []
    for mark in page_for(made_up_table(planes)).marks:
        if isinstance(mark, Box | Picture):
            edges = (mark.left, mark.top, mark.left + mark.width, mark.top + mark.height)
            if isinstance(mark, Box) and mark.width > 4 and mark.colour != "#797979":
                chips.append(edges)
        elif isinstance(mark, Rule):
            edges = (mark.x1, mark.y1, mark.x2, mark.y2)
        else:
            long = text_width(mark.text, mark.size, mark.weight)
            left = mark.x - {"start": 0, "middle": long / 2, "end": long}[mark.anchor]
            edges = (left, mark.base - 2, left + long, mark.base)
        assert edges[0] >= 8, mark
        assert edges[1] >= 5, mark
        assert edges[2] <= A4[0] - 8, mark
        assert edges[3] <= A4[1] - 6, mark
    chips.sort()
    for k, (left, top, right, bottom) in enumerate(chips):
        for other in chips[k + 1 :]:
            assert other[0] >= right - 1e-6 or other[1] >= bottom - 1e-6 or other[3] <= top + 1e-6
            assert (other[0] >= right - 1e-6) or (abs(other[0] - left) < 1.5)


@pytest.mark.parametrize("planes", [5, 56, 90])
def test_words_beside_one_chip_do_not_run_into_each_other(planes):
    words = [mark for mark in page_for(made_up_table(planes)).marks if isinstance(mark, Words)]
    rows = {}
    for mark in words:
        rows.setdefault(round(mark.base, 3), []).append(mark)
    for row in rows.values():
        spans = []
        for mark in row:
            long = text_width(mark.text, mark.size, mark.weight)
            left = mark.x - {"start": 0, "middle": long / 2, "end": long}[mark.anchor]
            spans.append((left, left + long, mark.text))
        spans.sort()
        for (_, end, before), (start, _, after) in pairwise(spans):
            assert start >= end - 0.05, (before, after)


def test_families_run_from_light_to_dark():
    found = sheet_strokes(made_up_table())
    groups = [stroke.group for stroke in found]
    assert groups == sorted(groups, key=("light", "halftone", "shadow", "not seen").index)
    for group in set(groups):
        values = [stroke.Lab[0] for stroke in found if stroke.group == group]
        assert values == sorted(values, reverse=True)


def test_chips_in_the_picture_have_their_colour(pdf):
    page = page_for(made_up_table())
    picture = np.asarray(Image.open(BytesIO(png_of_pdf(pdf, 1800))))
    assert max(picture.shape[:2]) == pytest.approx(1800, abs=2)
    scale = picture.shape[0] / A4[1]
    chips = [mark for mark in page.marks if isinstance(mark, Box) and mark.width > 4 and mark.colour != "#797979"]
    assert len(chips) > 60
    for chip in chips:
        row, column = int((chip.top + chip.height / 2) * scale), int((chip.left + chip.width / 2) * scale)
        assert np.abs(picture[row, column].astype(int) - list(bytes.fromhex(chip.colour[1:]))).max() <= 1


def test_the_picture_is_marked_as_srgb(pdf):
    image = Image.open(BytesIO(png_of_pdf(pdf, 600)))
    image.load()
    assert image.info["srgb"] == 0
    assert image.info["Title"] == "Garden, overcast"


@pytest.mark.parametrize(
    "title", ["Jardín, άνοιξη, сад", "庭の光", "ضوء الحديقة", "उद्यान", "😀", "", "w" * 300, "a\nb\0c"]
)
def test_any_title(title):
    page = page_for(made_up_table(6, title))
    picture = np.asarray(Image.open(BytesIO(png_of_pdf(pdf_bytes(page), 600))))
    heading = picture[20:40, 20:380]
    assert (heading.min() < 120) == bool(title)
    ElementTree.fromstring(svg_text(page))


def test_svg_holds_the_same_words_and_chips():
    page = page_for(made_up_table())
    root = ElementTree.fromstring(svg_text(page))
    assert root.get("width") == "210mm"
    texts = [element.text for element in root.iter(f"{SVG}text")]
    assert texts == [mark.text for mark in page.marks if isinstance(mark, Words)]
    fills = [element.get("fill") for element in root.iter(f"{SVG}rect")][1:]
    assert fills == [mark.colour for mark in page.marks if isinstance(mark, Box)]
    assert len(list(root.iter(f"{SVG}image"))) == 3


def test_signs_of_xml_in_a_title_stay_text():
    page = page_for(made_up_table(3, '<b> & "light"'))
    root = ElementTree.fromstring(svg_text(page))
    assert root.find(f"{SVG}title").text == '<b> & "light"'


def test_recipes_in_words():
    assert recipe_words(None) is None
    recipe = {"parts": [{"paint": "PW6", "parts": 3}, {"paint": "PB29", "parts": 0.1, "drops": 2}], "delta_e": 0.4}
    assert recipe_words(recipe) == "3 PW6 + 2 drops PB29"
    assert recipe_words({**recipe, "delta_e": 5.4}) == "≈ 3 PW6 + 2 drops PB29"


def test_short_names_of_paints():
    umbers = ["PBr7 burnt umber", "PBr7 raw umber", "PW6"]
    assert list(short_names(umbers).values()) == ["PBr7bu", "PBr7ru", "PW6"]
    assert palette_words(umbers) == "PBr7bu burnt umber, PBr7ru raw umber, PW6 titanium white"
    alike = ["PR101 red", "PR101 rust"]
    assert list(short_names(alike).values()) == alike
    assert palette_words(["my own red"]) == "myor my own red"


def test_small_things_are_said_in_words():
    assert lux(None) == "no light"
    assert lux(1234.0) == "1230 lux"
    assert lux(85000.0) == "85\u202f000 lux"
    assert direction_words(0, 0) == "from ahead"
    assert direction_words(-180, -10) == "from behind, 10° down"
    assert direction_words(20, 90) == "from straight above"
    headings = [heading for heading, _ in fact_lines(made_up_table(), 1.0)]
    assert headings == ["Light", "Skin", "Eye", "In short", "Palette, in parts by volume"]


def test_words_are_cut_to_their_room():
    cut = fitted(Words(0, 0, "a rather long name of a plane", 8.0), 20)
    assert cut.text.endswith("…")
    assert text_width(cut.text, cut.size) <= 20
    whole = fitted(Words(0, 0, "chin", 8.0), 20)
    assert (whole.text, whole.size) == ("chin", 8.0)


@pytest.mark.parametrize("room", [27.0, 28.3, 29.1, 31.7, 33.9])
def test_words_that_can_be_set_smaller_are_not_cut(room):
    """Not even by the last digit of a width that they have just been set to."""
    for words in ("5 PW6 + 1 PBr7ru + 2 drops PR101t", "12 PW6 + 2 PBr7bu + 2 PBr7ru + 1 PG18", "9 PBr7ru + 3 PW6"):
        assert fitted(Words(0, 0, words, 5.8), room, 0.4).text == words


def test_no_greying_is_not_written_below_nought():
    strokes = [dataclasses.replace(stroke, greying=-0.004) for stroke in sheet_strokes(made_up_table(3))]
    marks = sheet_chips.chip_marks(strokes, (12.0, 100.0), 186.0, 180.0)
    told = [mark.text for mark in marks if isinstance(mark, Words)]
    assert "0.00" in told and "−0.00" not in told


def test_chips_are_larger_where_there_is_room():
    few, many = (sheet_chips.chip_size(sheet_strokes(made_up_table(n)), 190) for n in (20, 90))
    assert few == sheet_chips.LARGEST
    assert sheet_chips.TINY <= many < few
