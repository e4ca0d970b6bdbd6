"""The sentence that says why: each case, and that it follows the numbers."""

import re
from dataclasses import replace

import pytest

from sitterlight.shading.targets import PlaneRow, Target
from sitterlight.shading.why import why

LIGHTS = ({"name": "sky", "kind": "sky"}, {"name": "reading lamp", "kind": "lamp"})
NOTHING = {"body": 0.0, "bounce": 0.0, "sheen": 0.0}


def table(**changes):
    """Shares by light and path with zeros filled in; names are sky, lamp, ground, bounce."""
    names = {"sky": "sky", "lamp": "reading lamp", "ground": "ground"}
    full = {name: NOTHING | changes.get(key, {}) for key, name in names.items()}
    return full | {"bounce": {"sheen": changes.get("bounce", {}).get("sheen", 0.0)}}


def row(light=None, note=None, greying=None, kind=PlaneRow, **changes):
    """A plane whose luminance comes from `light`, with the shares of note and greying given."""
    light = table(**(light or {"sky": {"body": 1.0}}))
    bounce = {name: paths["bounce"] for name, paths in light.items() if "bounce" in paths}
    sheen = {name: paths["sheen"] for name, paths in light.items()}
    body = {name: paths["body"] for name, paths in light.items() if "body" in paths}
    note, greying = table(**(note or {})), table(**(greying or {}))
    total = {key: sum(s for paths in t.values() for s in paths.values()) for key, t in (("n", note), ("g", greying))}
    fields = {
        "XYZ": (10.0, 10.0, 10.0), "Lab": (40.0, 5.0, 5.0), "munsell": "5YR 4.0/1.0", "srgb": "#665f5a",
        "in_srgb": True, "own_Lab": (45.0, 12.0, 18.0), "family": "light", "above_white": False, "spread": 1.0,
        "skylight_note": total["n"], "greying": total["g"], "note_shares": note, "greying_shares": greying,
        "shares": {**body, "bounce": sum(bounce.values()), "sheen": sum(sheen.values())},
        "sheen_by_light": sheen, "bounce_by_light": bounce, "paint_XYZ": (0.1, 0.1, 0.1),
    }  # fmt: skip
    if kind is Target:
        return Target(**(fields | {"part": "lit", "share_of_area": 1.0} | changes))
    place = {"name": "crown", "side": "centre", "region": "scalp", "normal": (0.0, 1.0, 0.0), "area_mm2": 1000.0,
             "visible": 1.0, "hidden": False, "illuminance": {}, "targets": ()}  # fmt: skip
    return PlaneRow(**(fields | place | changes))


SKY_SHEEN = {"light": {"sky": {"body": 0.39, "sheen": 0.61}}, "note": {"sky": {"body": 1.0, "sheen": 5.0}}}


def test_blue_by_sheen_on_dark_skin():
    assert why(row(**SKY_SHEEN, own_Lab=(24.0, 8.0, 9.0)), LIGHTS) == (
        "Leans blue: 61 % of this plane's light is skylight mirrored by the skin, "
        "which itself is too dark to answer it."
    )


def test_fair_skin_is_not_said_to_be_too_dark():
    sentence = why(row(**SKY_SHEEN, own_Lab=(70.0, 8.0, 15.0)), LIGHTS)
    assert sentence.startswith("Leans blue: 61 %") and "too dark" not in sentence
    assert sentence.endswith("mirrored by the skin, bluer here than the light on the white card.")


def test_blue_through_the_body():
    plane = row({"sky": {"body": 0.8, "sheen": 0.2}}, {"sky": {"body": 4.0, "sheen": 1.0}})
    assert why(plane, LIGHTS) == (
        "Leans blue: 80 % of this plane's light is skylight, bluer here than the light on the white card."
    )


def test_warm_by_a_lamp():
    plane = row({"lamp": {"body": 0.7}, "sky": {"body": 0.3}}, {"lamp": {"body": -6.0}, "sky": {"body": 1.0}})
    assert why(plane, LIGHTS) == (
        'Leans warm: 70 % of this plane\'s light comes from "reading lamp", '
        "warmer here than the light on the white card."
    )


def test_warm_by_sheen_is_not_blamed_on_the_skin():
    plane = row({"sky": {"sheen": 0.8, "body": 0.2}}, {"sky": {"sheen": -4.0}}, own_Lab=(20.0, 6.0, 6.0))
    assert "too dark" not in why(plane, LIGHTS) and "warmer here" in why(plane, LIGHTS)


def test_blue_by_mirrored_skin_makes_no_claim_about_the_card():
    plane = row({"bounce": {"sheen": 0.4}, "sky": {"body": 0.6}}, {"bounce": {"sheen": 3.0}})
    assert why(plane, LIGHTS) == "Leans blue: 40 % of this plane's light is that of other skin mirrored by the skin."


def test_greyed_by_sheen():
    plane = row({"sky": {"body": 0.45, "sheen": 0.55}}, greying={"sky": {"sheen": 0.5, "body": -0.02}})
    assert why(plane, LIGHTS) == (
        "Greyed, 48 % of the skin's colour lost: 55 % of this plane's light is skylight mirrored by the skin, "
        "which keeps the light's colour."
    )


