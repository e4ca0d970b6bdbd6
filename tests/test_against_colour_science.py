"""Our colour formulae against colour-science (colour-science.org), which is checked against the publications."""

import colour
import numpy as np
import pytest
from colour.appearance import InductionFactors_CAM16
from colour.notation.munsell import xyY_to_munsell_specification

from sitterlight.illuminants.observer import tristimulus
from sitterlight.illuminants.temperature import daylight
from sitterlight.shading import colour_spaces
from sitterlight.shading.cam16 import ViewingConditions
from sitterlight.shading.cat16 import adapt, degree_of_adaptation
from sitterlight.shading.munsell import (
    FAMILIES,
    XYZ_from_munsell,
    XYZ_from_specification,
    renotation_xy,
    specification_from_XYZ,
    value_of_luminance,
)
from sitterlight.shading.notes import Notes

RANDOM = np.random.default_rng(2026)
XYZ = RANDOM.uniform(0.003, 1.0, (300, 3)) * np.array([0.95, 1.0, 1.09])
WHITES = {
    name: colour_spaces.white_from_xy(*colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"][name])
    for name in ("A", "D50", "D65", "FL2")
}
LETTERS = dict(zip((7, 6, 5, 4, 3, 2, 1, 10, 9, 8), FAMILIES, strict=True))


def xy_of(white):
    return white[:2] / white.sum()


@pytest.mark.parametrize("name", WHITES)
def test_Lab(name):
    white = WHITES[name]
    ours = colour_spaces.Lab_from_XYZ(XYZ * white, white)
    assert ours == pytest.approx(colour.XYZ_to_Lab(XYZ * white, xy_of(white)), abs=1e-9)
    assert colour_spaces.XYZ_from_Lab(ours, white) == pytest.approx(XYZ * white)


def test_sRGB():
    linear = colour.XYZ_to_sRGB(XYZ, apply_cctf_encoding=False)
    # Its matrix is the rounded one of IEC 61966-2-1, ours follows from the primaries.
    assert colour_spaces.linear_sRGB_from_XYZ(XYZ) == pytest.approx(linear, abs=5e-4)
    inside = np.clip(linear, 0, 1)
    assert colour_spaces.encode_sRGB(inside) == pytest.approx(colour.cctf_encoding(inside), abs=1e-9)
    coded = RANDOM.uniform(0, 1, 200)
    assert colour_spaces.decode_sRGB(coded) == pytest.approx(colour.cctf_decoding(coded), abs=1e-9)


def test_delta_E00():
    one = RANDOM.uniform([0, -80, -80], [100, 80, 80], (3000, 3))
    other = np.where(RANDOM.random((3000, 1)) < 0.5, one + RANDOM.normal(0, 3, (3000, 3)), one[::-1])
    other[:20, 1:] = 0.0
    one[10:30, 1:] = 0.0
    assert colour_spaces.delta_E00(one, other) == pytest.approx(colour.delta_E(one, other, "CIE 2000"), abs=1e-9)


@pytest.mark.parametrize("name", WHITES)
def test_CAT16_full(name):
    white = WHITES[name]
    theirs = colour.chromatic_adaptation(XYZ * white, white, WHITES["D65"], method="Von Kries", transform="CAT16")
    assert adapt(XYZ * white, white, WHITES["D65"]) == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize("luminance", [1.0, 60.0, 318.31, 5000.0])
def test_degree_of_adaptation(luminance):
    theirs = colour.appearance.cam16.degree_of_adaptation(1.0, luminance)
    assert degree_of_adaptation(luminance) == pytest.approx(float(theirs), abs=1e-12)


@pytest.mark.parametrize("name", WHITES)
@pytest.mark.parametrize("luminance", [5.0, 400.0, 9000.0])
def test_CAM16_UCS_fully_adapted(name, luminance):
    white = WHITES[name]
    conditions = ViewingConditions(tuple(white * luminance), 0.2 * luminance)
    theirs = cam16_ucs(XYZ * white, white, luminance)
    assert conditions.ucs(XYZ * white * luminance) == pytest.approx(theirs, abs=1e-7)


def cam16_ucs(colours, white, luminance):
    """CAM16-UCS by colour-science for full adaptation, an average surround and a background of 20 %."""
    seen = colour.XYZ_to_CAM16(
        100.0 * colours,
        100.0 * np.asarray(white),
        0.2 * luminance,
        20.0,
        surround=InductionFactors_CAM16(1.0, 0.69, 1.0),
        discount_illuminant=True,
    )
    return colour.JMh_CAM16_to_CAM16UCS(np.stack([seen.J, seen.M, seen.h], axis=-1))


def test_the_notes_as_defined_but_computed_there():
    card, luminance = tristimulus(daylight(8000.0)), 1500.0
    seen, neutral, own = RANDOM.uniform(0.02, 0.3, (3, 40, 3)) * np.array([1.3, 1.0, 0.7])

    def m(colours):
        return cam16_ucs(colours, card, luminance)[..., 1:]

    def at_luminance(colours):
        return colours * seen[:, 1:2] / colours[:, 1:2]

    blue = m(tristimulus(daylight(20000.0))) - m(tristimulus(daylight(6504.0)))
    note = (m(seen) - m(at_luminance(neutral))) @ (blue / np.hypot(*blue))
    own_m = m(at_luminance(own))
    greying = 1 - np.sum(m(seen) * own_m, -1) / np.sum(own_m**2, -1)
    greying[np.hypot(*own_m.T) < 3.0] = np.nan
    notes = Notes(tuple(card * luminance))
    assert notes.skylight_note(seen * luminance, neutral * luminance) == pytest.approx(note, abs=1e-6)
    assert notes.greying(seen * luminance, own * luminance) == pytest.approx(greying, abs=1e-6, nan_ok=True)


def munsell_text(specification):
    hue, value, chroma = specification
    return f"{hue % 10:.4f}{FAMILIES[int(hue // 10)]} {value:.4f}/{chroma:.4f}"


def test_munsell_to_xyY():
    wanted = RANDOM.uniform([0.1, 1.05, 0.1], [99.9, 8.95, 10.0], (250, 3)).round(3)
    compared = 0
    for specification in wanted:
        try:
            theirs = colour.munsell_colour_to_xyY(munsell_text(specification))
        except (AssertionError, ValueError):  # it refuses some notations beyond its data
            continue
        # It takes a value within 0.001 of a whole one as whole.
        assert renotation_xy(specification) == pytest.approx(theirs[:2], abs=4e-5)
        ours = XYZ_from_munsell(munsell_text(specification), colour_spaces.C_WHITE)
        assert ours[1] == pytest.approx(theirs[2], abs=1e-9)
        compared += 1
    assert compared > 200


@pytest.mark.filterwarnings("ignore:.*MacAdam")
def test_xyY_to_munsell():
    compared = 0
    for specification in RANDOM.uniform([0, 1.2, 0.8], [100, 8.8, 8.0], (15, 3)):
        x, y = renotation_xy(specification)
        XYZ_here = XYZ_from_specification(specification, colour_spaces.C_WHITE)
        try:
            hue, value, chroma, code = xyY_to_munsell_specification([x, y, XYZ_here[1]])
        except (AssertionError, ValueError, RuntimeError):  # its search does not always end
            continue
        ours = specification_from_XYZ(XYZ_here, colour_spaces.C_WHITE)
        theirs = 10 * FAMILIES.index(LETTERS[int(code)]) + hue
        assert abs((ours[0] - theirs + 50) % 100 - 50) * chroma < 2e-3
        assert ours[1:] == pytest.approx([value, chroma], abs=1e-3)
        compared += 1
    assert compared >= 12


def test_munsell_value():
    Y = np.linspace(0.01, 1.0, 60)
    theirs = colour.notation.munsell_value_ASTMD1535(100 * Y)
    assert value_of_luminance(Y) == pytest.approx(theirs, abs=1e-4)
