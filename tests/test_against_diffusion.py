"""Light under the skin against what is known in closed form, and against photons followed one by one."""

from dataclasses import replace
from itertools import pairwise

import numba
import numpy as np
import pytest
import trimesh
from plates import bank_of_skin, plate
from scipy.special import k1

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading.diffusion_bank import WIDTHS, widths
from sitterlight.shading.ladder import LADDER, ladder_amounts
from sitterlight.shading.skin import (
    SkinAmounts,
    albedo,
    constants,
    dermis_absorption,
    internal_reflectance,
    melanin_shape,
    scattering_shape,
)
from sitterlight.shading.under_skin import burley_length, profile_weights

# A dermis under a surface, as good as without an epidermis.
BARE = replace(ladder_amounts(9), melanin=0.0, veil=0.01)
SKINS = {"bare dermis": BARE, "deep": ladder_amounts(2), "fair": ladder_amounts(8)}


def optics(amounts: SkinAmounts) -> tuple[np.ndarray, np.ndarray]:
    """μa and μs′ of the dermis (81,), mm⁻¹."""
    return dermis_absorption(amounts.as_array(), constants()), amounts.scattering * scattering_shape(constants())


# --- the blurs --------------------------------------------------------------------------------------------------


def edge_profile(x: np.ndarray, length: float) -> np.ndarray:
    """A step from 1 (x < 0) to 0 after convolution with K₀(r / L) / (2π L²): across the edge e^(−|x| / L) / (2L)."""
    away = 0.5 * np.exp(-np.abs(x) / length)
    return np.where(x < 0, 1 - away, away)


def edge_error(spacing: float, length: float, reach: float = 0.0) -> float:
    """The largest error of the blurred step on an uneven strip, of vertices farther than `reach` from the edge."""
    vertices, faces = plate(max(24 * length, 40 * spacing), max(8 * spacing, length), spacing)
    x = vertices[:, 0]
    bank = bank_of_skin(vertices, faces, np.array([0.0, length]))
    blurred = bank.spread((x[:, None] < 0).astype(float))[1, :, 0]
    # Not at the ends, where the strip of finite length sends light back: 12 L from the edge.
    near = (np.abs(x) < 6 * length) & (np.abs(x) >= reach)
    return float(np.abs(blurred - edge_profile(x, length))[near].max())


@pytest.mark.parametrize("length", WIDTHS[1:])
def test_a_straight_shadow_edge_falls_off_exponentially(length):
    assert edge_error(length / 8, length) < 0.02
    assert edge_error(length / 8, length, reach=length / 2) < 0.012


def test_a_finer_plate_comes_nearer():
    errors = [edge_error(1.0 / fineness, 1.0) for fineness in (2, 4, 8, 16)]
    assert all(finer < 0.7 * coarser for coarser, finer in pairwise(errors)), errors


def test_a_plate_too_coarse_for_a_width_still_keeps_its_mean_square_radius():
    """On any mesh, in the inside: ⟨r²⟩ = 4 L² exactly, since the exchange of x² + y² is exact in the mean."""
    vertices, faces = plate(60, 60, 3.0)
    bank = bank_of_skin(vertices, faces, np.array([0.0, 1.0, 2.0]))
    middle = np.argsort(np.hypot(vertices[:, 0], vertices[:, 1]))[:60]
    spot = np.zeros((len(vertices), len(middle)))
    spot[middle, range(len(middle))] = 1 / bank.area[middle]
    away = ((vertices[:, None] - vertices[middle]) ** 2).sum(axis=-1)
    measured = np.einsum("v,wvk,vk->wk", bank.area, bank.spread(spot).astype(float), away).mean(axis=1)
    assert measured == pytest.approx([0.0, 4.0, 16.0], rel=0.05)


@pytest.mark.parametrize(("degree", "length"), [(1, 2.0), (2, 1.0), (3, 0.5)])
def test_on_a_ball_spherical_harmonics_shrink_as_they_should(degree, length):
    """The Laplacian of a ball of radius R has −l (l + 1) / R² on harmonics of degree l (Legendre)."""
    radius = 5.0
    errors = []
    for fineness in (3, 4, 5):
        ball = trimesh.creation.icosphere(fineness, radius)
        y = ball.vertices[:, 1] / radius
        harmonic = (y, 1.5 * y**2 - 0.5, 2.5 * y**3 - 1.5 * y)[degree - 1]
        bank = bank_of_skin(np.asarray(ball.vertices), np.asarray(ball.faces), np.array([0.0, length]))
        expected = harmonic / (1 + degree * (degree + 1) * (length / radius) ** 2)
        errors.append(np.abs(bank.spread(harmonic[:, None])[1, :, 0] - expected).max())
    assert errors[-1] < 0.002
    assert errors[2] < 0.5 * errors[0]


