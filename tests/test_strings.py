"""Strings of mixes, and the common practice of mixing flesh. Nothing in the library was fitted to these."""

import numpy as np
import pytest

from sitterlight.shading.colour_spaces import Lab_from_LCh, LCh_from_Lab
from sitterlight.shading.mixing import mix_Lab, viewing_light
from sitterlight.shading.paints import paint, paints
from sitterlight.shading.strings import compare_lighteners, complements, lighteners_for, string_to

D50 = viewing_light("D50")


def toward(base, added, parts=(1.0,)):
    palette = (paint(base),) if isinstance(base, str) else base
    return string_to(parts, paint(added), palette, D50)


def chroma_at(string, L):
    return LCh_from_Lab(string.at_lightness(L))[1]


def test_a_string_runs_from_base_to_lightener():
    string = toward("PBr7 burnt umber", "PW6")
    np.testing.assert_allclose(string.Lab[0], mix_Lab([1.0], (paint("PBr7 burnt umber"),), D50), atol=1e-9)
    np.testing.assert_allclose(string.Lab[-1], mix_Lab([1.0], (paint("PW6"),), D50), atol=1e-9)
    assert string.parts[0] == 0 and np.isinf(string.parts[-1])
    assert (np.diff(string.Lab[:, 0]) > 0).all()
    assert string.LCh.shape == string.Lab.shape


def test_at_lightness_lies_on_the_string_or_nowhere():
    string = toward("PBr7 burnt umber", "PY43")
    assert string.at_lightness(50.0)[0] == pytest.approx(50.0)
    assert string.at_lightness(90.0) is None


@pytest.mark.parametrize("L", [35, 45, 55, 65, 75])
def test_white_greys_burnt_umber_far_more_than_transparent_red(L):
    """Common practice, no source: at equal value less than half the chroma."""
    umber, red = toward("PBr7 burnt umber", "PW6"), toward("PR101 transparent", "PW6")
    assert chroma_at(umber, L) < 0.5 * chroma_at(red, L)


@pytest.mark.parametrize("base", ["PBr7 burnt umber", "PBr7 burnt sienna", "PR101 transparent"])
@pytest.mark.parametrize("L", [50, 58])
def test_ochre_lightens_and_keeps_chroma_where_white_does_not(base, L):
    """Common practice, no source. Transparent red is so strong that white alone hardly greys it there."""
    least = 0.98 if base == "PR101 transparent" and L == 50 else 1.0
    with_white, with_ochre = chroma_at(toward(base, "PW6"), L), chroma_at(toward(base, "PY43"), L)
    if base == "PR101 transparent":
        assert with_ochre > 0.95 * with_white
    else:
        assert with_ochre > least * 1.15 * with_white


def test_ochre_warms_where_white_cools():
    """Common practice, no source: ochre turns a brown toward yellow further than white does."""
    for base in ("PBr7 burnt umber", "PBr7 burnt sienna", "PR101 transparent"):
        white, ochre = (LCh_from_Lab(toward(base, added).at_lightness(50.0)) for added in ("PW6", "PY43"))
        assert ochre[2] > white[2] + 3


@pytest.mark.parametrize(("violet", "parts"), [("PV23", 0.03), ("PV15", 0.7)])
def test_an_earth_yellow_and_a_violet_make_brown(violet, parts):
    """Common practice, no source. A brown: hue of orange to yellow, darker and greyer than the ochre."""
    ochre = LCh_from_Lab(mix_Lab([1.0], (paint("PY43"),), D50))
    L, C, h = LCh_from_Lab(mix_Lab([1.0, parts], paints(("PY43", violet)), D50))
    assert 35 < h < 85
    assert ochre[0] - 8 > L > 25
    assert 6 < C < 0.8 * ochre[1]


@pytest.mark.parametrize("green", [0.15, 0.25, 0.35, 0.45])
def test_opaque_complements_are_duller_than_transparent_ones(green):
    """Common practice, no source: red oxide with chromium oxide green against transparent red with viridian, brought
    to the same value with white, at the same hue of brown."""
    opaque = LCh_from_Lab(mix_Lab([1 - green, green], paints(("PR101 red oxide", "PG17")), D50))
    assert 45 < opaque[2] < 68
    clear = paints(("PR101 transparent", "PG18"))
    mixes = [toward(clear, "PW6", (1 - g, g)).at_lightness(opaque[0]) for g in np.linspace(0.02, 0.9, 60)]
    LCh = LCh_from_Lab(np.array([m for m in mixes if m is not None]))
    nearest = LCh[np.argmin(np.abs(LCh[:, 2] - opaque[2]))]
    assert abs(nearest[2] - opaque[2]) < 1.5
    assert opaque[1] < 0.95 * nearest[1]


