"""The library's paints against what is published about their pigments: bands, edges, masstones and tints."""

import numpy as np
import pytest

from sitterlight.illuminants import grid
from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.mixing import Lab_under, mix_Lab, mix_reflectance, viewing_light
from sitterlight.shading.munsell import munsell_under_D65, parse_munsell
from sitterlight.shading.paints import paint

D65 = viewing_light("D65")
nm = grid.WAVELENGTHS

# Colour under D65, gloss excluded, of masstone and of one part in ten parts of titanium white. From K and S of
# R. S. Berns, "Artist Paint Spectral Database", IS&T Color and Imaging Conference 24 (2016), with his k1 = 0.03 and
# k2 = 0.65. His paints are acrylic and weighed; PB15:3 is held against his PB15:4. The bands of these thirteen were
# set against the same K and S, so this says that a few bands are enough, not that oil paint is like acrylic.
# Tolerances, chosen before comparing: batches of one pigment differ by about as much.
MASSTONE_TOLERANCE, TINT_TOLERANCE = 6.0, 3.0
BERNS = {
    "PBk9": ((11.4, 0.1, -1.4), (80.1, -0.6, -2.1)),
    "PY74": ((85.2, 2.9, 106.2), (94.2, -6.1, 50.1)),
    "PO20": ((63.0, 55.5, 82.6), (84.6, 23.5, 24.9)),
    "PR108": ((49.3, 66.1, 59.0), (79.8, 26.4, 12.0)),
    "PR254": ((38.8, 67.6, 49.9), (74.3, 29.5, 3.4)),
    "PV19": ((33.8, 55.7, 24.8), (77.4, 32.0, -6.8)),
    "PR122": ((25.6, 48.0, 8.9), (74.9, 32.7, -14.2)),
    "PV23": ((13.5, 5.5, 3.3), (57.8, 22.5, -36.3)),
    "PB29": ((7.4, 42.6, -50.2), (79.0, 1.6, -25.3)),
    "PB28": ((27.3, 32.9, -63.0), (83.1, -1.9, -20.5)),
    "PB36": ((33.6, -1.1, -42.4), (86.8, -5.3, -12.9)),
    "PB15:3": ((10.4, 23.1, -33.6), (67.9, -16.6, -36.4)),
    "PG7": ((13.5, -11.2, -10.5), (76.1, -36.3, -2.4)),
}


def masstone(name):
    return mix_reflectance([1.0], (paint(name),))


def at(values, wavelength):
    return float(np.interp(wavelength, nm, values))


def steepest(name, low=420, high=720):
    """Wavelength of the steepest rise of the masstone."""
    inside = (nm >= low) & (nm <= high)
    return nm[inside][np.argmax(np.gradient(masstone(name))[inside])]


def most_absorbed(name, low=420, high=740):
    inside = (nm >= low) & (nm <= high)
    return nm[inside][np.argmax(paint(name).K[inside])]


def lightest(name, low=420, high=640):
    inside = (nm >= low) & (nm <= high)
    return nm[inside][np.argmax(masstone(name)[inside])]


def half_rise(name):
    """Wavelength at which the masstone has risen half-way from its least to its most."""
    R = masstone(name)
    half = 0.5 * (R.min() + R.max())
    return float(np.interp(half, np.maximum.accumulate(R), nm))


@pytest.mark.parametrize("name", BERNS)
def test_published_masstone(name):
    assert delta_E00(Lab_under(masstone(name), D65), BERNS[name][0]) < MASSTONE_TOLERANCE


@pytest.mark.parametrize("name", BERNS)
def test_published_tint(name):
    tint = mix_Lab([1.0, 10.0], (paint(name), paint("PW6")), D65)
    assert delta_E00(tint, BERNS[name][1]) < TINT_TOLERANCE


@pytest.mark.parametrize("name", ["PY43", "PY42 yellow oxide", "PY42 deep"])
def test_goethite(name):
    """Steepest rise near 535 nm, in paint a little later; B. C. Deaton and W. L. Balsam, Journal of Sedimentary
    Petrology 61 (1991) 628."""
    assert 525 <= steepest(name) <= 560


@pytest.mark.parametrize("name", ["PR101 red oxide", "PR101 deep", "PR102"])
def test_haematite(name):
    """Steepest rise from 565 nm on, later the coarser the grain; Deaton and Balsam 1991."""
    assert 560 <= steepest(name) <= 595
    assert steepest(name) - steepest("PY43") >= 20