def test_greyed_by_a_light_of_the_other_colour():
    plane = row({"sky": {"body": 0.9}, "ground": {"body": 0.1}}, greying={"sky": {"body": 0.4}})
    assert why(plane, LIGHTS).endswith(
        "90 % of this plane's light is skylight, whose colour works against the skin's own."
    )


def test_past_neutral():
    plane = row({"sky": {"body": 0.1, "sheen": 0.9}}, greying={"sky": {"sheen": 1.2}})
    assert why(plane, LIGHTS).startswith("Past neutral: 90 % of this plane's light is skylight mirrored")


def test_the_note_is_said_before_the_greying():
    plane = row(**SKY_SHEEN, greying={"sky": {"sheen": 0.7}})
    assert why(plane, LIGHTS).startswith("Leans blue")


def test_warmed_by_other_skin():
    plane = row(
        {"ground": {"body": 0.5}, "lamp": {"bounce": 0.3, "body": 0.2}},
        greying={"lamp": {"bounce": -0.3, "body": -0.05}},
    )
    assert why(plane, LIGHTS) == (
        "Richer than the skin's own colour: 30 % of its light comes from other skin and has taken skin's colour "
        "more than once."
    )


def test_richer_by_a_warm_light():
    plane = row({"lamp": {"body": 1.0}}, greying={"lamp": {"body": -0.3}})
    assert why(plane, LIGHTS).endswith(
        "100 % of this plane's light comes from \"reading lamp\", whose colour adds to the skin's own."
    )


def test_in_shadow():
    plane = row({"ground": {"body": 0.6}, "lamp": {"body": 0.03, "bounce": 0.37}}, family="shadow")
    assert why(plane, LIGHTS, "reading lamp") == (
        'In shadow: only 3 % comes straight from "reading lamp", and 60 % of this plane\'s light comes from the ground.'
    )
    dark = row({"ground": {"body": 1.0}}, family="shadow")
    assert why(dark, LIGHTS, "reading lamp").startswith('In shadow: nothing comes straight from "reading lamp"')
    dim = row({"lamp": {"body": 0.8}, "ground": {"body": 0.2}}, family="shadow")
    assert why(dim, LIGHTS, "reading lamp").startswith("In shadow, yet 80 %")


def test_keeping_its_own_colour_or_having_hardly_any():
    assert why(row(), LIGHTS) == "Keeps the skin's own colour: 100 % of this plane's light is skylight."
    assert why(replace(row(), greying=None), LIGHTS).startswith("Has hardly a colour of its own")


def test_hidden_black_and_above_white():
    assert why(row(hidden=True, visible=0.0), LIGHTS).endswith(
        "; the eye does not see it from here, so this is without sheen."
    )
    assert why(row(above_white=True), LIGHTS).endswith("; it is brighter than white paint, so no mix reaches it.")
    black = row(shares=dict.fromkeys(["sky", "reading lamp", "ground", "bounce", "sheen"]), skylight_note=None)
    assert why(black, LIGHTS) == "Black: no light reaches this plane."


def test_skies_are_told_apart_when_there_are_two():
    lights = (*LIGHTS, {"name": "second sky", "kind": "sky"})
    assert 'comes from "sky"' in why(row(**SKY_SHEEN), lights)


@pytest.mark.parametrize("kind", [PlaneRow, Target])
@pytest.mark.parametrize("note", [-9.0, -1.0, 0.0, 1.0, 9.0])
@pytest.mark.parametrize("greying", [-0.5, 0.0, 0.5, 1.5])
def test_it_is_always_one_sentence_that_gives_a_share(note, greying, kind):
    plane = row({"sky": {"body": 0.6, "sheen": 0.4}}, {"sky": {"body": note}}, {"sky": {"sheen": greying}}, kind)
    sentence = why(plane, LIGHTS, "sky")
    assert sentence.count(".") == 1 and sentence.endswith(".") and sentence[0].isupper()
    assert re.search(r"\d+ %", sentence) and "None" not in sentence


def test_a_faint_note_is_told_beside_the_greying_with_its_cause():
    """A place that maps and lists show as blue is not left without a reason."""
    plane = row(
        {"sky": {"body": 0.3, "sheen": 0.7}},
        {"sky": {"body": 0.2, "sheen": 1.1}},
        greying={"sky": {"sheen": 0.66}},
    )
    assert why(plane, LIGHTS) == (
        "Greyed, 66 % of the skin's colour lost: 70 % of this plane's light is skylight mirrored by the skin, which "
        "keeps the light's colour; faintly blue too, for the skylight it mirrors is bluer than on the white card."
    )
    warm = why(row({"lamp": {"body": 1.0}}, {"lamp": {"body": -1.4}}, greying={"lamp": {"body": 0.5}}), LIGHTS)
    assert warm.endswith(
        'faintly warm too, for the light from "reading lamp" that falls on it is warmer than on the white card.'
    )
    none = why(row({"lamp": {"body": 1.0}}, {"lamp": {"body": -0.9}}, greying={"lamp": {"body": 0.5}}), LIGHTS)
    assert "faintly" not in none


def test_a_mirrored_lamp_is_told_with_a_comma():
    plane = row({"lamp": {"body": 0.4, "sheen": 0.6}}, greying={"lamp": {"sheen": 0.5}})
    assert 'comes from "reading lamp", mirrored by the skin, which' in why(plane, LIGHTS)
