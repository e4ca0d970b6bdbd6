"""The eye: adaptation, key, roll-off, notations on screen."""

import numpy as np
import pytest

from sitterlight.illuminants.observer import tristimulus
from sitterlight.shading import colour_spaces
from sitterlight.shading.cat16 import CONES_FROM_XYZ, adapt, degree_of_adaptation
from sitterlight.shading.eye import Eye, Key, adaptation_degree, light_spectrum, reference_white, rolled_off

RANDOM = np.random.default_rng(7)
LAMP_CARD = tuple(tristimulus(light_spectrum("A").power) * 95.0)


def scene_colours(count=50):
    """Reflecting colours under the lamp, cd/m², none brighter than the card."""
    return RANDOM.uniform(0.02, 1.0, (count, 1)) * RANDOM.uniform(0.6, 1.0, (count, 3)) * np.array(LAMP_CARD)


@pytest.mark.parametrize("light", ["A", "D50", "D65", "LED-B1", "FL11", "E"])
def test_a_fully_adapted_eye_sees_the_card_as_white_paint(light):
    eye = Eye(tuple(tristimulus(light_spectrum(light).power) * 300.0))
    assert eye.see(eye.card_XYZ) == pytest.approx(eye.white, abs=1e-12)
    assert eye.Lab(eye.card_XYZ) == pytest.approx([100, 0, 0], abs=1e-9)
    assert eye.sRGB_bytes(eye.card_XYZ).tolist() == [255, 255, 255]


@pytest.mark.parametrize("degree", [0.0, 0.3, 0.83, 1.0])
def test_the_card_keeps_luminance_one_and_moves_straight_to_the_reference_white(degree):
    eye = Eye(LAMP_CARD, degree)
    bare = np.array(LAMP_CARD) / LAMP_CARD[1]
    assert eye.see(LAMP_CARD) == pytest.approx(degree * np.array(eye.white) + (1 - degree) * bare, abs=1e-12)


def test_adaptation_multiplies_each_cone_by_the_stated_gain():
    w, r, degree = np.array([1.1, 1.0, 0.4]) * 7.0, np.array([0.95, 1.0, 1.09]) * 3.0, 0.6
    XYZ = RANDOM.uniform(0.1, 5.0, (20, 3))
    before, after = XYZ @ CONES_FROM_XYZ.T, adapt(XYZ, w, r, degree) @ CONES_FROM_XYZ.T
    gain = degree * (w[1] / r[1]) * (CONES_FROM_XYZ @ r) / (CONES_FROM_XYZ @ w) + 1 - degree
    assert after == pytest.approx(before * gain)


def test_no_adaptation_leaves_the_scene_as_it_is():
    XYZ = scene_colours()
    assert Eye(LAMP_CARD, 0.0).see(XYZ) == pytest.approx(XYZ / LAMP_CARD[1])


def test_automatic_adaptation_follows_the_luminance():
    # 1 − exp((−La − 42) / 92) / 3.6 with La a fifth of the card: CIE 248:2022
    degrees = [adaptation_degree("auto", card) for card in (0.0, 10.0, 100.0, 1000.0, 10000.0)]
    assert degrees[0] == pytest.approx(1 - np.exp(-42 / 92) / 3.6)
    assert degrees[3] == pytest.approx(1 - np.exp(-242 / 92) / 3.6)
    assert np.all(np.diff(degrees) > 0) and degrees[-1] > 0.999
    assert adaptation_degree(0.4, 5.0) == 0.4
    assert degree_of_adaptation(1e9) == 1.0


def test_nothing_bends_below_white_and_what_is_above_is_marked():
    eye = Eye(LAMP_CARD)
    XYZ = scene_colours()
    assert eye.see(XYZ) == pytest.approx(eye.adapted(XYZ))
    assert not eye.above_white(XYZ).any() and not eye.above_white(LAMP_CARD)
    brighter = np.array(LAMP_CARD) * [[1.01], [2.0], [50.0]]
    assert eye.above_white(brighter).all()
    seen = eye.see(brighter)
    assert np.all(seen[:, 1] > 1.0) and np.all(seen[:, 1] <= 1.25)
    assert seen / seen[:, 1:2] == pytest.approx(np.tile(eye.white, (3, 1)))


def test_the_roll_off_is_smooth_and_never_turns_back():
    Y = np.linspace(0.0, 4.0, 4001)
    rolled = rolled_off(Y)
    assert np.array_equal(rolled[Y <= 1.0], Y[Y <= 1.0])
    slope = np.diff(rolled) / np.diff(Y)
    assert np.all(slope >= 0.0) and np.abs(np.diff(slope)).max() < 0.005
    assert rolled[-1] < 1.25


