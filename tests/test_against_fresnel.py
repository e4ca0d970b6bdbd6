"""The sheen against the exact laws of a dielectric boundary.

Sources: M. Born and E. Wolf, Principles of Optics, section 1.5 (Fresnel's formulae, Brewster's angle, normal
incidence ((n−1)/(n+1))²); B. Walter et al., "Microfacet models for refraction through rough surfaces", EGSR 2007.
"""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.shading.directions import equal_area_directions
from sitterlight.shading.surface import (
    body_albedo,
    directional_albedo,
    fresnel,
    mean_albedo,
    sheen_brdf,
)
from sitterlight.shading.surface_kernels import fresnel_at

NORMAL = np.array([0.0, 1.0, 0.0])


def test_normal_and_grazing_incidence():
    assert fresnel(1.0) == pytest.approx(((1.4 - 1) / (1.4 + 1)) ** 2, abs=1e-12)
    assert fresnel(1.0) == pytest.approx(0.0278, abs=5e-5)
    assert fresnel(0.0) == pytest.approx(1.0)


def test_the_whole_curve_by_the_angles_of_snell():
    """Fresnel in the form of sines and tangents (Born and Wolf 1.5.2, eq. 21a), independent of our own form."""
    incidence = np.radians(np.linspace(1, 89, 89))
    refraction = np.arcsin(np.sin(incidence) / 1.4)
    perpendicular = (np.sin(incidence - refraction) / np.sin(incidence + refraction)) ** 2
    parallel = (np.tan(incidence - refraction) / np.tan(incidence + refraction)) ** 2
    assert fresnel(np.cos(incidence)) == pytest.approx((perpendicular + parallel) / 2, abs=1e-12)
    brewster = np.arctan(1.4)
    assert fresnel(np.cos(brewster)) == pytest.approx(np.sin(brewster - (np.pi / 2 - brewster)) ** 2 / 2, abs=1e-12)


def test_the_form_of_compiled_loops_has_the_same_curve():
    cosine = np.linspace(0, 1, 101, dtype=np.float32)
    compiled = [fresnel_at(one) for one in cosine]
    assert compiled == pytest.approx(fresnel(cosine), abs=2e-6)


def test_reciprocity():
    random = np.random.default_rng(1)
    pairs = random.normal(size=(2, 500, 3))
    pairs /= np.linalg.norm(pairs, axis=-1, keepdims=True)
    pairs[..., 1] = np.abs(pairs[..., 1])
    for roughness in (0.1, 0.35, 0.8):
        there = sheen_brdf(pairs[0], pairs[1], NORMAL, roughness)
        back = sheen_brdf(pairs[1], pairs[0], NORMAL, roughness)
        assert there == pytest.approx(back, rel=1e-9)
        assert there.max() > 0


@pytest.mark.parametrize("roughness", [0.1, 0.35, 0.7])
def test_directional_albedo_is_the_integral_of_the_lobe(roughness):
    directions = equal_area_directions(64)
    for cosine in (0.15, 0.5, 0.9):
        eye = np.array([np.sqrt(1 - cosine**2), cosine, 0])
        lobe = sheen_brdf(directions, eye, NORMAL, roughness) * np.maximum(directions[:, 1], 0)
        integral = lobe.sum() * 4 * np.pi / len(directions)
        assert directional_albedo(roughness, cosine) == pytest.approx(integral, rel=0.02, abs=2e-4)


def test_a_smooth_surface_mirrors_what_fresnel_says():
    for cosine in (0.5, 0.7, 1.0):
        assert directional_albedo(0.05, cosine) == pytest.approx(float(fresnel(cosine)), rel=0.03)


def test_body_and_sheen_never_return_more_than_they_get():
    cosine = np.linspace(0, 1, 101)
    for roughness in (0.05, 0.2, 0.35, 1.0):
        for oil in (0.5, 1.0):
            sheen = oil * directional_albedo(roughness, cosine)
            mean = oil * mean_albedo(roughness)
            # A white body: what enters, (1 − E), leaves by (1 − E)/(1 − Ē), whose own mean is one.
            assert sheen + (1 - sheen) == pytest.approx(1.0)
            outgoing = (1 - sheen) / (1 - mean)
            assert np.trapezoid(2 * cosine * outgoing, cosine) == pytest.approx(1.0, abs=2e-3)
            assert sheen.max() <= 1


def test_body_of_a_measurement():
    measured = np.array([0.05, 0.4])
    assert body_albedo(measured, 0.03) == pytest.approx((measured - 0.03) / 0.97)
    assert body_albedo(0.97 * measured, 0.03, sheen_included=False) == pytest.approx(measured)
    assert body_albedo(np.array([0.01]), 0.03)[0] == 0
