"""Maps and legends: what a colour says, and that it says it to every eye."""

import numpy as np
import pytest

from sitterlight.meshes.library import load_head
from sitterlight.shading import legends, maps, picture
from sitterlight.shading.colour_spaces import Lab_from_XYZ, XYZ_from_sRGB, encode_sRGB
from sitterlight.shading.frame import direction
from sitterlight.shading.view import portrait_view

SCALES = [maps.note_scale(3.0), maps.greying_scale()]


@pytest.fixture(scope="module")
def stage():
    head = load_head("bust")
    eye = 1500 * direction(20, 0)
    return head, eye, picture.expose(head.display, portrait_view(head, eye, np.eye(3), (200, 250)))


def lightness(linear):
    return Lab_from_XYZ(XYZ_from_sRGB(encode_sRGB(linear)))[..., 0]


@pytest.mark.parametrize("scale", SCALES)
def test_lightness_alone_tells_the_value(scale):
    steps = np.diff(lightness(scale.linear(np.linspace(*scale.ends, 41))))
    assert (steps < -0.3).all()


@pytest.mark.parametrize("scale", SCALES)
def test_values_beyond_the_ends_take_the_colours_of_the_ends(scale):
    low, high = scale.ends
    assert np.allclose(scale.linear([low - 9, high + 9]), scale.linear([low, high]))


def test_no_note_is_neutral_and_neutral_skin_is_grey():
    for scale, value in ((maps.note_scale(), 0.0), (maps.greying_scale(), 1.0)):
        red, green, blue = encode_sRGB(scale.linear(value))
        assert max(red, green, blue) - min(red, green, blue) < 0.015


def test_blue_is_blue_and_warm_is_warm():
    scale = maps.note_scale(8.0)
    red, _, blue = scale.linear(8.0)
    assert blue > 4 * red
    red, _, blue = scale.linear(-8.0)
    assert red > 4 * blue


@pytest.mark.parametrize(("notes", "end"), [([0.1], 4), ([4.5, -3], 8), ([-15.0], 16), ([99.0], 32), ([], 4)])
def test_the_scale_of_notes_fits_them(notes, end):
    assert maps.note_scale(np.array(notes)).ends == (-end, end)


def test_a_map_tells_the_value_at_the_middle_of_the_face(stage):
    head, eye, film = stage
    scale = maps.note_scale(8.0)
    shown = maps.map_picture(film, maps.skin_field(head, np.full(len(head.vertices), 4.0), eye), scale)
    wanted = encode_sRGB(scale.linear(4.0)) * 255
    facing = np.abs(shown - wanted).max(axis=-1)
    assert (facing < 3).mean() > 0.05


def test_skin_without_a_value_is_striped_and_not_skin_is_grey(stage):
    head, eye, film = stage
    none = maps.skin_field(head, np.full(len(head.vertices), np.nan), eye)
    shown = maps.map_picture(film, none, maps.greying_scale())
    assert np.ptp(shown.astype(int), axis=-1).max() <= 1
    forehead = shown[40:70, 90:110]
    assert np.ptp(forehead[..., 0]) > 40


def test_one_vertex_without_a_value_does_not_spoil_its_neighbours():
    head = load_head("bust")
    values = np.ones(len(head.vertices))
    values[::50] = np.nan
    shown = maps.skin_field(head, values, np.array([0, 0, 1500.0])).values
    assert np.nanmin(shown) == pytest.approx(1)
    assert np.isnan(shown).mean() < 0.04


@pytest.mark.parametrize("steps", maps.VALUE_STEPS)
def test_values_are_so_many_flat_greys(stage, steps):
    head, _, film = stage
    ramp = 20 + 60 * (head.display.vertices[:, 1] - head.display.vertices[:, 1].min()) / np.ptp(
        head.display.vertices[:, 1]
    )
    edges, greys = maps.value_steps(ramp, steps)
    shown = maps.value_picture(film, ramp, edges, greys)
    inside = shown[film.coverage > 0.999][:, 0]
    found, counts = np.unique(inside, return_counts=True)
    flat = found[counts > 0.01 * inside.size]
    in_picture = picture.field(film, ramp)[film.coverage > 0.999]
    expected = len(np.unique(np.digitize(in_picture, edges)))
    assert len(flat) == expected


def test_other_numbers_of_values_are_refused():
    with pytest.raises(ValueError, match="2, 3, 5 or 9"):
        maps.value_steps(np.linspace(0, 100, 50), 4)


def test_every_view_has_a_legend():
    for view in legends.VIEWS:
        told = legends.legend(view)
        assert told.title
        assert told.line.endswith(".")
    for view in ("skylight notes", "greying"):
        assert "grey: eyes" in legends.legend(view, has_grey=True).note
        assert "grey: eyes" not in legends.legend(view).note, "a head without eyes"
    with pytest.raises(ValueError, match="no view"):
        legends.legend("infrared")


def test_marks_stand_where_the_bar_has_their_colour():
    scale = maps.note_scale(8.0)
    bar = legends.scale_bar(scale, 401, 1)[0]
    for place, _, words in legends.mark_places(scale):
        wanted = encode_sRGB(scale.linear(scale.ends[0] + place * (scale.ends[1] - scale.ends[0]))) * 255
        assert np.abs(bar[round(place * 400)] - wanted).max() < 2, words
    assert [words for _, _, words in legends.mark_places(scale) if words] == ["warm", "none", "blue"]


@pytest.mark.parametrize("title", ["Garden", "庭の光", "ضوء الحديقة", "", "x" * 400, "tab\tand\nline"])
def test_panels_take_any_title(title):
    blank = np.full((80, 64, 3), 121, np.uint8)
    three = [legends.legend(view) for view in legends.VIEWS[:3]]
    sheet = legends.panels(title, [blank] * 3, three, ["one", "two"])
    assert sheet.width > 3 * 64
    assert sheet.height > 80
