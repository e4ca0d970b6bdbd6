"""Film optics against the literature of Kubelka–Munk theory, and against its differential equations."""

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from sitterlight.shading.paint_optics import (
    K_over_S,
    beneath_surface,
    film_reflectance,
    film_transmittance,
    mixture,
    opaque_reflectance,
    seen_through_surface,
)

# Curtis, Anderson, Seims, Fleischer and Salesin, "Computer-generated watercolor", SIGGRAPH 1997, table of pigments:
# K and S for red, green and blue light of films of unit thickness (from memory).
WATERCOLOUR = {
    "quinacridone rose": ([0.22, 1.47, 0.57], [0.05, 0.003, 0.03]),
    "hansa yellow": ([0.06, 0.21, 1.78], [0.50, 0.88, 0.009]),
    "phthalo green": ([1.55, 0.47, 0.63], [0.01, 0.05, 0.035]),
}


@pytest.mark.parametrize(
    ("reflectance", "ratio"),
    # Values of (1 − R)²/2R as tabulated in D. B. Judd and G. Wyszecki, Color in Business, Science and Industry
    # (1975), appendix on the Kubelka–Munk function; each is quickly checked by hand.
    [(0.05, 9.025), (0.10, 4.05), (0.20, 1.6), (0.50, 0.25), (0.80, 0.025), (0.90, 0.005556)],
)
def test_tabulated_K_over_S(reflectance, ratio):
    assert K_over_S(reflectance) == pytest.approx(ratio, rel=1e-4)
    assert opaque_reflectance(ratio, 1.0) == pytest.approx(reflectance, rel=1e-4)


@pytest.mark.parametrize("name", WATERCOLOUR)
def test_watercolour_inversion(name):
    """K and S from a film over white and over black by Curtis et al.'s equations give back those put in."""
    K, S = (np.array(v) for v in WATERCOLOUR[name])
    over_white, over_black = film_reflectance(K, S, 1.0, 1.0), film_reflectance(K, S, 1.0, 0.0)
    a = 0.5 * (over_white + (over_black - over_white + 1.0) / over_black)
    b = np.sqrt(a**2 - 1.0)
    found_S = np.arctanh(b * (1.0 - over_white) / (b**2 - (a - over_white) * (a - 1.0))) / b
    np.testing.assert_allclose(found_S, S, rtol=1e-6)
    np.testing.assert_allclose(found_S * (a - 1.0), K, rtol=1e-6)


@pytest.mark.parametrize(("over_black", "opaque"), [(0.70, 0.80), (0.35, 0.62), (0.881, 0.905)])
def test_scattering_power_of_ISO_9416(over_black, opaque):
    """S·X = ln[(1 − R0 R∞)/(1 − R0/R∞)] / (1/R∞ − R∞), Kubelka 1948 eq. 22, ISO 9416 for paper."""
    power = np.log((1 - over_black * opaque) / (1 - over_black / opaque)) / (1 / opaque - opaque)
    assert film_reflectance(K_over_S(opaque) * power, power, 1.0, 0.0) == pytest.approx(over_black, abs=1e-9)


@pytest.mark.parametrize(("K", "S", "X", "ground"), [(0.4, 1.2, 1.5, 0.8), (2.0, 0.3, 0.7, 0.5), (0.01, 5.0, 2.0, 0.1)])
def test_two_fluxes_integrated(K, S, X, ground):
    """Kubelka and Munk 1931: di/dx = −(K + S) i + S j, dj/dx = (K + S) j − S i, solved numerically."""
    depth = np.linspace(0.0, X, 50)
    solved = solve_bvp(
        lambda x, y: np.stack([-(K + S) * y[0] + S * y[1], (K + S) * y[1] - S * y[0]]),
        lambda top, bottom: np.array([top[0] - 1.0, bottom[1] - ground * bottom[0]]),
        depth,
        np.ones((2, depth.size)) * 0.5,
        tol=1e-9,
        max_nodes=20000,
    )
    assert solved.success
    assert film_reflectance(K, S, X, ground) == pytest.approx(solved.sol(0.0)[1], abs=1e-7)


