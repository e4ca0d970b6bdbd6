"""Plane rows on a small made-up scene: place, notations, shares, families."""

from dataclasses import asdict

import numpy as np
import pytest
from squares import (
    COUNT,
    HEAD,
    PLANE,
    SIDE,
    mixed_light,
    scene_of,
    seen_by_vertex,  # noqa: F401 - a fixture
)

from sitterlight.shading.colour_spaces import XYZ_from_hex, delta_E00
from sitterlight.shading.families import family_name, irradiance_ratio, strongest_light
from sitterlight.shading.keying import easel_eye, resolve_eye, two_degree_eye
from sitterlight.shading.munsell import parse_munsell
from sitterlight.shading.sitting import EyeSetting
from sitterlight.shading.targets import plane_rows


def test_every_plane_has_a_row_with_its_place():
    scene = scene_of(mixed_light())
    scene.rotation = np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]])  # turned by 90° to the left
    rows = plane_rows(scene)
    assert [(row.name, row.side) for row in rows] == [("front", "centre"), ("side", "left"), ("top", "right")]
    assert [row.normal for row in rows] == [pytest.approx(n, abs=1e-12) for n in ((1, 0, 0), (0, 0, -1), (0, 1, 0))]
    assert [row.area_mm2 for row in rows] == pytest.approx([6400.0] * 3)
    assert [row.visible for row in rows] == pytest.approx([1.0] * 3)
    assert rows[1].illuminance == pytest.approx({"direct": 500 * 0.6 + 700 * 0.36, "ground": 7.0, "bounced": 0.0})


def test_the_notations_of_a_row_are_one_colour():
    scene = scene_of(mixed_light())
    eye = resolve_eye(scene)
    for row in plane_rows(scene):
        assert row.Lab == pytest.approx(eye.Lab(np.array(row.XYZ)))
        shown = eye.with_key(eye.key).see(np.array(row.XYZ))
        assert np.abs(XYZ_from_hex(row.srgb) - shown).max() < 0.01 and row.in_srgb
        hue, value, chroma = parse_munsell(row.munsell)
        assert value == pytest.approx(row.Lab[0] / 10.0, abs=0.25)  # Munsell value is close to L* / 10
        assert 5.0 < hue < 30.0 and chroma > 0.5


def test_a_plane_is_the_mean_of_its_light_over_what_is_seen():
    first_row = (np.arange(COUNT) % SIDE**2) < SIDE
    sees = (PLANE != 0) | ((np.arange(COUNT) % SIDE**2) < 3 * SIDE)
    scene = scene_of({("sky", "body"): np.where(first_row, 900.0, 300.0)}, sees)
    row = plane_rows(scene)[0]
    area = HEAD.plane_weights.toarray()[0] * sees
    assert row.visible == pytest.approx(area.sum() / 6400.0) and 0.2 < row.visible < 0.4 and not row.hidden
    mean = area / area.sum() @ scene.XYZ
    assert pytest.approx(mean, rel=1e-6) == row.XYZ
    assert row.illuminance["direct"] < 400.0  # over the whole plane, where most gets 300


def test_a_hidden_plane_has_no_sheen_and_says_so():
    one_corner = np.zeros(COUNT, bool)
    one_corner[SIDE**2] = True
    lux = mixed_light() | {("sky", "sheen"): np.where(one_corner, 500.0, 0.0)}
    scene = scene_of(lux, (PLANE != 1) | one_corner)
    row = plane_rows(scene)[1]
    assert row.hidden and 0.0 < row.visible < 0.02
    assert row.shares["sheen"] == 0.0 and all(share == 0.0 for share in row.sheen_by_light.values())
    body = scene.part_XYZ[[part.path != "sheen" for part in scene.parts]].sum(0)
    mean = HEAD.plane_weights.toarray()[1] @ body / 6400.0
    assert pytest.approx(mean, rel=1e-6) == row.XYZ
    assert not plane_rows(scene)[0].hidden


def test_a_hidden_plane_is_freed_of_the_eye_s_angle():
    scene = scene_of({("sky", "body"): 300.0, ("lamp", "bounce"): 50.0}, PLANE != 1)
    before = plane_rows(scene)
    scene.toward_eye = np.full((COUNT, 1), 0.8)
    after = plane_rows(scene)
    assert np.array(before[1].XYZ) / 0.8 == pytest.approx(np.array(after[1].XYZ))
    assert after[0].XYZ == before[0].XYZ  # what is seen has the angle in it


