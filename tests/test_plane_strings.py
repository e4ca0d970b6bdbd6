"""Strings of a plane: what to start from, the lightener that does what the light does, and what calms."""

import dataclasses

import numpy as np
import pytest

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.mixing import mix_Lab, viewing_light
from sitterlight.shading.paints import paint, paints
from sitterlight.shading.plane_recipes import mixed_head
from sitterlight.shading.plane_strings import LEAST_LIFT, plane_strings, proportion, telling_stroke
from sitterlight.shading.sitting import PaletteSetting, Sitting, with_skin
from sitterlight.shading.strings import compare_calming, compare_lighteners, shares_of, string_to

TUBES = ("PW6", "PY43", "PR101 transparent", "PBr7 burnt umber", "PB29", "PG18")
SITTING = Sitting(palette=PaletteSetting(TUBES))
PALETTE = paints(TUBES)
D50 = viewing_light("D50")


@dataclasses.dataclass(frozen=True)
class Stroke:
    Lab: tuple
    own_Lab: tuple = (28.0, 13.0, 14.0)
    share_of_area: float = 1.0
    part: str = "whole"
    family: str = "light"
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


def head(light_Lab, halftone=(34.0, 13.0, 16.0), shadow=(16.0, 9.0, 8.0)):
    rows = [
        Row("cheekbone top", 900.0, (Stroke(light_Lab),)),
        Row("cheek front", 2000.0, (Stroke(halftone, family="halftone"),)),
        Row("under-chin", 1500.0, (Stroke(shadow, family="shadow"),)),
        Row("chest", 9000.0, (Stroke((30.0, 12.0, 12.0)),), region="neck"),
    ]
    return rows, mixed_head(rows, SITTING)


GREYED, WARM = (56.0, 8.0, 9.0), (56.0, 16.0, 32.0)
"""The light plane of a deep skin under a cool sky, and under a warm lamp."""


def strings_of(light_Lab, base=None):
    rows, mixed = head(light_Lab)
    return plane_strings(rows[0], rows[0].targets[0], mixed, base)


def test_the_lightener_does_what_the_light_does():
    """Common practice, no source: white where the light greys, ochre where it stays warm."""
    cool, warm = strings_of(GREYED, "the halftone mix"), strings_of(WARM, "the halftone mix")
    assert cool.pick.string.added.is_white and "titanium white" in cool.words
    assert "ochre would keep it livelier" in cool.words
    assert warm.pick.string.added.id != "PW6"
    by_id = {c.string.added.id: c for c in warm.lighteners}
    assert by_id["PW6"].delta_e > warm.pick.delta_e


def test_the_light_plane_greys_under_the_sky_and_stays_warm_under_a_lamp():
    """Common practice, no source, on the bust itself: from the skin's own colour to the forehead, a deep skin has to
    lose far more of its chroma under an overcast sky than under a warm lamp."""
    from sitterlight.shading.sittings import built_in
    from sitterlight.shading.study import study_of

    needed = {}
    for name in ("garden-overcast", "by-candle"):
        mixed = study_of(with_skin(built_in(name), ladder=2)).mixed
        row = next(row for row in mixed.rows if row.name == "forehead front")
        found = plane_strings(row, max(row.targets, key=lambda t: t.Lab[0]), mixed)
        assert found.base.name == "the skin's own colour"
        needed[name] = found.pick.needed
    assert needed["garden-overcast"] > 0.25 > 0.15 > needed["by-candle"]


def test_bases_are_darker_and_named_and_the_first_is_the_own_colour():
    found = strings_of(GREYED)
    assert found.base is found.bases[0] and found.base.name == "the skin's own colour"
    assert {"the halftone mix", "the shadow mix", "burnt umber"} <= {b.name for b in found.bases}
    assert all(b.Lab[0] <= GREYED[0] - LEAST_LIFT for b in found.bases)
    assert "yellow ochre" not in {b.name for b in found.bases}
    for base in found.bases:
        np.testing.assert_allclose(base.Lab, mix_Lab(base.parts, PALETTE, D50), atol=1e-9)
    assert strings_of(GREYED, "the shadow mix").base.name == "the shadow mix"
    assert strings_of(GREYED, "nothing of that name").base.name == "the skin's own colour"