# --- the profile ------------------------------------------------------------------------------------------------


def burley_within(r: np.ndarray, d: float) -> np.ndarray:
    """Share within r of Christensen and Burley's profile, "Approximate reflectance profiles for efficient
    subsurface scattering" (2015): 1 − e^(−r/d) / 4 − 3 e^(−r/3d) / 4."""
    return 1 - 0.25 * np.exp(-r / d) - 0.75 * np.exp(-r / (3 * d))


def mixture_within(r: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """Share within r > 0 of a mixture of the bank's kernels: 1 − (r/L) K₁(r/L) each."""
    inside = [np.ones_like(r) if L == 0 else 1 - r / L * k1(r / L) for L in WIDTHS]
    return weights @ np.stack(inside)


@pytest.mark.parametrize("d", [0.1, 0.2, 0.35, 0.6, 1.0])
def test_the_bank_makes_burleys_profile(d):
    weights = profile_weights(np.array(d), widths())
    r = np.linspace(0.5, 12, 400)
    assert weights.min() >= 0 and weights.sum() == pytest.approx(1)
    assert 4 * widths() ** 2 @ weights == pytest.approx(14 * d**2, rel=1e-9)
    assert np.abs(mixture_within(r, weights) - burley_within(r, d)).max() < 0.03


@pytest.mark.parametrize("d", [0.05, 0.342, 0.6, 1.0, 2.5])  # 0.342: three times it is little beyond a width
def test_each_width_has_its_part_of_the_arcsine_law(d):
    """1/√(1 + k²a²) is a mean of 1/(1 + k²L²), L² = a² sin² u with all u alike: by sums, shared out linearly in L²."""
    sines = np.sin((np.arange(200_000) + 0.5) / 200_000 * np.pi / 2) ** 2
    near = [[np.interp(a**2 * sines, widths() ** 2, one).mean() for one in np.eye(len(widths()))] for a in (d, 3 * d)]
    assert profile_weights(np.array(d), widths()) == pytest.approx(np.array([0.25, 0.75]) @ near, abs=1e-5)


@pytest.mark.parametrize("d", [0.1, 0.2, 0.35, 0.6, 1.0])
def test_the_bank_makes_the_shadow_edge_of_burleys_profile(d):
    """From the profile itself: across a straight edge, light from beyond x is ∫ R(r) arccos(x / r) / π 2πr dr."""
    weights = profile_weights(np.array(d), widths())
    x = np.linspace(0.5, 6, 12)
    steps = (np.arange(40000) + 0.5) / 40000
    expected = []
    for at in x:
        r = at + 40 * d * steps
        density = (np.exp(-r / d) + np.exp(-r / (3 * d))) / (4 * d)
        expected.append((density * np.arccos(at / r)).sum() * 40 * d / 40000 / np.pi)
    mine = sum(w * edge_profile(x, L) for w, L in zip(weights[1:], WIDTHS[1:], strict=True))
    assert np.abs(mine - expected).max() < 0.012


# --- how far ----------------------------------------------------------------------------------------------------


def test_scattering_is_that_of_the_skins_collected_by_jacques():
    """Jacques 2013, Physics in Medicine & Biology 58, R37, table 1, mean of skins: μs′ = 46.0 cm⁻¹ at 500 nm, falling
    as λ^−1.421."""
    at = np.isin(WAVELENGTHS, (450, 500, 550, 600, 650, 700))
    theirs = 4.60 * (WAVELENGTHS[at] / 500) ** -1.421
    for step in LADDER:
        _, scattering = optics(ladder_amounts(step))
        assert scattering[WAVELENGTHS == 500] == pytest.approx(4.60, rel=0.02)
        # The model, fitted to other skins than theirs, falls more steeply: red goes the farther for it.
        assert scattering[at] == pytest.approx(theirs, rel=0.35)


def dipole_mean_square(absorption: float, scattering: float, turned_back: float) -> float:
    """⟨r²⟩ mm² of diffuse reflectance from a pencil of light by the dipole of Farrell, Patterson & Wilson 1992, Medical
    Physics 19, 879 (also Jensen, Marschner, Levoy & Hanrahan 2001, SIGGRAPH): source at one mean free path, image
    beyond an extrapolated boundary."""
    lost = absorption + scattering
    effective = np.sqrt(3 * absorption * lost)
    source = 1 / lost
    image = source + 4 / (3 * lost) * (1 + turned_back) / (1 - turned_back)
    r = np.geomspace(1e-4, 80 / effective, 20000)
    density = 0.0
    for depth in (source, image):
        distance = np.hypot(r, depth)
        density += depth * (effective + 1 / distance) * np.exp(-effective * distance) / distance**2
    return np.trapezoid(density * r**3, r) / np.trapezoid(density * r, r)


def sent_down_again(amounts: SkinAmounts) -> np.ndarray:
    """Share (81,) of the light coming up out of the dermis that epidermis and surface turn back into it: hyperbolic
    form of a layer by Kubelka 1948, Journal of the Optical Society of America 38, 448."""
    of = constants()
    K, S = 2 * amounts.melanin * melanin_shape(of), 0.75 * amounts.veil * scattering_shape(of)
    a = (K + S) / S + 1e-9
    b = np.sqrt(a * a - 1)
    whole = a * np.sinh(b * S) + b * np.cosh(b * S)
    reflected, through, surface = np.sinh(b * S) / whole, b / whole, internal_reflectance()
    return reflected + through**2 * surface / (1 - surface * reflected)


@pytest.mark.parametrize("nm", [500, 600, 650, 700, 750])
@pytest.mark.parametrize("skin", SKINS)
def test_light_goes_as_far_as_the_dipole_has_it(skin, nm):
    at = int(np.flatnonzero(nm == WAVELENGTHS)[0])
    absorption, scattering = (column[at] for column in optics(SKINS[skin]))
    theirs = np.sqrt(dipole_mean_square(absorption, scattering, sent_down_again(SKINS[skin])[at]))
    assert np.sqrt(14) * burley_length(SKINS[skin])[at] == pytest.approx(theirs, rel=0.1)


@pytest.mark.parametrize("nm", [450, 500, 550, 600, 650, 700])
def test_a_bare_dermis_scatters_about_as_far_as_christensen_and_burley_have_it(nm):
    """Their length for diffuse light, 1 / (μt′ (1.9 − A + 3.5 (A − 0.8)²)), without a surface that turns light back;
    that lengthens it by 1 / √(1 − share that goes down again). Theirs is shorter where little is absorbed."""
    at = int(np.flatnonzero(nm == WAVELENGTHS)[0])
    absorption, scattering = (column[at] for column in optics(BARE))
    body, back = albedo(BARE)[at], internal_reflectance()
    A = body / (1 - back + back * body)  # Saunderson's correction undone
    once = 1 / ((absorption + scattering) * (1.9 - A + 3.5 * (A - 0.8) ** 2))
    theirs = once / np.sqrt(1 - back * A)
    assert 0.65 < theirs / burley_length(BARE)[at] < 1.05


@numba.njit(nogil=True)
def follow_photons(count: int, scattered: float, back: float, seed: int) -> tuple[float, float]:
    """Albedo, and ⟨r²⟩ in mean free paths, of a half-space under diffuse light: isotropic scattering with this share
    `scattered` at each event, and a surface that sends the share `back` down again. Photons carry weights and
    play roulette, after Wang, Jacques & Zheng 1995, Computer Methods and Programs in Biomedicine 47, 131."""
    np.random.seed(seed)
    returned = square = 0.0
    for _ in range(count):
        weight, x, y, z, down = 1.0, 0.0, 0.0, 0.0, np.sqrt(np.random.random())
        while True:
            around = 2 * np.pi * np.random.random()
            aside = np.sqrt(1 - down * down)
            step = -np.log(1 - np.random.random())
            leaves = z + down * step < 0
            if leaves:
                step = -z / down
            x += aside * np.cos(around) * step
            y += aside * np.sin(around) * step
            z = 0.0 if leaves else z + down * step
            if leaves:
                out = weight * (1 - back)
                returned += out
                square += out * (x * x + y * y)
                weight *= back
                down = np.sqrt(np.random.random())
            else:
                weight *= scattered
                down = 2 * np.random.random() - 1
            if weight < 1e-3:
                if np.random.random() > 0.1:
                    break
                weight *= 10
    return returned / count, square / returned


@pytest.mark.parametrize(("nm", "tolerance"), [(450, 0.14), (550, 0.12), (650, 0.06)])
@pytest.mark.parametrize("skin", SKINS)
def test_light_goes_as_far_as_photons_do(skin, nm, tolerance):
    at = int(np.flatnonzero(nm == WAVELENGTHS)[0])
    absorption, scattering = (column[at] for column in optics(SKINS[skin]))
    lost = absorption + scattering
    returned, square = follow_photons(15000, scattering / lost, sent_down_again(SKINS[skin])[at], 7)
    if skin == "bare dermis":
        assert albedo(BARE)[at] == pytest.approx(returned, rel=0.04)
    assert np.sqrt(14) * burley_length(SKINS[skin])[at] == pytest.approx(np.sqrt(square) / lost, rel=tolerance)
