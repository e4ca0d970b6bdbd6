"""One colour from the shell: notations, text and JSON, errors."""

import argparse
import json
from dataclasses import fields

import numpy as np
import pytest

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.mix import Asked, Lab_of, as_json, as_text, asked, mix_colour
from sitterlight.shading.recipes import Preferences
from sitterlight.shading.sitting import EaselSetting, PaletteSetting
from sitterlight.viewer.mix_options import FLAGS, add_options, asked_by

PALETTE = ["PW6", "PY43", "PR101 transparent", "PB29", "PR108"]


@pytest.mark.parametrize("text", ["Lab 42 12 20", "lab 42,12,20", "Lab(42 12 20)", " Lab 42; 12; 20 "])
def test_Lab_is_read(text):
    np.testing.assert_allclose(Lab_of(text), [42, 12, 20])


def test_the_three_notations_agree():
    """#7f573f is 5YR 4/4 rounded to bytes, by this program's own conversion; both lie near the same Lab."""
    assert delta_E00(Lab_of("5YR 4/4"), Lab_of("#7f573f")) < 0.5


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("rose", "not a colour"),
        ("Lab 42 12", "three numbers"),
        ("Lab a b c", "three numbers"),
        ("Lab nan 0 0", "three numbers"),
        ("Lab 142 0 0", "beyond"),
        ("#12", "#12"),
        ("5YR 4/4x", "5YR 4/4x"),
        ("", "not a colour"),
    ],
)
def test_other_notations_are_told(text, told):
    with pytest.raises(ValueError) as error:
        Lab_of(text)
    assert told in str(error.value) and "\n" not in str(error.value)


def test_json_holds_the_recipe_and_what_was_wanted():
    answer = json.loads(as_json("5YR 4/4", asked(PALETTE)))
    assert set(answer) >= {"parts", "delta_e", "Lab", "target", "palette", "alternatives"}
    assert {p["paint"] for p in answer["parts"]} <= set(PALETTE)
    assert answer["target"]["munsell"].startswith("5YR 4")
    wrong = float(delta_E00(np.array(answer["target"]["Lab"]), np.array(answer["Lab"])))
    assert answer["delta_e"] == pytest.approx(wrong, abs=0.02)


def test_text_is_for_the_easel():
    text = as_text("#8a5a3c", asked(PALETTE))
    assert "wanted" in text and "mixed" in text and "part" in text and "Start with" in text
    assert json.loads(as_json("#8a5a3c", asked(PALETTE)))["colour"] == "#8a5a3c"


def test_mixes_that_come_nowhere_near_are_not_told():
    palette = asked(["PW6", "PY43", "PR101 transparent", "PB29"])
    assert "Or:" not in as_text("5YR 4/4", palette)
    assert next(line for line in as_text("7.5YR 5/4", palette).splitlines() if "ΔE  " in line).count("parts") == 3


def test_text_names_what_is_out_of_reach_and_toxic():
    text = as_text("5PB 3/14", asked(["PW6", "PR108"]))
    assert "Out of reach" in text
    assert "cadmium" in as_text("7.5R 5/16", asked(["PW6", "PR108"]))


def test_ambiguous_paints_are_errors():
    with pytest.raises(ValueError, match="PR101 red oxide"):
        mix_colour("5YR 4/4", ["PW6", "PR101"])


def _asked_by(*words: str) -> Asked:
    parser = argparse.ArgumentParser()
    add_options(parser)
    return asked_by(parser.parse_args(words), PALETTE)


def test_without_options_it_is_asked_as_a_new_sitting_has_it():
    assert _asked_by() == Asked(tuple(PALETTE))
    usual, easel = PaletteSetting(), EaselSetting()
    for name in ("most", "few_paints", "base", "transparent_darks", "no_black"):
        assert getattr(Asked(()), name) == getattr(usual, name)
    assert (Asked(()).light, Asked(()).second_light) == (easel.light, easel.second_light)
    assert set(FLAGS) | {"most", "base"} == {field.name for field in fields(PaletteSetting)} - {"paints"}


def test_wishes_and_lights_reach_the_recipe():
    plain = json.loads(as_json("5YR 4/4", _asked_by()))
    warm = json.loads(as_json("5YR 4/4", _asked_by("--light", "LED-B1", "--second-light", "D65")))
    assert warm["easel_light"] == "LED-B1" and warm["second_light"]["words"].endswith("under D65")
    assert warm["parts"] != plain["parts"] or warm["Lab"] != plain["Lab"]
    assert "under LED-B1" in as_text("5YR 4/4", _asked_by("--light", "LED-B1"))
    two = json.loads(as_json("5YR 4/4", _asked_by("--most", "2", "--few-paints")))
    assert len(two["parts"]) <= 2 and two["wishes"]["most"] == 2 and two["wishes"]["few_paints"]
    based = json.loads(as_json("5YR 4/4", _asked_by("--base", "PR108")))
    assert "PR108" in {part["paint"] for part in based["parts"]}
    assert "PR108" not in {part["paint"] for part in plain["parts"]}


def test_every_wish_is_handed_on():
    for name in FLAGS:
        option = f"--{name.replace('_', '-')}"
        assert _asked_by(option).preferences == Preferences(**{name: True})
    tubes = [*PALETTE, "PBk9"]
    black = json.loads(as_json("N 1", asked(tubes)))["parts"]
    assert "PBk9" in {part["paint"] for part in black}
    free = json.loads(as_json("N 1", asked(tubes, no_black=True)))["parts"]
    assert "PBk9" not in {part["paint"] for part in free}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--light", "moon"), "--light: "),
        (("--light", ""), "--light is "),
        (("--second-light", "no/such.csv"), "--second-light: "),
        (("--most", "7"), "--most is 7; allowed is a whole number from 1 to 4"),
        (("--most", "few"), '--most is "few"; allowed is a whole number from 1 to 4'),
        (("--most", "²"), "--most is "),
        (("--base", "ochre of nowhere"), "--base: "),
        (("--base", "auto"), "chosen for a whole head"),
    ],
)
def test_bad_options_are_told_in_one_sentence(words, told):
    with pytest.raises(ValueError) as error:
        _asked_by(*words)
    assert told in str(error.value) and "\n" not in str(error.value)


def test_a_base_that_is_not_on_the_palette_is_told():
    with pytest.raises(ValueError, match="not in the palette"):
        as_text("5YR 4/4", _asked_by("--base", "PG18"))
