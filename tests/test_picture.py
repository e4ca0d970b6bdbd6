"""Pictures by primary rays: places, outlines, interpolation and colours, against closed forms and brute force."""

import numpy as np
import pytest
from scipy import ndimage

from sitterlight.meshes.library import load_head
from sitterlight.shading import embree, picture
from sitterlight.shading.colour_spaces import decode_sRGB, encode_sRGB
from sitterlight.shading.frame import direction, head_rotation
from sitterlight.shading.munsell import luminance_of_value
from sitterlight.shading.sitting import HeadSetting
from sitterlight.shading.view import MARGIN, portrait_view, same_window

UPRIGHT = np.eye(3)


@pytest.fixture(scope="module")
def sphere():
    return load_head("sphere")


@pytest.fixture(scope="module")
def bust():
    return load_head("bust")


@pytest.fixture(scope="module")
def bust_film(bust):
    view = portrait_view(bust, 1500 * direction(30, 5), UPRIGHT, (400, 500))
    return view, picture.expose(bust.display, view)


def filled(linear, count):
    return np.tile(np.asarray(linear, float), (count, 1))


def test_projecting_undoes_directions(sphere):
    view = portrait_view(sphere, 900 * direction(40, -20), UPRIGHT, (300, 200))
    x, y = np.random.default_rng(0).uniform(0, 200, (2, 50))
    back = view.project(view.eye + 700 * view.directions(x, y).astype(float))
    assert np.allclose(back, np.stack([x, y], 1), atol=2e-3)


@pytest.mark.parametrize(("size", "below"), [((400, 500), True), ((150, 600), False)])
def test_a_narrow_picture_has_the_whole_bust_in_its_middle(bust, size, below):
    """A wide one keeps as much of it as belongs to a portrait."""
    view = portrait_view(bust, 1500 * direction(30, 5), UPRIGHT, size)
    shown = view.project(bust.vertices)[:, 1]
    assert (shown.max() > size[1]) == below
    if not below:
        assert shown.min() == pytest.approx(size[1] - shown.max(), abs=2)


def test_a_sphere_covers_the_cone_that_touches_it(sphere):
    distance, radius = 800.0, 100.0
    view = portrait_view(sphere, distance * direction(0, 0), UPRIGHT, (500, 500))
    film = picture.expose(sphere.display, view)
    pixel = (2 * view.half_height / 500) ** 2
    disc = np.pi * radius**2 / (distance**2 - radius**2)
    assert film.coverage.sum() * pixel == pytest.approx(disc, rel=2e-3)


def test_values_between_vertices_are_where_the_rays_meet(sphere):
    view = portrait_view(sphere, 700 * direction(25, 10), UPRIGHT, (120, 120))
    film = picture.expose(sphere.display, view)
    meant = np.stack([picture.field(film, sphere.display.vertices[:, k]) for k in range(3)], -1)[40:80, 40:80]
    row, column = np.mgrid[40:80, 40:80] + 0.5
    ray = view.directions(column.ravel(), row.ravel()).reshape(40, 40, 3).astype(float)
    toward = meant - view.eye
    off = toward - (toward * ray).sum(-1, keepdims=True) * ray
    assert np.abs(off).max() < 0.02


def test_edges_agree_with_sixty_four_times_as_many_pixels(bust):
    view = portrait_view(bust, 1500 * direction(30, 5), UPRIGHT, (200, 250))
    film = picture.expose(bust.display, view)
    fine = picture.expose(bust.display, same_window(view, (1600, 2000))).centre_face >= 0
    wanted = fine.reshape(250, 8, 200, 8).mean(axis=(1, 3))
    assert np.abs(film.coverage - wanted).max() < 0.2
    assert np.abs(film.coverage - wanted)[(wanted > 0) & (wanted < 1)].mean() < 0.05


def test_no_holes(bust):
    view = portrait_view(bust, 1500 * direction(0, 0), UPRIGHT, (600, 750))
    met = picture.expose(bust.display, view).centre_face >= 0
    assert np.array_equal(ndimage.binary_fill_holes(met), met)


def test_ground_is_munsell_n5_and_neutral(sphere):
    view = portrait_view(sphere, 700 * direction(0, 0), UPRIGHT, (60, 60))
    shown = picture.develop(picture.expose(sphere.display, view), filled([0, 0, 0], sphere.display.vertices.shape[0]))
    assert shown[0, 0].tolist() == [0x79] * 3
    assert float(luminance_of_value(5.0)) == pytest.approx(picture.MUNSELL_N5, abs=1e-3)


