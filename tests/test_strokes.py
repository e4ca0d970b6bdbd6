"""Which parts of a plane are strokes of their own, and the key that their luminance asks for."""

from dataclasses import replace

import numpy as np
import pytest
from squares import (
    COUNT,
    PLANE,
    SIDE,
    halves,
    mixed_light,
    scene_of,
    seen_by_vertex,  # noqa: F401 - a fixture
)

from sitterlight.shading.keying import resolve_eye
from sitterlight.shading.munsell import parse_munsell
from sitterlight.shading.sitting import EyeSetting
from sitterlight.shading.strokes import LARGEST_SPREAD, part_planes, seen_light
from sitterlight.shading.targets import plane_rows


def test_an_even_plane_is_one_stroke():
    row = plane_rows(scene_of(mixed_light()))[0]
    (target,) = row.targets
    assert target.part == "whole" and target.share_of_area == pytest.approx(1.0) and target.recipe is None
    assert target.Lab == row.Lab and target.munsell == row.munsell and row.spread < 0.01


def test_a_plane_that_light_and_shadow_share_is_two_strokes():
    row = plane_rows(scene_of({("lamp", "body"): halves(900.0, 90.0), ("sky", "body"): 30.0}))[0]
    assert row.spread > LARGEST_SPREAD
    lit, shadow = row.targets
    assert (lit.part, shadow.part) == ("lit", "shadow")
    assert lit.share_of_area + shadow.share_of_area == pytest.approx(1.0)
    assert lit.Lab[0] > row.Lab[0] > shadow.Lab[0]
    assert (lit.family, shadow.family) == ("light", "shadow")
    assert max(lit.spread, shadow.spread) < 0.3 * row.spread
    mean = lit.share_of_area * np.array(lit.XYZ) + shadow.share_of_area * np.array(shadow.XYZ)
    assert mean == pytest.approx(row.XYZ)
    assert shadow.shares["sky"] > lit.shares["sky"]


def test_a_small_step_is_not_worth_two_strokes():
    row = plane_rows(scene_of({("lamp", "body"): halves(500.0, 450.0)}))[0]
    assert 0.5 < row.spread < LARGEST_SPREAD and len(row.targets) == 1


def test_a_highlight_is_a_stroke_of_its_own():
    spot = (np.arange(COUNT) < 2 * SIDE) & (PLANE == 0)
    lux = {("lamp", "body"): 400.0, ("lamp", "sheen"): np.where(spot, 400.0, 4.0)}
    lit, highlight = plane_rows(scene_of(lux))[0].targets
    assert (lit.part, highlight.part) == ("lit", "highlight")
    assert 0.1 < highlight.share_of_area < 0.3
    assert highlight.shares["sheen"] > 0.6 > 0.1 > lit.shares["sheen"]


def test_light_shadow_and_highlight_are_three_strokes():
    spot = (np.arange(COUNT) >= 7 * SIDE) & (PLANE == 0)
    lux = {("lamp", "body"): halves(900.0, 90.0), ("lamp", "sheen"): np.where(spot, 700.0, 4.0)}
    row = plane_rows(scene_of(lux))[0]
    assert [target.part for target in row.targets] == ["lit", "shadow", "highlight"]
    assert sum(target.share_of_area for target in row.targets) == pytest.approx(1.0)


def test_sheen_all_over_a_plane_is_no_highlight():
    row = plane_rows(scene_of({("lamp", "body"): halves(500.0, 60.0), ("sky", "sheen"): 150.0}))[0]
    assert "highlight" not in [target.part for target in row.targets]


@pytest.mark.parametrize("observer", [2, 10])
@pytest.mark.parametrize("value", [3.0, 6.5, 9.0])
def test_a_key_gives_the_lightest_target_its_value(value, observer):
    lux = mixed_light() | {("lamp", "body"): halves(900.0, 20.0)}
    scene = scene_of(lux, eye=EyeSetting(adaptation=1.0, key=value, observer=observer))
    values = [parse_munsell(target.munsell)[1] for row in plane_rows(scene) for target in row.targets]
    assert max(values) == pytest.approx(value, abs=0.051)
    assert not any(row.above_white for row in plane_rows(scene))


