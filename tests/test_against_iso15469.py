"""Skies against ISO 15469 (CIE S 011) and the older literature on daylight."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import dblquad

from sitterlight.illuminants.catalogue import spectrum
from sitterlight.illuminants.general_sky import (
    GRADATIONS,
    INDICATRICES,
    TYPES,
    gradation,
    hemisphere,
    indicatrix,
    relative_luminance,
)
from sitterlight.illuminants.observer import luminous, tristimulus
from sitterlight.illuminants.sky import Sky, make_sky, needs_sun, sky_names
from sitterlight.illuminants.temperature import cct_and_duv

ZENITH = np.array([[0.0, 1.0, 0.0]])
HORIZON = np.array([[0.0, 0.0, 1.0]])

# ISO 15469:2004, table 1: gradation a, b and indicatrix c, d, e of each type.
STANDARD = {
    1: (4.0, -0.70, 0, -1.0, 0.00),
    2: (4.0, -0.70, 2, -1.5, 0.15),
    3: (1.1, -0.8, 0, -1.0, 0.00),
    4: (1.1, -0.8, 2, -1.5, 0.15),
    5: (0.0, -1.0, 0, -1.0, 0.00),
    6: (0.0, -1.0, 2, -1.5, 0.15),
    7: (0.0, -1.0, 5, -2.5, 0.30),
    8: (0.0, -1.0, 10, -3.0, 0.45),
    9: (-1.0, -0.55, 2, -1.5, 0.15),
    10: (-1.0, -0.55, 5, -2.5, 0.30),
    11: (-1.0, -0.55, 10, -3.0, 0.45),
    12: (-1.0, -0.32, 10, -3.0, 0.45),
    13: (-1.0, -0.32, 16, -3.0, 0.30),
    14: (-1.0, -0.15, 16, -3.0, 0.30),
    15: (-1.0, -0.15, 24, -2.8, 0.15),
}

# Darula and Kittler 2002, "CIE general sky standard defining luminance distributions", eSim: B, C, D, E of
# Lz / Dv = (B sin^C γ / cos^D γ + E sin γ) / (133.8 sin γ), zenith luminance over diffuse horizontal
# illuminance for a sun γ above the horizon; their fit to integrated values, from memory.
ZENITH_OVER_HORIZONTAL = {
    1: (54.63, 1.00, 0, 0),
    2: (12.35, 3.68, 0.59, 50.47),
    3: (48.30, 1.00, 0, 0),
    4: (12.23, 3.57, 0.57, 44.27),
    5: (42.59, 1.00, 0, 0),
    6: (11.84, 3.53, 0.55, 38.78),
    7: (21.72, 4.52, 0.64, 34.56),
    8: (29.35, 4.94, 0.70, 30.41),
    9: (10.34, 3.45, 0.50, 27.47),
    10: (18.41, 4.27, 0.63, 24.04),
    11: (24.41, 4.60, 0.72, 20.76),
    12: (23.00, 4.43, 0.74, 18.52),
    13: (27.45, 4.61, 0.76, 16.59),
    14: (25.54, 4.40, 0.79, 14.56),
    15: (28.08, 4.13, 0.79, 13.00),
}


def toward(azimuth: float, elevation: float) -> np.ndarray:
    a, e = np.radians([azimuth, elevation])
    return np.array([np.sin(a) * np.cos(e), np.sin(e), np.cos(a) * np.cos(e)])


def on_plane(sky: Sky, normal: np.ndarray) -> float:
    """Illuminance of a plane by the sky alone."""
    points, solid_angles = hemisphere()
    return float((luminous(sky.radiance(points)) * np.maximum(points @ normal, 0)) @ solid_angles)


def every_sky() -> list[Sky]:
    sun = toward(-50, 35)
    return [make_sky(sky, sun_direction=sun) for sky in (*sky_names(), *range(1, 17))]


def test_the_groups_make_the_fifteen_types() -> None:
    for number, expected in STANDARD.items():
        kind = TYPES[number]
        assert GRADATIONS[kind.gradation] + INDICATRICES[kind.indicatrix] == expected
        assert kind.directional == (number not in (1, 3, 5))


def test_gradation_and_indicatrix_by_hand() -> None:
    # Values worked out by hand from the standard's formulae.
    assert gradation("I", np.array([1.0, 0.0])) == pytest.approx([1 + 4 * 0.496585304, 1.0])
    assert gradation("VI", np.array([1.0, 0.0])) == pytest.approx([0.139292024, 1.0])
    assert indicatrix(1, np.array([0.3, 2.0])) == pytest.approx([1.0, 1.0])
    assert indicatrix(4, np.array([0.0, np.pi / 2])) == pytest.approx([11.36016709, 1.0])


def test_traditional_overcast_sky() -> None:
    # Moon and Spencer 1942; Hopkinson, Petherbridge and Longmore, Daylighting (1966).
    for sky in (make_sky(), make_sky("overcast"), make_sky(16), make_sky("16")):
        zenith, horizon = luminous(sky.radiance(np.vstack([ZENITH, HORIZON])))
        assert zenith / horizon == pytest.approx(3)
        assert 1 / zenith == pytest.approx(7 * np.pi / 9, rel=1e-6)
        assert on_plane(sky, toward(0, 0)) == pytest.approx(0.396, abs=5e-4)


def test_type_1_of_the_standard() -> None:
    # Vertical 0.379 of horizontal, horizontal 0.7797 π of the zenith.
    sky = make_sky(1)
    assert 1 / luminous(sky.radiance(ZENITH))[0] == pytest.approx(0.7797 * np.pi, rel=2e-4)
    assert on_plane(sky, toward(70, 0)) == pytest.approx(0.379, abs=1e-3)


def test_tilted_planes_under_a_uniform_sky() -> None:
    # Liu and Jordan 1963: (1 + cos β) / 2. Type 5 is uniform as well.
    for sky in (make_sky("uniform"), make_sky(5)):
        for slope in (0, 30, 60, 90, 120):
            expected = (1 + np.cos(np.radians(slope))) / 2
            assert on_plane(sky, toward(25, 90 - slope)) == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize("number", range(1, 16))
@pytest.mark.parametrize("elevation", [15, 30, 45, 60])
def test_zenith_luminance_of_darula_and_kittler(number: int, elevation: float) -> None:
    B, C, D, E = ZENITH_OVER_HORIZONTAL[number]
    s, c = np.sin(np.radians(elevation)), np.cos(np.radians(elevation))
    expected = (B * s**C / c**D + E * s) / (133.8 * s)
    found = luminous(make_sky(number, sun_direction=toward(0, elevation)).radiance(ZENITH))[0]
    assert found == pytest.approx(expected, rel=0.04 if elevation in (15, 60) else 0.01)


@pytest.mark.parametrize("number", [6, 12, 15])
def test_horizontal_illuminance_against_another_integration(number: int) -> None:
    a, b, c, d, e = STANDARD[number]
    elevation = np.radians(40)

    def illuminance(zenith_angle: float, azimuth: float) -> float:
        cosine = np.cos(zenith_angle) * np.sin(elevation)
        cosine += np.sin(zenith_angle) * np.cos(elevation) * np.cos(azimuth)
        angle = np.arccos(np.clip(cosine, -1, 1))
        shape = 1 + c * (np.exp(d * angle) - np.exp(d * np.pi / 2)) + e * np.cos(angle) ** 2
        shape *= 1 + a * np.exp(b / max(np.cos(zenith_angle), 1e-9))
        return shape * np.cos(zenith_angle) * np.sin(zenith_angle)

    # Half the dome, since it is symmetric about the sun's azimuth.
    total = 2 * dblquad(illuminance, 0, np.pi, 0, np.pi / 2, epsabs=1e-5, epsrel=1e-5)[0]
    sky = make_sky(number, sun_direction=toward(30, 40))
    direction = toward(30, 75)[None]
    unscaled = relative_luminance(number, direction, toward(30, 40))[0]
    assert luminous(sky.radiance(direction))[0] == pytest.approx(unscaled / total, rel=1e-4)


def test_every_sky_gives_one_lux_on_open_ground_and_nothing_from_below() -> None:
    rng = np.random.default_rng(1)
    directions = rng.normal(size=(400, 3)) * rng.uniform(0.1, 50, size=(400, 1))
    for sky in every_sky():
        assert luminous(sky.horizontal_irradiance()) == pytest.approx(1, abs=1e-9)
        weights = sky.weights(directions)
        assert weights.shape == (400, len(sky.basis))
        assert np.all(weights[directions[:, 1] < 0] == 0)
        assert np.all(weights @ sky.basis >= 0)
        assert np.all(luminous(sky.radiance(directions[directions[:, 1] >= 0])) > 0)
        assert sky.weights(directions * 7) == pytest.approx(weights)


def test_skies_that_follow_the_sun_turn_with_it() -> None:
    for number in (8, 12, 15):
        assert needs_sun(number)
        one = make_sky(number, sun_direction=toward(0, 30))
        other = make_sky(number, sun_direction=3 * toward(100, 30))
        near = [toward(azimuth, elevation) for azimuth, elevation in ((0, 30), (40, 10), (180, 50))]
        turned = [toward(azimuth, elevation) for azimuth, elevation in ((100, 30), (140, 10), (280, 50))]
        assert one.radiance(np.array(near)) == pytest.approx(other.radiance(np.array(turned)), rel=1e-5)
    assert not needs_sun("overcast")
    assert not needs_sun("3")


def test_open_shade_is_blue_overhead_and_bright_and_whiter_below() -> None:
    sky = make_sky("open shade")
    radiance = sky.radiance(np.vstack([ZENITH, toward(0, 20), HORIZON]))
    temperatures = [cct_and_duv(tristimulus(each))[0] for each in radiance]
    assert temperatures == pytest.approx([20000, temperatures[1], 9000], rel=0.003)
    assert 9000 < temperatures[1] < 14000
    brightness = luminous(radiance)
    assert brightness[2] > brightness[1] > 1.5 * brightness[0]
    assert 12000 < cct_and_duv(tristimulus(sky.horizontal_irradiance()))[0] < 18000


def test_a_sky_takes_any_spectrum() -> None:
    for given in ("D50", "5000 K", spectrum("D50"), spectrum("D50").power * 7):
        sky = make_sky("open shade", given)
        assert cct_and_duv(tristimulus(sky.horizontal_irradiance()))[0] == pytest.approx(5000, rel=1e-3)
    automatic, plain = make_sky("open shade", "auto"), make_sky("open shade")
    assert automatic.horizontal_irradiance() == pytest.approx(plain.horizontal_irradiance())
    assert cct_and_duv(tristimulus(make_sky().horizontal_irradiance()))[0] == pytest.approx(6500, rel=1e-3)
    brighter = make_sky().scaled(8000)
    assert luminous(brighter.horizontal_irradiance()) == pytest.approx(8000)


@pytest.mark.parametrize("sky", [0, 17, "17", "cloudy", "", True, 1.5, None])
def test_unknown_skies_are_explained(sky: object) -> None:
    with pytest.raises(ValueError, match='"overcast", "uniform", "open shade" or a type 1 to 16'):
        make_sky(sky)


def test_a_missing_or_bad_sun_is_explained() -> None:
    with pytest.raises(ValueError, match="type 12 of ISO 15469 depends on the sun"):
        make_sky(12)
    for sun in ([0, 0, 0], [1, 2]):
        with pytest.raises(ValueError, match="sun_direction"):
            make_sky(12, sun_direction=np.array(sun))