def test_edges_are_mixed_in_linear_light(sphere):
    view = portrait_view(sphere, 700 * direction(0, 0), UPRIGHT, (80, 80))
    film = picture.expose(sphere.display, view)
    shown = picture.develop(film, filled([1, 0.5, 0], film.vertices))
    share = film.coverage[..., None]
    wanted = encode_sRGB(share * [1, 0.5, 0] + (1 - share) * picture.MUNSELL_N5) * 255
    assert np.abs(shown - wanted).max() <= 0.51
    partly = (film.coverage > 0) & (film.coverage < 1)
    assert len(np.unique(film.coverage[partly])) > 8


def test_planes_are_flat_and_exact(bust, bust_film):
    _, film = bust_film
    random = np.random.default_rng(3)
    codes = [f"#{r:02x}{g:02x}{b:02x}" for r, g, b in random.integers(20, 236, (len(bust.planes), 3))]
    shown = picture.plane_picture(film, bust.display, codes, filled([0.2, 0.2, 0.2], film.vertices))
    plane = np.where(film.centre_face >= 0, np.asarray(bust.display.plane_of_face)[film.centre_face], -2)
    inside = ndimage.minimum_filter(plane, 3) == ndimage.maximum_filter(plane, 3)
    inside &= plane >= 0
    assert len(np.unique(plane[inside])) >= 20
    wanted = np.array([list(bytes.fromhex(code[1:])) for code in codes])[plane[inside]]
    off = np.abs(shown[inside] - wanted).max(axis=1)
    assert (off == 0).mean() > 0.999  # the rest are pixels across which a thin edge runs


@pytest.mark.parametrize("azimuth", [0, 45, 90, 180])
@pytest.mark.parametrize("elevation", [-40, 0, 40])
def test_the_head_is_well_placed(bust, azimuth, elevation):
    view = portrait_view(bust, 1500 * direction(azimuth, elevation), UPRIGHT, (160, 200))
    met = picture.expose(bust.display, view).centre_face >= 0
    rows = np.flatnonzero(met.any(axis=1))
    assert rows[0] >= 200 * MARGIN - 2
    assert rows[0] <= 200 * 0.2
    assert 0.3 < met.mean() < 0.8


def test_a_leaning_head_leans_and_the_room_stays_upright(bust):
    rotation = head_rotation(HeadSetting(lean=25, turn=10))
    eye = 1500 * direction(0, 0) @ rotation
    view = portrait_view(bust, eye, rotation, (160, 200))
    middle = np.zeros(3)
    above_in_room, crown = view.project(np.array([middle, [0, 50, 0] @ rotation]))
    assert above_in_room[0] == pytest.approx(crown[0], abs=0.01)
    base, top = view.project(np.array([[0, 0, 0], [0, 120, 0]]))
    assert top[0] - base[0] > 15  # to the sitter's left, which is right in the picture


def test_the_eye_straight_above_still_sees(bust):
    view = portrait_view(bust, np.array([0, 1500.0, 0]), UPRIGHT, (80, 100))
    assert (picture.expose(bust.display, view).centre_face >= 0).mean() > 0.2
    nose, neck = view.project(np.array([[0, 0, 100.0], [0, 0, -100.0]]))
    assert nose[1] > neck[1]


def test_an_eye_in_the_middle_of_the_head_is_refused(bust):
    with pytest.raises(ValueError, match="distance"):
        portrait_view(bust, np.zeros(3), UPRIGHT, (80, 100))


def test_without_embree_the_picture_is_the_same(sphere, monkeypatch):
    view = portrait_view(sphere, 700 * direction(30, 0), UPRIGHT, (24, 30))
    colours = 0.5 + 0.5 * sphere.display.normals
    quick = picture.develop(picture.expose(sphere.display, view), colours)
    monkeypatch.setattr(embree, "library", lambda: None)
    slow = picture.develop(picture.expose(sphere.display, view), colours)
    assert np.abs(quick.astype(int) - slow).max() <= 3


def test_codes_survive_linear_light():
    codes = np.arange(256, dtype=np.uint8)
    assert np.array_equal(picture.encode(picture.decode(codes)), codes)
    assert np.allclose(picture.decode(codes), decode_sRGB(codes / 255))


def test_halving_averages_light():
    board = np.zeros((4, 4, 3), np.uint8)
    board[::2, ::2] = board[1::2, 1::2] = 255
    assert np.unique(picture.halved(board)).tolist() == [188]  # half the light of white


def test_a_layer_holds_colour_and_coverage(sphere):
    view = portrait_view(sphere, 700 * direction(0, 0), UPRIGHT, (40, 40))
    film = picture.expose(sphere.display, view)
    layer = picture.develop_layer(film, filled([0.5, 0.25, 0.1], film.vertices))
    touched = layer[..., 3] > 0
    wanted = np.rint(encode_sRGB(np.array([0.5, 0.25, 0.1])) * 255)
    assert np.abs(layer[touched][:, :3] - wanted).max() <= 1
    assert layer[0, 0, 3] == 0
    assert layer[20, 20, 3] == 255
