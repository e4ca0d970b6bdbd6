"""Skylight note, greying, and the shares of each part of the light in them."""

import numpy as np
import pytest

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.illuminants.observer import tristimulus
from sitterlight.illuminants.temperature import daylight, planckian
from sitterlight.shading.notes import LEAST_OWN_COLOUR, Notes

SKIN = 0.03 + 0.15 / (1.0 + np.exp(-(WAVELENGTHS - 600.0) / 40.0))
CARD = daylight(9000.0) * 1000.0
NOTES = Notes(tuple(tristimulus(CARD)))
OWN = tristimulus(SKIN * CARD)
RANDOM = np.random.default_rng(3)


def lit(parts):
    """XYZ (P, 3) of parts of light given as (spectrum, lux, reflectance), and their neutral versions."""
    seen = np.stack([tristimulus(spectrum * lux * surface) for spectrum, lux, surface in parts])
    neutral = np.stack([tristimulus(CARD / 1000.0 * lux * surface) for _, lux, surface in parts])
    return seen, neutral


def shaded(*skies, sheen=0.03):
    """Parts of light from skies (CCT, lux): body and sheen of each."""
    return lit([(daylight(cct), lux, how) for cct, lux in skies for how in (SKIN, np.full(81, sheen))])


def test_under_one_uniform_light_there_is_no_note_whatever_the_skin_and_sheen():
    for sheen in (0.0, 0.03, 0.5):
        seen, neutral = shaded((9000.0, 700.0), sheen=sheen)
        assert NOTES.skylight_note(seen.sum(0), neutral.sum(0)) == pytest.approx(0.0, abs=1e-9)
        assert NOTES.note_shares(seen, neutral) == pytest.approx(0.0, abs=1e-9)


def test_bluer_light_gives_a_blue_note_and_warmer_light_a_warm_one():
    notes = []
    for cct in (5000.0, 7000.0, 9000.0, 12000.0, 20000.0):
        seen, neutral = shaded((cct, 700.0))
        notes.append(float(NOTES.skylight_note(seen.sum(0), neutral.sum(0))))
    assert np.all(np.diff(notes) > 0.2) and notes[2] == pytest.approx(0.0, abs=1e-9)


def test_the_note_is_the_component_toward_sky_blue_of_the_difference_from_neutral():
    seen, neutral = shaded((15000.0, 600.0), (5500.0, 200.0))
    X, N = seen.sum(0), neutral.sum(0)
    difference = NOTES.colour(X) - NOTES.colour(N * X[1] / N[1])
    assert NOTES.skylight_note(X, N) == pytest.approx(difference @ NOTES.toward_sky)
    assert NOTES.skylight_note(X, 7.0 * N) == pytest.approx(difference @ NOTES.toward_sky)


@pytest.mark.parametrize("card", [daylight(6504.0), daylight(9000.0), planckian(2856.0)])
def test_sky_blue_is_one_direction_and_20000_K_lies_along_it(card):
    notes = Notes(tuple(tristimulus(card) * 300.0))
    assert np.hypot(*notes.toward_sky) == pytest.approx(1.0)
    D65, zenith = (notes.colour(300.0 * tristimulus(daylight(cct))) for cct in (6504.0, 20000.0))
    assert (zenith - D65) @ notes.toward_sky == pytest.approx(np.hypot(*(zenith - D65)))
    assert notes.toward_sky[1] < 0.0  # b′ falls toward blue


def test_the_skin_s_own_colour_is_not_greyed_in_light_or_shadow():
    for strength in (0.05, 1.0, 2.0):
        assert NOTES.greying(strength * OWN, OWN) == pytest.approx(0.0, abs=1e-9)


def test_grey_is_greying_one_and_beyond_grey_is_more():
    assert NOTES.greying(0.1 * tristimulus(CARD), OWN) == pytest.approx(1.0, abs=1e-6)
    sky = tristimulus(daylight(25000.0)) * 100.0
    assert NOTES.greying(sky, OWN) > 1.05
    assert NOTES.greying(tristimulus(SKIN**1.5 * CARD), OWN) < -0.1


def test_greying_is_chroma_lost_along_the_own_colour():
    seen, _ = shaded((20000.0, 500.0), (9000.0, 300.0))
    X = seen.sum(0)
    m, own = NOTES.colour(X), NOTES.colour(OWN * X[1] / OWN[1])
    assert NOTES.greying(X, OWN) == pytest.approx(1.0 - m @ own / (own @ own))


def test_where_there_is_no_answer_none_is_given():
    assert np.isnan(NOTES.greying(0.2 * OWN, 0.3 * tristimulus(CARD)))
    dark = np.zeros(3)
    assert np.isnan(NOTES.greying(dark, OWN)) and np.isnan(NOTES.skylight_note(dark, OWN))
    pale = tristimulus((0.5 + 0.02 * (WAVELENGTHS > 600)) * CARD)
    assert np.hypot(*NOTES.colour(pale)) < LEAST_OWN_COLOUR
    assert np.isnan(NOTES.greying(pale, pale))


