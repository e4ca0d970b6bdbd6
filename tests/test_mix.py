"""One colour from the shell: notations, text and JSON, errors."""

import json

import numpy as np
import pytest

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.mix import Lab_of, as_json, as_text, mix_colour, run

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
    answer = json.loads(as_json("5YR 4/4", PALETTE))
    assert set(answer) >= {"parts", "delta_e", "Lab", "target", "palette", "alternatives"}
    assert {p["paint"] for p in answer["parts"]} <= set(PALETTE)
    assert answer["target"]["munsell"].startswith("5YR 4")
    wrong = float(delta_E00(np.array(answer["target"]["Lab"]), np.array(answer["Lab"])))
    assert answer["delta_e"] == pytest.approx(wrong, abs=0.02)


def test_text_is_for_the_easel():
    text = as_text("#8a5a3c", PALETTE)
    assert "wanted" in text and "mixed" in text and "part" in text and "Start with" in text
    assert run("#8a5a3c", PALETTE) == text
    assert json.loads(run("#8a5a3c", PALETTE, json=True))["colour"] == "#8a5a3c"


def test_text_names_what_is_out_of_reach_and_toxic():
    text = as_text("5PB 3/14", ["PW6", "PR108"])
    assert "Out of reach" in text
    assert "cadmium" in as_text("7.5R 5/16", ["PW6", "PR108"])


def test_ambiguous_paints_are_errors():
    with pytest.raises(ValueError, match="PR101 red oxide"):
        mix_colour("5YR 4/4", ["PW6", "PR101"])