def test_a_key_is_one_factor_on_luminance_and_keeps_chromaticity():
    plain, lifted = Eye(LAMP_CARD, 0.9), Eye(LAMP_CARD, 0.9, Key(factor=0.5))
    XYZ = scene_colours()
    assert lifted.see(XYZ) == pytest.approx(0.5 * plain.see(XYZ))
    pressed = Eye(LAMP_CARD, 0.9, Key(0.8, 0.6)).see(XYZ)
    before = plain.see(XYZ)
    assert pressed[:, 1] == pytest.approx(0.8 * before[:, 1] ** 0.6)
    assert pressed[:, [0, 2]] / pressed[:, 1:2] == pytest.approx(before[:, [0, 2]] / before[:, 1:2])


def test_another_reference_white_gives_the_same_white_on_screen():
    eye = Eye(LAMP_CARD).with_white(reference_white("D50"))
    assert eye.see(LAMP_CARD) == pytest.approx(colour_spaces.D50_WHITE, abs=2e-4)
    assert eye.sRGB_bytes(LAMP_CARD).tolist() == [255, 255, 255]
    grey = 0.2 * np.array(LAMP_CARD)
    assert len(set(eye.sRGB_bytes(grey).tolist())) == 1


def test_the_ten_degree_observer_sees_its_own_card_as_white():
    card = tuple(tristimulus(light_spectrum("A").power, 10) * 95.0)
    eye = Eye(card, white=reference_white("D65", 10), observer=10)
    assert eye.Lab(card) == pytest.approx([100, 0, 0], abs=1e-9)
    assert eye.sRGB_bytes(card).tolist() == [255, 255, 255]
    assert reference_white("D65", 10) != reference_white("D65", 2)


def test_single_precision_stays_single_and_agrees():
    eye = Eye(LAMP_CARD, 0.8, Key(1.7))
    XYZ = scene_colours(200)
    for see in (eye.see, eye.Lab, eye.sRGB):
        single = see(XYZ.astype(np.float32))
        assert single.dtype == np.float32
        assert single == pytest.approx(see(XYZ), abs=2e-4)


def test_black_is_black():
    eye = Eye(LAMP_CARD, 0.8, Key(1.2, 0.5))
    assert eye.Lab([0.0, 0.0, 0.0]) == pytest.approx([0, 0, 0], abs=1e-9)
    assert eye.sRGB_bytes([0.0, 0.0, 0.0]).tolist() == [0, 0, 0]


def test_the_easel_light_of_a_temperature_is_daylight_or_planckian():
    assert reference_white("6504 K") == pytest.approx(colour_spaces.D65_WHITE, abs=1e-3)
    assert reference_white("2856 K") == pytest.approx(reference_white("A"), abs=2e-3)


def test_hex_codes_go_round():
    for code in ("#000000", "#ffffff", "#8a5a3c", "#0410fe"):
        assert colour_spaces.hex_from_XYZ(colour_spaces.XYZ_from_hex(code)) == code
    assert colour_spaces.XYZ_from_hex("#fa0") == pytest.approx(colour_spaces.XYZ_from_hex("FFAA00"))
    with pytest.raises(ValueError, match="#12"):
        colour_spaces.XYZ_from_hex("#12")


def test_a_colour_outside_the_screen_keeps_its_lightness_and_loses_purity():
    XYZ = colour_spaces.XYZ_from_Lab(np.array([[60.0, -90.0, 20.0], [30.0, 20.0, -95.0], [50.0, 10.0, 12.0]]))
    assert colour_spaces.in_sRGB(XYZ).tolist() == [False, False, True]
    linear = colour_spaces.into_sRGB(XYZ)
    assert linear.min() >= 0.0 and linear.max() <= 1.0
    inside = linear @ colour_spaces.XYZ_FROM_SRGB.T
    assert inside[:, 1] == pytest.approx(XYZ[:, 1])
    assert inside[2] == pytest.approx(XYZ[2])
    for index in (0, 1):
        towards = colour_spaces.linear_sRGB_from_XYZ(XYZ[index]) - XYZ[index, 1]
        went = linear[index] - XYZ[index, 1]
        assert np.linalg.norm(np.cross(towards, went)) == pytest.approx(0.0, abs=1e-12)
        assert 0.0 < went @ towards < towards @ towards


def test_LCh_and_Lab_are_the_same_colour():
    Lab = RANDOM.uniform([1, -60, -60], [99, 60, 60], (40, 3))
    assert colour_spaces.Lab_from_LCh(colour_spaces.LCh_from_Lab(Lab)) == pytest.approx(Lab)
    for white in (colour_spaces.D65_WHITE, colour_spaces.D50_WHITE):
        assert colour_spaces.Lab_from_XYZ(colour_spaces.XYZ_from_Lab(Lab, white), white) == pytest.approx(Lab)