@pytest.mark.parametrize("skies", [((15000.0, 800.0), (6000.0, 300.0)), ((20000.0, 50.0), (9500.0, 900.0))])
def test_shares_add_up(skies):
    seen, neutral = shaded(*skies)
    shares = NOTES.note_shares(seen, neutral)
    assert shares.sum() == pytest.approx(NOTES.skylight_note(seen.sum(0), neutral.sum(0)))
    shares = NOTES.greying_shares(seen, OWN)
    assert shares.sum() == pytest.approx(NOTES.greying(seen.sum(0), OWN))


def test_shares_add_up_even_where_a_warm_and_a_blue_light_cancel():
    seen, neutral = shaded((20000.0, 300.0), (6000.0, 300.0))
    for _ in range(40):  # to a note of zero, by strengthening whichever is the weaker
        note = NOTES.skylight_note(seen.sum(0), neutral.sum(0))
        factor = np.exp(-0.1 * note) * np.array([1, 1, 0, 0]) + np.array([0, 0, 1, 1])
        seen, neutral = seen * factor[:, None], neutral * factor[:, None]
    assert NOTES.skylight_note(seen.sum(0), neutral.sum(0)) == pytest.approx(0.0, abs=1e-3)
    shares = NOTES.note_shares(seen, neutral)
    assert shares[:2].sum() > 1.0 and shares[2:].sum() < -1.0
    assert np.abs(shares).max() < 20.0


def test_a_light_of_the_card_s_own_colour_has_no_share_in_the_note():
    seen, neutral = lit([(daylight(9000.0), 500.0, SKIN), (planckian(2856.0), 200.0, SKIN)])
    shares = NOTES.note_shares(seen, neutral)
    whole = NOTES.skylight_note(seen.sum(0), neutral.sum(0))
    assert whole < -2.0
    assert shares[0] == pytest.approx(0.0, abs=1e-6)
    assert shares[1] == pytest.approx(whole)


def test_a_share_is_close_to_what_that_part_alone_changes():
    seen, neutral = shaded((11000.0, 600.0), (9000.0, 300.0), sheen=0.02)
    shares = NOTES.note_shares(seen, neutral)
    X = seen.sum(0)
    for part in (0, 1):
        own_strength = neutral[part] * seen[part, 1] / neutral[part, 1]
        changed = NOTES.colour(X) - NOTES.colour(X - seen[part] + own_strength)
        assert shares[part] == pytest.approx(changed @ NOTES.toward_sky, rel=0.12)


def test_sheen_not_body_greys_under_the_card_s_own_light():
    seen, _ = shaded((9000.0, 700.0))
    shares = NOTES.greying_shares(seen, OWN)
    assert shares[0] == pytest.approx(0.0, abs=1e-6)
    assert shares[1] == pytest.approx(NOTES.greying(seen.sum(0), OWN)) and shares[1] > 0.2


def test_many_places_at_once_are_the_same_as_one_by_one():
    pairs = [shaded((RANDOM.uniform(5000, 20000), 400.0), (7000.0, RANDOM.uniform(1, 400))) for _ in range(6)]
    seen, neutral = (np.stack(side, 1) for side in zip(*pairs, strict=True))
    together = NOTES.note_shares(seen, neutral), NOTES.greying_shares(seen, np.tile(OWN, (6, 1)))
    for k in range(6):
        assert together[0][:, k] == pytest.approx(NOTES.note_shares(seen[:, k], neutral[:, k]))
        assert together[1][:, k] == pytest.approx(NOTES.greying_shares(seen[:, k], OWN))


def test_deep_skin_is_greyed_by_the_same_sheen_more_than_fair_skin():
    # Common practice, no source: the darker the body, the more a veil of sheen shows.
    greyings = []
    for darkness in (0.4, 1.0, 3.0):
        skin = SKIN * darkness
        seen, _ = lit([(daylight(9000.0), 700.0, skin), (daylight(9000.0), 700.0, np.full(81, 0.02))])
        greyings.append(float(NOTES.greying(seen.sum(0), tristimulus(skin * CARD))))
    assert greyings[0] > 1.5 * greyings[1] > 2.0 * greyings[2] > 0.0


def test_the_ten_degree_observer_has_its_own_sky_blue():
    ten = Notes(tuple(tristimulus(CARD, 10)), 10)
    assert np.hypot(*ten.toward_sky) == pytest.approx(1.0)
    assert not np.allclose(ten.toward_sky, NOTES.toward_sky, atol=1e-4)
    assert ten.toward_sky @ NOTES.toward_sky > 0.95