def test_layers_add_up():
    """Kubelka 1954, Journal of the Optical Society of America 44, 330: two films act as R1 + T1² R2 / (1 − R1 R2)."""
    K, S, ground = 0.3, 0.9, 0.6
    R1, T1 = film_reflectance(K, S, 0.8, 0.0), film_transmittance(K, S, 0.8)
    beneath = film_reflectance(K, S, 0.5, ground)
    assert film_reflectance(K, S, 1.3, ground) == pytest.approx(R1 + T1**2 * beneath / (1 - R1 * beneath), rel=1e-12)
    whole = film_transmittance(K, S, 1.3)
    R2, T2 = film_reflectance(K, S, 0.5, 0.0), film_transmittance(K, S, 0.5)
    assert whole == pytest.approx(T1 * T2 / (1 - R1 * R2), rel=1e-12)


def test_no_thickness_shows_the_ground():
    grounds = np.array([0.0, 0.3, 1.0])
    np.testing.assert_array_equal(film_reflectance(2.0, 3.0, 0.0, grounds), grounds)
    assert film_transmittance(2.0, 3.0, 0.0) == 1.0


def test_great_thickness_hides_the_ground():
    np.testing.assert_allclose(
        film_reflectance(0.2, 1.0, 60.0, np.array([0.0, 1.0])), opaque_reflectance(0.2, 1.0), rtol=1e-12
    )


def test_no_scattering_is_a_filter_before_the_ground():
    """Light passes the film twice: R = Rg exp(−2KX), Bouguer's law."""
    assert film_reflectance(0.7, 0.0, 1.3, 0.9) == pytest.approx(0.9 * np.exp(-2 * 0.7 * 1.3), rel=1e-12)
    assert film_transmittance(0.7, 0.0, 1.3) == pytest.approx(np.exp(-0.7 * 1.3), rel=1e-12)
    assert opaque_reflectance(0.7, 0.0) == 0.0


def test_no_absorption_loses_nothing():
    """Kubelka 1948: R0 = SX/(1 + SX) and R + T = 1."""
    R, T = film_reflectance(0.0, 2.0, 3.0, 0.0), film_transmittance(0.0, 2.0, 3.0)
    assert pytest.approx(6.0 / 7.0, rel=1e-12) == R
    assert abs(R + T - 1.0) < 1e-12
    assert opaque_reflectance(0.0, 2.0) == pytest.approx(1.0)


def test_saunderson_by_hand():
    """k1 = 0.04, k2 = 0.6, internal 0.5: 0.96 · 0.4 · 0.5 / (1 − 0.3) = 0.274286; with gloss 0.04 more."""
    assert seen_through_surface(0.5, 0.04, 0.6) == pytest.approx(0.274286, abs=1e-6)
    assert seen_through_surface(0.5, 0.04, 0.6, gloss=1.0) == pytest.approx(0.314286, abs=1e-6)
    assert seen_through_surface(1.0, 0.04, 0.6, gloss=1.0) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("gloss", [0.0, 0.4, 1.0])
def test_saunderson_there_and_back(gloss):
    internal = np.linspace(0.0, 1.0, 101)
    seen = seen_through_surface(internal, 0.035, 0.62, gloss)
    assert (np.diff(seen) > 0).all()
    np.testing.assert_allclose(beneath_surface(seen, 0.035, 0.62, gloss), internal, atol=1e-12)


def test_less_light_than_gloss_alone_is_black():
    assert beneath_surface(0.01, 0.04, 0.6, gloss=1.0) == 0.0


def test_mixture_counts_by_volume():
    """Duncan 1940: K and S of a mix are those of its paints, each by its share."""
    K, S = np.array([[1.0, 2.0], [5.0, 0.0]]), np.array([[1.0, 1.0], [0.2, 0.1]])
    mixed_K, mixed_S = mixture([3, 1], K, S)
    np.testing.assert_allclose(mixed_K, [2.0, 1.5])
    np.testing.assert_allclose(mixed_S, [0.8, 0.775])


def test_single_precision_stays_single():
    K, S = np.float32([0.5, 0.1]), np.float32([1.0, 1.0])
    assert seen_through_surface(opaque_reflectance(K, S)).dtype == np.float32