def test_the_lightest_target_is_found_even_where_only_the_key_parts_it_from_the_rest():
    lux = {("lamp", "body"): np.where(PLANE == 0, halves(9.0, 2.0), 2.0)}
    assert [len(row.targets) for row in plane_rows(scene_of(lux))] == [1, 1, 1]
    rows = plane_rows(scene_of(lux, eye=EyeSetting(adaptation=1.0, key=8.0)))
    assert [target.part for target in rows[0].targets] == ["lit", "shadow"]
    assert parse_munsell(rows[0].targets[0].munsell)[1] == pytest.approx(8.0, abs=0.051)


def test_a_highlight_that_comes_and_goes_with_the_key_still_gets_the_value():
    spot, parted = np.arange(COUNT) < 2 * SIDE, set()
    for glint in np.linspace(20.0, 200.0, 19):
        lux = {("lamp", "body"): 300.0, ("lamp", "sheen"): np.where(spot, glint, 4.0)}
        scene = scene_of(lux, eye=EyeSetting(adaptation=1.0, key=4.0))
        values = [parse_munsell(target.munsell)[1] for row in plane_rows(scene) for target in row.targets]
        assert max(values) == pytest.approx(4.0, abs=0.051)
        parted.add(resolve_eye(scene).key.parting is not None)
    assert parted == {False, True}


def test_the_key_does_not_touch_the_notes():
    as_lit = plane_rows(scene_of(mixed_light()))
    keyed = plane_rows(scene_of(mixed_light(), eye=EyeSetting(adaptation=1.0, key=9.0)))
    for one, other in zip(as_lit, keyed, strict=True):
        assert other.Lab[0] > one.Lab[0] + 5.0
        assert (other.skylight_note, other.greying) == pytest.approx((one.skylight_note, one.greying))


def test_the_compressed_key_brings_a_wide_range_into_paint_and_leaves_the_order():
    lux = {("lamp", "body"): np.array([3000.0, 100.0, 2.0])[PLANE]}
    as_lit = plane_rows(scene_of(lux))
    pressed = plane_rows(scene_of(lux, eye=EyeSetting(adaptation=1.0, key="compressed")))
    assert as_lit[2].Lab[0] < 3.0 and pressed[2].Lab[0] > 10.0
    L = [row.Lab[0] for row in pressed]
    assert 100.0 > L[0] > L[1] > L[2]


def test_what_is_above_white_is_marked():
    rows = plane_rows(scene_of({("lamp", "body"): np.array([9000.0, 500.0, 500.0])[PLANE]}))
    assert rows[0].above_white and rows[0].munsell is None and not rows[0].in_srgb
    assert rows[0].targets[0].above_white and rows[0].srgb == "#ffffff"
    assert not rows[1].above_white and rows[1].munsell is not None


def test_each_plane_is_parted_as_if_it_were_alone():
    """A lit and shaded plane with a highlight, planes of one stroke beside it: all are parted at once."""
    spot = (np.arange(COUNT) >= 7 * SIDE) & (PLANE == 0)
    scene = scene_of({("lamp", "body"): halves(900.0, 90.0), ("lamp", "sheen"): np.where(spot, 700.0, 4.0)})
    light, eye = seen_light(scene), resolve_eye(scene)
    together = part_planes(light, eye)
    assert len(together[0].strokes) == 3
    for number, plane in enumerate(together):
        (alone,) = part_planes(replace(light, seen=light.seen[[number]], whole=light.whole[[number]]), eye)
        assert (alone.hidden, alone.visible) == (plane.hidden, pytest.approx(plane.visible))
        assert [stroke.part for stroke in alone.strokes] == [stroke.part for stroke in plane.strokes]
        for one, other in zip((alone.whole, *alone.strokes), (plane.whole, *plane.strokes), strict=True):
            assert np.array_equal(one.vertices, other.vertices)
            assert one.weights == pytest.approx(other.weights) and one.weights.sum() == pytest.approx(1)
            assert (one.share_of_area, one.spread) == (pytest.approx(other.share_of_area), pytest.approx(other.spread))


def test_a_plane_of_no_size_is_one_stroke_of_nothing():
    light = seen_light(scene_of(mixed_light()))
    none = light.whole[[0]] * 0.0
    (plane,) = part_planes(replace(light, seen=none, whole=none), resolve_eye(scene_of(mixed_light())))
    assert plane.hidden and plane.strokes == (plane.whole,) and len(plane.whole.vertices) == 0
