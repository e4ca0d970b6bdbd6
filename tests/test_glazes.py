"""Films of paint over a ground, and the undertone on a chip."""

import numpy as np
import pytest

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading.colour_spaces import LCh_from_Lab
from sitterlight.shading.mixing import Lab_under, glaze_reflectance, mix_Lab, mix_reflectance, viewing_light
from sitterlight.shading.paint_chips import PRIMING, paint_Lab, undertone_Lab
from sitterlight.shading.paints import library, paint

D65 = viewing_light("D65")
WHITE = np.full(WAVELENGTHS.shape, PRIMING)


@pytest.mark.parametrize("name", ["PR101 transparent", "PB29", "PY43", "PW6"])
def test_a_thick_film_is_the_paint_and_none_is_the_ground(name):
    tube = (paint(name),)
    np.testing.assert_allclose(glaze_reflectance([1.0], tube, 1e5, WHITE), mix_reflectance([1.0], tube), atol=1e-6)
    np.testing.assert_allclose(glaze_reflectance([1.0], tube, 0.0, WHITE), WHITE, atol=1e-12)


def test_films_add_up():
    """Two films of one paint, one on the other, are one film of both thicknesses."""
    tube = (paint("PV19"),)
    first = glaze_reflectance([1.0], tube, 0.7, WHITE)
    both = glaze_reflectance([1.0], tube, 1.8, WHITE)
    np.testing.assert_allclose(glaze_reflectance([1.0], tube, 1.1, first), both, rtol=1e-9)


def test_many_films_at_once():
    tubes = (paint("PR101 transparent"), paint("PB29"))
    films = glaze_reflectance([[1, 0], [1, 1], [0, 1]], tubes, [0.5, 1.0, 2.0], WHITE)
    assert films.shape == (3, 81)
    np.testing.assert_allclose(films[1], glaze_reflectance([1, 1], tubes, 1.0, WHITE))


@pytest.mark.parametrize("name", ["PR101 transparent", "PV19", "PY150", "PB15:3", "PR83"])
def test_a_glaze_glows_where_a_tint_is_chalky(name):
    """Common practice, no source: at equal value the film over white has more chroma than the mix with white."""
    glaze = undertone_Lab(paint(name), D65)
    whites = np.geomspace(0.002, 200, 400)
    tints = LCh_from_Lab(mix_Lab(np.stack([np.ones(400), whites], axis=1), (paint(name), paint("PW6")), D65))
    tint = np.interp(glaze[0], tints[:, 0], tints[:, 1])
    assert np.hypot(*glaze[1:]) > tint


def test_undertones_lie_half_way_in_value():
    white = Lab_under(WHITE, D65)[0]
    for one in library():
        own, thin = paint_Lab(one, 0.0, D65)[0], undertone_Lab(one, D65)[0]
        assert thin == pytest.approx((own + white) / 2 if white - own >= 2.0 else own, abs=0.1), one.id
