"""Munsell notation both ways, and its ends."""

import numpy as np
import pytest

from sitterlight.shading import munsell
from sitterlight.shading.colour_spaces import C_WHITE, D65_WHITE
from sitterlight.shading.munsell import (
    XYZ_from_munsell,
    XYZ_from_specification,
    luminance_of_value,
    munsell_from_XYZ,
    munsell_notations,
    notation,
    parse_munsell,
    renotation_xy,
    specification_from_XYZ,
    value_of_luminance,
)

RANDOM = np.random.default_rng(11)


def hue_distance(one, other):
    return np.abs((one - other + 50.0) % 100.0 - 50.0)


@pytest.mark.parametrize("low, high, chroma", [(1.0, 9.0, 14.0), (9.0, 10.0, 6.0), (0.05, 1.0, 0.5)])
def test_notation_and_colour_are_each_other_s_inverse(low, high, chroma):
    wanted = RANDOM.uniform([0, low, 0.05 * min(low, 1)], [100, high, chroma], (800, 3))
    wanted[:, 2] *= np.minimum(wanted[:, 1], 1.0)
    found = specification_from_XYZ(XYZ_from_specification(wanted))
    assert hue_distance(found[:, 0], wanted[:, 0]) * wanted[:, 2] == pytest.approx(0.0, abs=1e-4)
    assert found[:, 1:] == pytest.approx(wanted[:, 1:], abs=1e-5)


def test_a_tabulated_colour_is_met_exactly():
    with np.load(munsell.Path(munsell.__file__).parent / "data" / "munsell.npz") as data:
        table = data["xy_millionths"]
    for value, step, chroma in ((5, 6, 4), (3, 2, 8), (8, 30, 6), (10, 6, 4), (1, 0, 2)):
        xy = renotation_xy([2.5 * step, value, chroma])
        assert xy == pytest.approx(table[value - 1, step, chroma // 2 - 1] * 1e-6, abs=1e-9)


def test_hue_and_chroma_grow_along_the_circle_without_a_jump():
    hue = np.linspace(0.0, 100.0, 4001)
    xy = renotation_xy(np.stack([hue, np.full_like(hue, 4.3), np.full_like(hue, 5.1)], 1))
    steps = np.hypot(*np.diff(xy, axis=0).T)
    assert steps.max() < 12 * np.median(steps)
    assert xy[0] == pytest.approx(xy[-1])


def test_value_and_luminance():
    value = np.linspace(0.0, 10.0, 101)
    assert value_of_luminance(luminance_of_value(value)) == pytest.approx(value, abs=1e-9)
    assert luminance_of_value(10.0) == pytest.approx(1.0)
    # ASTM D1535: value 5 is a luminance factor of 0.1927 (from memory)
    assert luminance_of_value(5.0) == pytest.approx(0.1927, abs=2e-4)


def test_neutrals_have_no_hue():
    for Y, text in ((1.0, "N 10.0/"), (luminance_of_value(5.2), "N 5.2/"), (0.0, "N 0.0/")):
        assert munsell_from_XYZ(Y * D65_WHITE) == text
    assert munsell_from_XYZ(0.2 * np.array([0.9642, 1.0, 0.8251]), [0.9642, 1.0, 0.8251]).startswith("N ")


def test_above_white_there_is_nothing():
    assert munsell_from_XYZ(1.05 * D65_WHITE) is None
    texts = munsell_notations(np.stack([0.3 * D65_WHITE, 1.2 * D65_WHITE, 0.0 * D65_WHITE]))
    assert texts[0].startswith("N 6") and texts[1] is None and texts[2] == "N 0.0/"


def test_below_value_one_a_chromaticity_keeps_its_hue_and_chroma_falls_with_value():
    at_one = np.array([15.0, 1.0, 4.0])
    x, y = renotation_xy(at_one)
    Y = luminance_of_value(np.array([1.0, 0.8, 0.4, 0.1]))[:, None]
    found = specification_from_XYZ(Y / y * np.array([x, y, 1 - x - y]), C_WHITE)
    assert hue_distance(found[:, 0], 15.0) == pytest.approx(0.0, abs=1e-4)
    assert found[:, 2] == pytest.approx([4.0, 3.2, 1.6, 0.4], abs=1e-4)


def test_values_meet_without_a_step_at_one_and_nine():
    for edge in (1.0, 9.0):
        below, above = renotation_xy([[23.0, edge - 1e-6, 2.3], [23.0, edge + 1e-6, 2.3]])
        assert below == pytest.approx(above, abs=1e-5)


def test_notation_is_rounded_within_its_family():
    assert notation([15.0, 3.2, 2.1]) == "5YR 3.2/2.1"
    assert notation([10.0, 4.0, 4.0]) == "10R 4.0/4.0"
    assert notation([10.04, 4.0, 4.0]) == "10R 4.0/4.0"
    assert notation([10.06, 4.0, 4.0]) == "0.1YR 4.0/4.0"
    assert notation([0.0, 4.0, 4.0]) == notation([99.99, 4.0, 4.0]) == "10RP 4.0/4.0"
    assert notation([0.1, 4.0, 4.0]) == "0.1R 4.0/4.0"
    assert notation([33.3, 4.0, 0.04]) == "N 4.0/"
    assert notation([np.nan, np.nan, np.nan]) is None


@pytest.mark.parametrize("text", ["5YR 3.2/2.1", "10RP 8.0/1.5", "0.5G 2.0/6.0", "N 5.2/", "7.5PB 4.0/10.0"])
def test_a_notation_read_is_the_notation_written(text):
    assert notation(parse_munsell(text)) == text
    assert munsell_from_XYZ(XYZ_from_munsell(text)) == text


def test_notations_are_read_as_people_write_them():
    assert parse_munsell(" 5 yr 4/4 ") == pytest.approx([15, 4, 4])
    assert parse_munsell("n5") == pytest.approx([0, 5, 0])
    assert parse_munsell("N 5.5/0") == pytest.approx([0, 5.5, 0])


@pytest.mark.parametrize("text", ["", "5YR", "YR 4/4", "11YR 4/4", "5YR 11/4", "5X 4/4", "5YR 4/999", "N", "N 12/"])
def test_what_is_no_notation_is_refused_with_its_name(text):
    with pytest.raises(ValueError) as refusal:
        parse_munsell(text)
    assert f'"{text}"' in str(refusal.value)


def test_no_colour_that_light_can_make_breaks_the_search():
    from sitterlight.illuminants.observer import tristimulus

    spectra = np.eye(81)[::4] + 1e-4
    XYZ = tristimulus(spectra)
    XYZ = 0.2 * XYZ / XYZ[:, 1:2]
    texts = munsell_notations(XYZ)
    assert len(texts) == len(XYZ)
    assert all(text is None or "nan" not in text for text in texts)
