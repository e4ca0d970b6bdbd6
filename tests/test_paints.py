"""The library of paints: what is in it, and how a paint is found by name."""

import dataclasses
import re

import numpy as np
import pytest

from sitterlight.shading.cautions import GENERAL, caution, cautions, cautions_and_general
from sitterlight.shading.colour_spaces import Lab_from_XYZ, LCh_from_Lab
from sitterlight.shading.mixing import mix_Lab, viewing_light
from sitterlight.shading.paint_optics import film_reflectance, seen_through_surface
from sitterlight.shading.paints import (
    DEFAULT_PALETTE,
    PaintError,
    absorption,
    library,
    paint,
    paint_names,
    paints,
    scattering,
)

WANTED = set(
    re.findall(
        r"\S+",
        "PW6 PW4 PW1 PY43 PY42 PBr7 PR101 PR102 PV19 PR122 PO49 PR177 PR83 PB29 PV15 PB28 PB36 PB15:3 PB27 PV23 "
        "PG17 PG18 PG23 PBk9 PBk11 PBk7 PY35 PR108",
    )
)


def test_enough_paints_and_all_that_flesh_needs():
    assert len(library()) >= 32
    assert {p.colour_index for p in library()} >= WANTED


@pytest.mark.parametrize("one", library(), ids=lambda p: p.id)
def test_each_paint_is_sound(one):
    assert one.K.shape == one.S.shape == (81,)
    assert (one.K >= 0).all() and (one.S > 0).all()
    assert one.origin and one.name
    assert one.id.startswith(one.colour_index) and one.colour_index
    with pytest.raises(ValueError):
        one.K[0] = 1.0
    with pytest.raises(dataclasses.FrozenInstanceError):
        one.name = "other"


@pytest.mark.parametrize("one", library(), ids=lambda p: p.id)
def test_each_paint_answers_to_its_names(one):
    for name in (one.id, one.name, one.label, f"{one.colour_index} {one.name}", one.id.lower(), *one.also):
        assert paint(name) is one


def test_ids_and_names_are_unlike():
    names = [name.casefold() for p in library() for name in (p.id, p.name, *p.also)]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("shared", ["PBr7", "PR101", "PY42", "pbr7"])
def test_a_shared_generic_name_lists_its_choices(shared):
    with pytest.raises(PaintError) as told:
        paint(shared)
    for p in library():
        assert (f'"{p.id}"' in str(told.value)) == (p.colour_index.lower() == shared.lower())


@pytest.mark.parametrize(
    ("name", "hint"),
    [("ultramrine", "PB29"), ("PBr7 burnt umbr", "PBr7 burnt umber"), ("transparent red", "PR101 transparent")],
)
def test_a_misspelt_name_gets_a_suggestion(name, hint):
    with pytest.raises(PaintError, match=re.escape(hint)):
        paint(name)


def test_an_unknown_name_points_to_the_list():
    with pytest.raises(PaintError, match=r"list paints"):
        paint("qqqq")


def test_palettes():
    assert [p.id for p in paints(DEFAULT_PALETTE)] == list(DEFAULT_PALETTE)
    with pytest.raises(PaintError, match="twice"):
        paints(("PB29", "ultramarine blue"))
    with pytest.raises(PaintError, match="at least one"):
        paints(())


def test_names_come_in_order():
    assert paint_names()[0] == "PW6"
    assert len(paint_names()) == len(library())


def test_description_adds_up():
    K = absorption({"bands": [[500, 20, 0.3]], "edges": [[450, 10, 0.2]], "tails": [[50, 0.1]], "floor": 0.01})
    assert K[(500 - 380) // 5] == pytest.approx(0.3 + 0.2 / (1 + np.exp(5)) + 0.1 * np.exp(-2) + 0.01)
    assert scattering({"level": 0.2, "power": 1.0})[(605 - 380) // 5] == pytest.approx(0.2 / 1.1)


def test_strength_and_transparency_as_painters_know_them():
    """Common practice, no source."""
    strong = {p.id for p in library() if p.is_strong}
    assert {"PB15:3", "PG7", "PV23", "PB27"} <= strong
    assert not strong & {"PY43", "PB29", "PG23", "PBr7 burnt umber", "PG18"}
    clear = {p.id for p in library() if p.is_transparent}
    assert {"PR101 transparent", "PB29", "PG18", "PR83", "PV23", "PB15:3"} <= clear
    assert not clear & {"PR101 red oxide", "PG17", "PY35", "PW6", "PR101 deep"}


def test_undertone_of_burnt_sienna_and_transparent_red_glows_over_white():
    """A film over white is lighter, yellower and more vivid than the masstone. Common practice, no source."""
    light = viewing_light("D65")
    for name in ("PBr7 burnt sienna", "PR101 transparent"):
        one = paint(name)
        glaze = seen_through_surface(film_reflectance(one.K, one.S, 1.0, 0.97)) @ light.XYZ
        film, mass = LCh_from_Lab(Lab_from_XYZ(glaze)), LCh_from_Lab(mix_Lab([1.0], (one,), light))
        assert film[0] > mass[0] + 15 and film[1] > mass[1] + 10 and film[2] > mass[2]


def test_the_pale_blue_is_its_mix():
    pale, light = paint("pale blue"), viewing_light("D65")
    np.testing.assert_allclose(
        mix_Lab([1.0], (pale,), light), mix_Lab([12.0, 1.0], (paint("PW6"), paint("PB29")), light), atol=1e-9
    )


def test_cautions():
    assert "lead" in caution(paint("PW1"))
    assert "cadmium" in caution(paint("PR108"))
    assert caution(paint("PY43")) == ""
    both = cautions((paint("PR108"), paint("PY43"), paint("PR108")))
    assert len(both) == 1
    assert cautions_and_general((paint("PR108"),))[-1] == GENERAL
    assert "safety sheet" in GENERAL and "local rules" in GENERAL
    assert cautions_and_general((paint("PY43"),)) == ()
    assert GENERAL not in cautions_and_general((paint("PR83"),))