def test_a_trace_of_dioxazine_or_phthalo_is_enough():
    """Common practice, no source: one part in fifty changes white and ochre beyond recognition."""
    for strong in ("PV23", "PB15:3", "PG7"):
        for tube in ("PW6", "PY43"):
            before = mix_Lab([1.0], (paint(tube),), D50)
            after = mix_Lab([50.0, 1.0], (paint(tube), paint(strong)), D50)
            assert np.linalg.norm(after - before) > 15
    mild = mix_Lab([50.0, 1.0], paints(("PW6", "PB29")), D50)
    strong = mix_Lab([50.0, 1.0], paints(("PW6", "PV23")), D50)
    assert strong[0] < mild[0] - 10


def test_darks_of_transparent_red_yellow_and_blue():
    """Common practice, no source: they stay warm, and cool with more blue."""
    palette = paints(("PR101 transparent", "PY42 transparent", "PB29"))
    darks = np.array([mix_Lab([1.0, 0.7, blue], palette, D50) for blue in (0.1, 0.25, 0.5, 1.0, 2.0, 4.0)])
    assert (darks[:, 0] < 22).all()
    assert (darks[:4, 1] > 0).all() and (darks[:4, 2] > 3).all()
    assert (np.diff(darks[:, 2]) < 0).all() and (np.diff(darks[:, 1]) < 0).all()


def test_the_lightener_does_what_the_light_does():
    """A plane that must stay warm takes ochre, one that must grey takes white; common practice, no source."""
    palette = paints(("PW6", "PY43", "PBr7 burnt umber"))
    base, L = [0.0, 0.0, 1.0], 50.0
    white, ochre = (toward("PBr7 burnt umber", added).at_lightness(L) for added in ("PW6", "PY43"))
    assert compare_lighteners(base, ochre, palette, D50)[0].string.added.id == "PY43"
    greyed = compare_lighteners(base, white, palette, D50)
    assert greyed[0].string.added.is_white
    warm = next(c for c in greyed if c.string.added.id == "PY43")
    assert warm.greying < greyed[0].greying and "more lively" in warm.words
    assert greyed[0].delta_e < warm.delta_e


def test_greying_is_measured_against_the_base():
    palette = paints(("PW6", "PBr7 burnt sienna"))
    base = LCh_from_Lab(mix_Lab([0, 1], palette, D50))
    target = Lab_from_LCh([60.0, 0.5 * base[1], base[2]])
    choice = compare_lighteners([0, 1], target, palette, D50, [paint("PW6")])[0]
    assert choice.needed == pytest.approx(0.5, abs=1e-6)
    assert choice.greying == pytest.approx(1 - np.hypot(*choice.Lab[1:]) / base[1])


def test_lighteners_that_are_too_dark_are_left_out():
    choices = compare_lighteners([0, 1], [90.0, 2.0, 6.0], paints(("PW6", "PBr7 burnt umber")), D50)
    assert choices and all(c.string.added.is_white for c in choices)


def test_lighteners_hold_the_usual_and_the_palettes_own():
    ids = {p.id for p in lighteners_for(paints(("PW4", "PY42 deep", "PB29", "PBr7 burnt umber")), D50)}
    assert {"PW6", "PW1", "PY43", "PW4"} <= ids
    assert not ids & {"PB29", "PBr7 burnt umber"}


def test_complements_calm_a_mix():
    palette = paints(("PW6", "PR101 transparent", "PB29", "PG18", "PY43", "PBk9"))
    base = [2.0, 1.0, 0, 0, 0, 0]
    start = LCh_from_Lab(mix_Lab(base, palette, D50))[1]
    found = complements(base, palette, D50)
    assert {row.added.id for row, _ in found} & {"PB29", "PG18"}
    assert "PY43" not in {row.added.id for row, _ in found}
    assert all(least < 0.7 * start for _, least in found)
    assert [least for _, least in found] == sorted(least for _, least in found)