@pytest.mark.parametrize("name", ["PY43", "PY42 yellow oxide", "PR101 red oxide", "PR101 deep", "PR102"])
def test_iron_band_near_650(name):
    """Fe3+ 6A1 to 4T2 near 650 nm holds the rise up; D. M. Sherman and T. D. Waite, American Mineralogist 70 (1985)."""
    R = masstone(name)
    before, within, after = at(R, 610) - at(R, 590), at(R, 650) - at(R, 630), at(R, 710) - at(R, 690)
    assert within < before and within < after


def test_whites_at_their_edge():
    """Rutile absorbs below about 410 nm (3.0 eV), zinc oxide below about 385 nm (3.2 to 3.3 eV), lead white nowhere in
    the visible; Artists' Pigments vols 1 to 3."""
    rutile, zinc, lead = masstone("PW6"), masstone("PW4"), masstone("PW1")
    assert at(rutile, 390) < 0.5 * at(rutile, 550) and at(rutile, 430) > 0.9 * at(rutile, 550)
    assert 375 < half_rise("PW4") < half_rise("PW6") < 415
    assert at(zinc, 405) > 0.85 * at(zinc, 550) > at(rutile, 405)
    assert at(lead, 385) > 0.9 * at(lead, 550)


def test_titanium_white_tints_most():
    """Rutile about 1700, zinc oxide 200, basic lead carbonate 160 on Reynolds' scale by weight: from memory."""
    S = {name: at(paint(name).S, 550) for name in ("PW6", "PW4", "PW1")}
    assert S["PW6"] > 3.5 * max(S["PW4"], S["PW1"])


def test_ultramarine():
    """The sulphur radical S3− absorbs at 595 to 620 nm; R. J. H. Clark and D. G. Cobbold, Inorganic Chemistry 17
    (1978) 3169. Blue near 450 nm is returned, and red again beyond 700 nm; J. Plesters, Artists' Pigments 2."""
    assert 590 <= most_absorbed("PB29") <= 620
    assert 435 <= lightest("PB29") <= 470
    assert at(paint("PB29").K, 740) < 0.2 * at(paint("PB29").K, 610)


def test_cobalt_blue():
    """Tetrahedral Co2+: three bands from 540 to 630 nm, then a steep rise into red; A. Roy, Artists' Pigments 4."""
    K = paint("PB28").K
    assert 580 <= most_absorbed("PB28") <= 630
    assert at(K, 545) > 0.4 * K.max() and at(K, 690) < 0.03 * K.max()
    assert at(masstone("PB28"), 720) > 0.5


@pytest.mark.parametrize(("name", "low", "high"), [("PB15:3", 610, 720), ("PG7", 630, 670)])
def test_phthalocyanines(name, low, high):
    """Q bands: of the blue near 615 and 690 to 720 nm, of the chlorinated green near 640 to 660; S. Q. Lomax, Reviews
    in Conservation 6 (2005) 19."""
    K = paint(name).K
    assert low <= most_absorbed(name) <= high
    assert at(K, 650) > 0.5 * K.max()


def test_phthalo_windows():
    """The blue passes light near 460 nm, the green near 500 nm: a hundredth of the greatest absorption or less."""
    assert at(paint("PB15:3").K, 460) < 0.01 * paint("PB15:3").K.max()
    assert at(paint("PG7").K, 500) < 0.02 * paint("PG7").K.max()


def test_prussian_blue():
    """Fe2+ to Fe3+ transfer at 680 to 710 nm; B. H. Berrie, Artists' Pigments 3."""
    assert 675 <= most_absorbed("PB27") <= 715


def test_chromium_oxide():
    """Two valleys, near 460 and 600 nm, with light returned near 540 nm and a little near 410 nm; R. Newman, Artists'
    Pigments 3; R. G. Burns, Mineralogical Applications of Crystal Field Theory (1993)."""
    R = masstone("PG17")
    assert min(at(R, 455), at(R, 465)) < at(R, 410) < at(R, 540)
    assert 530 <= lightest("PG17") <= 550
    assert 590 <= most_absorbed("PG17", 550, 700) <= 625
    assert at(R, 605) < 0.6 * at(R, 540) and at(R, 700) > 1.5 * at(R, 610)


def test_viridian():
    """Hydrated chromium oxide: bands near 430 and 610 nm, light returned near 505 nm; Newman, Artists' Pigments 3."""
    assert 415 <= most_absorbed("PG18", 415, 520) <= 445
    assert 595 <= most_absorbed("PG18", 520, 700) <= 630
    assert 495 <= lightest("PG18") <= 520