@pytest.mark.parametrize("base", ["the skin's own colour", "the halftone mix", "burnt umber"])
def test_the_parts_that_are_told_make_the_mix_that_is_told(base):
    """Mixing by the parts gives the Lab of the choice: the row is read between its steps."""
    found = strings_of(GREYED, base)
    for choice in found.lighteners:
        parts = np.append(found.base.parts / found.base.parts.sum(), choice.parts)
        mixed = mix_Lab(parts, (*PALETTE, choice.string.added), D50)
        assert mixed[0] == pytest.approx(GREYED[0], abs=0.6)
        assert delta_E00(mixed, choice.Lab) < 0.7
    for calmer in found.calmers:
        parts = np.append(found.calmed.parts / found.calmed.parts.sum(), calmer.parts)
        mixed = mix_Lab(parts, (*PALETTE, calmer.string.added), D50)
        assert np.hypot(*mixed[1:]) == pytest.approx(np.hypot(*GREYED[1:]), abs=0.7)
        assert calmer.darker == pytest.approx(found.calmed.Lab[0] - calmer.Lab[0], abs=1e-9)


def test_white_warmed_with_ochre_is_compared_and_is_made_of_the_palette():
    choices = compare_lighteners([0, 0, 1, 1, 0, 0], WARM, PALETTE, D50)
    warmed = next(c.string.added for c in choices if c.string.added.made_of)
    assert warmed.name == "titanium white warmed with yellow ochre"
    np.testing.assert_allclose(shares_of(warmed, PALETTE), [0.8, 0.2, 0, 0, 0, 0])
    assert shares_of(paint("PW1"), PALETTE) is None
    whites = {c.string.added.id: c for c in choices}
    assert whites["PW6"].greying > whites[warmed.id].greying > whites["PY43"].greying


def test_a_lightener_from_elsewhere_is_said_to_be():
    """Without white or ochre on the palette only lighteners of the library are left."""
    sitting = Sitting(palette=PaletteSetting(("PR101 transparent", "PBr7 burnt umber", "PB29")))
    rows = [Row("cheekbone top", 900.0, (Stroke(GREYED),))]
    found = plane_strings(rows[0], rows[0].targets[0], mixed_head(rows, sitting))
    assert "(not on this palette)" in found.words


def test_complements_calm_and_nothing_is_calmed_that_is_grey_enough():
    lively, target = [0, 1, 2, 0, 0, 0], np.array([40.0, 10.0, 10.0])
    found = compare_calming(lively, target, PALETTE, D50)
    assert {"PB29", "PG18"} & {c.string.added.id for c in found}
    assert [c.delta_e for c in found] == sorted(c.delta_e for c in found)
    assert all(0.0 < c.parts <= 1.0 for c in found)
    assert not any(c.string.added.is_white for c in found)
    assert "calms the mix" in found[0].words
    assert compare_calming([1, 0, 0, 0, 0, 0], target, PALETTE, D50) == []


def test_words_about_calming():
    cool, warm = strings_of(GREYED), strings_of((46.0, 28.0, 40.0))
    assert cool.calmers and "calm with" in cool.calm_words and cool.calm_words.endswith(".")
    assert not warm.calmers and warm.calm_words.startswith("Nothing to calm")


def test_the_darkest_plane_is_not_lightened_from_anything():
    rows, mixed = head((6.0, 1.0, 1.0))
    found = plane_strings(rows[0], rows[0].targets[0], mixed)
    assert found.base is None and found.lighteners == () and found.words


def test_the_telling_stroke_is_a_large_one_in_the_light_of_the_face():
    rows, mixed = head(GREYED)
    assert telling_stroke(mixed) == (rows[0], rows[0].targets[0])
    unseen = [dataclasses.replace(rows[0], hidden=True, visible=0.0), *rows[1:3]]
    assert telling_stroke(mixed_head(unseen, SITTING)) is None


@pytest.mark.parametrize(
    ("parts", "words"),
    [(0.001, "a trace"), (1 / 12, "1 part to 12"), (0.5, "1 part to 2"), (1.0, "1 part to 1"), (2.6, "3 parts to 1")],
)
def test_proportions_are_small_whole_numbers(parts, words):
    assert proportion(parts).startswith(words)


def test_a_row_read_at_a_chroma():
    string = string_to([1.0], paint("PB29"), (paint("PR101 transparent"),), D50)
    start = string.LCh[0, 1]
    Lab, parts = string.at_chroma(0.5 * start)
    assert np.hypot(*Lab[1:]) == pytest.approx(0.5 * start, abs=0.8) and 0 < parts < 5
    assert string.at_chroma(200.0) is None and string.parts_at_lightness(99.0) is None