def test_shares_are_of_luminance_and_add_up():
    for row in plane_rows(scene_of(mixed_light())):
        assert set(row.shares) == {"sky", "lamp", "ground", "bounce", "sheen"}
        assert sum(row.shares.values()) == pytest.approx(1.0)
        assert set(row.sheen_by_light) == {"sky", "lamp", "ground", "bounce"}
        assert sum(row.sheen_by_light.values()) == pytest.approx(row.shares["sheen"])
        assert set(row.bounce_by_light) == {"sky", "lamp", "ground"}
        assert sum(row.bounce_by_light.values()) == pytest.approx(row.shares["bounce"])
        assert row.sheen_by_light["sky"] > row.sheen_by_light["bounce"] > 0.0


def test_shares_of_note_and_greying_add_up_to_them():
    for row in plane_rows(scene_of(mixed_light())):
        for whole, shares in ((row.skylight_note, row.note_shares), (row.greying, row.greying_shares)):
            assert sum(share for paths in shares.values() for share in paths.values()) == pytest.approx(whole)
        assert row.note_shares["sky"]["body"] > 0.0 > row.note_shares["lamp"]["body"]
        assert row.note_shares["sky"]["sheen"] > 0.0
        assert set(row.note_shares) == {"sky", "lamp", "ground", "bounce"}


def test_the_own_colour_is_the_skin_under_the_card_s_light():
    scene = scene_of(mixed_light())
    rows = plane_rows(scene)
    assert rows[0].own_Lab == pytest.approx(resolve_eye(scene).Lab(scene.own_XYZ[0]))
    plain = plane_rows(scene_of({("ground", "body"): 1000.0, ("sky", "body"): 1e-9}))  # the card's light, no sheen
    assert delta_E00(plain[0].Lab, plain[0].own_Lab) == pytest.approx(0.0, abs=1e-3)
    assert plain[0].greying == pytest.approx(0.0, abs=1e-5)
    assert plain[0].skylight_note == pytest.approx(0.0, abs=1e-4)


def test_families_go_by_the_strongest_light_alone():
    assert [family_name(ratio) for ratio in (1.0, 0.5, 0.499, 0.15, 0.149, 0.0)] == [
        *("light", "light", "halftone", "halftone", "shadow", "shadow")
    ]
    scene = scene_of({("lamp", "body"): np.array([800.0, 200.0, 40.0])[PLANE], ("sky", "body"): 300.0})
    assert strongest_light(scene) == "lamp"
    assert irradiance_ratio(scene).max() == 1.0
    assert [row.family for row in plane_rows(scene)] == ["light", "halftone", "shadow"]


def test_munsell_is_for_two_degrees_whatever_the_observer():
    two, ten = (scene_of(mixed_light(), eye=EyeSetting(adaptation=1.0, observer=n)) for n in (2, 10))
    rows, tens = plane_rows(two), plane_rows(ten)
    assert [row.munsell for row in tens] == [row.munsell for row in rows]
    assert delta_E00(rows[0].Lab, tens[0].Lab) > 0.05
    assert two_degree_eye(ten, resolve_eye(ten)).card_XYZ == pytest.approx(two.card_XYZ)


def test_paint_has_to_give_the_colour_under_the_easel_s_light():
    for easel in ("D65", "D50", "A"):
        scene = scene_of(mixed_light(), easel=easel)
        row = plane_rows(scene)[0]
        eye = easel_eye(scene, resolve_eye(scene))
        assert row.paint_XYZ == pytest.approx(eye.see(np.array(row.XYZ)))
        assert eye.see(scene.card_XYZ) == pytest.approx(eye.white)


def test_where_no_light_comes_there_is_no_answer_and_never_a_nan():
    rows = plane_rows(scene_of({("lamp", "body"): np.array([500.0, 0.0, 500.0])[PLANE]}))
    black = rows[1]
    assert black.skylight_note is None and black.greying is None
    assert set(black.shares.values()) == {None}
    assert black.Lab == pytest.approx((0.0, 0.0, 0.0), abs=1e-6) and black.munsell == "N 0.0/"

    def numbers(value):
        if isinstance(value, dict):
            value = list(value.values())
        if isinstance(value, list | tuple):
            return [n for inner in value for n in numbers(inner)]
        return [value] if isinstance(value, float) else []

    for row in rows:
        assert np.isfinite(numbers(asdict(row))).all()