def test_cadmium_edges():
    """Steep edges that move from about 515 nm to red as selenium comes in; I. Fiedler and M. Bayard, Artists'
    Pigments 1."""
    edges = [half_rise(name) for name in ("PY35", "PO20", "PR108")]
    assert 505 <= edges[0] <= 535 and 545 <= edges[1] <= 580 and 575 <= edges[2] <= 610
    for name in ("PY35", "PO20", "PR108"):
        R = masstone(name)
        rise = np.interp([0.2, 0.8], (np.maximum.accumulate(R) - R.min()) / np.ptp(R), nm)
        assert rise[1] - rise[0] < 45


def test_bismuth_vanadate():
    """The band gap of monoclinic BiVO4, 2.4 eV or 517 nm (A. Kudo, K. Omori and H. Kato, Journal of the American
    Chemical Society 121 (1999) 11459, from memory): absorption ends there, and the paint is half risen a little before.
    Its colour has no other check; no published colour of such a paint was found."""
    assert 485 <= half_rise("PY184") <= 517
    assert at(paint("PY184").K, 530) < 0.02 * paint("PY184").K.max()


def test_pyrrole_orange():
    """Its edge lies between those of cadmium orange and pyrrole red: from memory; no published colour was found."""
    assert half_rise("PO20") < half_rise("PO73") < half_rise("PR254")


def test_alizarin_and_quinacridone():
    """Alizarin's lake absorbs most from 500 to 555 nm (H. Schweppe and J. Winter, Artists' Pigments 3), quinacridone
    magenta from 525 to 575 nm (Lomax 2005); both pass red freely."""
    assert 500 <= most_absorbed("PR83") <= 555
    assert 525 <= most_absorbed("PR122") <= 575
    for name in ("PR83", "PR122"):
        assert at(paint(name).K, 660) < 0.03 * paint(name).K.max()


def test_dioxazine():
    """Absorbs from 500 to 640 nm, most near 565 nm, and passes violet and far red (Berns 2016)."""
    K = paint("PV23").K
    assert 530 <= most_absorbed("PV23") <= 580
    assert at(K, 430) < 0.1 * K.max() and at(K, 700) < 0.03 * K.max()


def test_bone_black_has_no_features():
    K = paint("PBk9").K[(nm >= 420) & (nm <= 720)]
    assert K.max() / K.min() < 2.0


def test_umber_is_darkened_by_manganese_through_the_red():
    """Manganese oxides absorb throughout; so umbers stay dark where siennas turn light: from memory."""
    for umber, sienna in (("PBr7 raw umber", "PBr7 raw sienna"), ("PBr7 burnt umber", "PBr7 burnt sienna")):
        assert at(masstone(umber), 700) < 0.4 * at(masstone(sienna), 700)


@pytest.mark.parametrize(
    ("name", "hues", "values", "chromas"),
    [
        # Masstones in oil as commonly given in Munsell notation, from memory; hue in steps of 2.5, 15 is 5YR.
        ("PY43", (17.0, 22.0), (5.0, 6.5), (6.0, 9.0)),
        ("PBr7 raw sienna", (16.0, 20.0), (4.0, 5.3), (5.0, 8.0)),
        ("PBr7 burnt sienna", (10.5, 15.0), (2.3, 3.6), (3.0, 6.0)),
        ("PBr7 burnt umber", (13.0, 18.0), (1.6, 2.8), (1.0, 2.8)),
        ("PBr7 raw umber", (17.5, 23.0), (2.0, 3.0), (1.0, 2.8)),
        # J. D. Scheinost and U. Schwertmann, Soil Science Society of America Journal 63 (1999) 1463, ranges of hue of
        # pure goethite (7YR to 2Y) and haematite (3R to 4YR), widened by one step of 1: from memory.
        ("PY42 yellow oxide", (16.0, 23.0), (4.0, 7.0), (5.0, 10.0)),
        ("PR101 red oxide", (4.0, 15.0), (2.5, 4.6), (4.0, 9.0)),
        ("PR101 deep", (4.0, 15.0), (2.3, 4.0), (3.0, 8.0)),
    ],
)
def test_munsell_of_earths(name, hues, values, chromas):
    hue, value, chroma = parse_munsell(munsell_under_D65(Lab_under(masstone(name), D65)))
    assert hues[0] <= hue <= hues[1]
    assert values[0] <= value <= values[1]
    assert chromas[0] <= chroma <= chromas[1]


def test_finer_haematite_is_yellower():
    """Transparent red oxide's tint is more orange than opaque red oxide's, deep red oxide's bluer: common knowledge of
    grain size, from memory."""
    hue = {}
    for name in ("PR101 transparent", "PR101 red oxide", "PR101 deep"):
        _, a, b = mix_Lab([1.0, 10.0], (paint(name), paint("PW6")), D65)
        hue[name] = np.degrees(np.arctan2(b, a))
    assert hue["PR101 deep"] < hue["PR101 red oxide"] < hue["PR101 transparent"]
