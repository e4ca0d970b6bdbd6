"""The page of the mixing plan, from a made-up head."""

import dataclasses
from io import BytesIO

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from sitterlight.shading.mixing_plan import mixing_plan
from sitterlight.shading.page import Box, Words
from sitterlight.shading.page_pdf import pdf_bytes, png_of_pdf
from sitterlight.shading.paint_chips import code_of
from sitterlight.shading.plane_recipes import mixed_head
from sitterlight.shading.plane_strings import plane_strings, telling_stroke
from sitterlight.shading.sheet import A4
from sitterlight.shading.sheet_plan import plan_page
from sitterlight.shading.sitting import PaletteSetting, Sitting

PALETTE = ("PW6", "PY43", "PR101 transparent", "PBr7 burnt umber", "PB29", "PR108", "PW1")


@dataclasses.dataclass(frozen=True)
class Stroke:
    Lab: tuple
    family: str
    part: str = "whole"
    share_of_area: float = 1.0
    own_Lab: tuple = (40.0, 14.0, 18.0)
    above_white: bool = False
    recipe: object = None


@dataclasses.dataclass(frozen=True)
class Row:
    name: str
    area_mm2: float
    targets: tuple
    side: str = "centre"
    region: str = "cheek"
    visible: float = 1.0
    hidden: bool = False


def rows(count):
    """So many planes from dark to light, none like another."""
    families = ("shadow", "halftone", "light")
    return [
        Row(
            f"plane {k}",
            300.0 + 40 * k,
            (Stroke((20.0 + 55 * k / count, 6.0 + k % 9, 8.0 + k % 7), families[3 * k // count]),),
        )
        for k in range(count)
    ]


def page_of(count, title="Garden, overcast", palette=PALETTE):
    sitting = Sitting(palette=PaletteSetting(palette))
    mixed = mixed_head(rows(count), sitting)
    plan = mixing_plan(mixed.rows, mixed.recipes, sitting)
    return plan_page(title, plan, mixed), plan, mixed


def words_of(page):
    return " ".join(mark.text for mark in page.marks if isinstance(mark, Words))


@pytest.mark.parametrize("count", [3, 12, 40])
def test_everything_lies_on_the_page(count):
    page, plan, _ = page_of(count)
    assert (page.width, page.height) == A4
    for mark in page.marks:
        if isinstance(mark, Box):
            assert mark.left >= 0 and mark.left + mark.width <= page.width
            assert mark.top >= 0 and mark.top + mark.height <= page.height
        if isinstance(mark, Words):
            assert 0 < mark.base < page.height and mark.x <= page.width
    assert len(plan.piles) >= min(count, 3)


def test_piles_tubes_strings_and_cautions_are_told():
    page, plan, mixed = page_of(12)
    words = words_of(page)
    for pile in plan.piles:
        assert f"{100 * pile.share_of_area:.0f} % of the area" in words
        assert code_of(pile.recipe.Lab) in {mark.colour for mark in page.marks if isinstance(mark, Box)}
    assert "goes into the mixes of" in words and "Start with" in words
    row, target = telling_stroke(mixed)
    strings = plane_strings(row, target, mixed)
    assert f"Strings: {row.name}" in words
    assert strings.pick.string.added.name in words and "chroma over L*" in words
    for caution in plan.cautions:
        assert caution.split()[-1] in words
    assert "safety sheet" in words


def test_the_rows_of_chips_hold_base_and_lightener():
    page, _, mixed = page_of(12)
    strings = plane_strings(*telling_stroke(mixed), mixed)
    colours = {mark.colour for mark in page.marks if isinstance(mark, Box)}
    assert code_of(strings.base.Lab) in colours and code_of(strings.target_Lab) in colours
    for choice in strings.lighteners[:4]:
        assert {code_of(choice.Lab), code_of(choice.string.Lab[-1])} <= colours


def test_strings_of_a_chosen_plane():
    sitting = Sitting(palette=PaletteSetting(PALETTE))
    mixed = mixed_head(rows(12), sitting)
    plan = mixing_plan(mixed.rows, mixed.recipes, sitting)
    for number in (0, 7):
        assert f"Strings: plane {number} " in words_of(plan_page("Chosen", plan, mixed, mixed.rows[number])) + " "


def test_two_pages_in_one_file():
    page, *_ = page_of(3)
    file = pdf_bytes(page, page)
    assert len(pypdfium2.PdfDocument(file)) == 2
    assert file == pdf_bytes(page, page)
    first, second = (np.asarray(Image.open(BytesIO(png_of_pdf(file, 400, page=k)))) for k in (0, 1))
    np.testing.assert_array_equal(first, second)
    assert pypdfium2.PdfDocument(file).get_metadata_dict()["Subject"] == "Mixing plan"


def test_one_tube_is_plan_enough():
    page, plan, _ = page_of(3, palette=("PBr7 burnt umber",))
    assert plan.base == "PBr7 burnt umber"
    assert "100 %" in words_of(page)


def test_every_plane_of_a_pile_is_named_where_the_page_has_room():
    page, plan, _ = page_of(12)
    told = words_of(page)
    assert "…" not in told
    assert all(stroke.split(" ")[-1] in told for pile in plan.piles for stroke in pile.strokes)


def test_curves_that_end_at_one_place_are_numbered_together():
    from sitterlight.shading.sheet_strings import _numbers

    told = [mark.text for mark in _numbers({1: (50.0, 20.0), 2: (50.5, 20.2), 3: (50.0, 30.0)}, 5.0)]
    assert told == ["1, 2", "3"]


def test_a_toxic_white_that_only_the_strings_show_has_its_caution():
    """Lead white is offered as a lightener even to a palette that has none."""
    page, plan, _ = page_of(12, palette=("PW6", "PY43", "PR101 transparent", "PB29"))
    told = words_of(page)
    assert not any("lead" in line for line in plan.cautions)
    assert ("lead white" in told.lower()) and "contains lead" in told and "safety sheet" in told
