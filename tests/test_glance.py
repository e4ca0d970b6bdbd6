"""A glance has the colours of the whole scene, and the screen's codes are those of the eye."""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest

from sitterlight.shading import geometry
from sitterlight.shading.colour_spaces import into_sRGB
from sitterlight.shading.eye import Key, reference_white
from sitterlight.shading.frame import Gaze
from sitterlight.shading.glance import glance, screen_codes
from sitterlight.shading.keying import eye_of, resolve_eye
from sitterlight.shading.picture import encode
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import EyeSetting, HeadSetting, LampLight, Sitting, SkinSetting, SkyLight, WindowLight
from sitterlight.shading.staging import Setup

LAMP = LampLight(name="lamp", azimuth=-50, elevation=30, size=12, illuminance=400)
BALL = Sitting(
    head=HeadSetting(mesh="sphere"),
    lights=(
        SkyLight(sky="open shade", illuminance=2000),
        LAMP,
        WindowLight(name="window", azimuth=70, illuminance=300),
    ),
    eye=EyeSetting(azimuth=20, elevation=5),
)


@pytest.mark.parametrize("gaze", [None, Gaze(-70.0, 30.0, 1200.0)])
def test_a_glance_has_the_colours_of_the_scene(gaze):
    scene, seen = light_scene(BALL, gaze=gaze), glance(BALL, gaze)
    assert np.abs(seen.XYZ - scene.XYZ).max() < 1e-5 * scene.XYZ.max()
    assert np.array_equal(seen.card_XYZ, scene.card_XYZ)


def test_a_skin_that_is_tried_out_has_the_colours_of_its_scene():
    """The second time and later one lighting is asked for, its columns have been laid out for speed."""
    for ladder in (5, 2, 9):
        sitting = replace(BALL, head=HeadSetting(), skin=replace(BALL.skin, ladder=ladder))
        scene, seen = light_scene(sitting), glance(sitting)
        assert np.abs(seen.XYZ - scene.XYZ).max() < 1e-5 * scene.XYZ.max()


def test_a_skin_that_is_tried_out_has_the_colours_of_its_scene_for_another_observer_too():
    """Of the observer before, whose columns' colours are kept, nothing is left."""
    for observer in (2, 2, 10):
        sitting = replace(BALL, eye=replace(BALL.eye, observer=observer))
        scene, seen = light_scene(sitting), glance(sitting)
        assert np.abs(seen.XYZ - scene.XYZ).max() < 1e-5 * scene.XYZ.max()


@pytest.mark.parametrize(
    "change",
    [{"eye": replace(BALL.eye, observer=10)}, {"lights": (BALL.lights[0], replace(LAMP, spectrum="LED-B1"))}],
    ids=["another observer", "another colour of a lamp"],
)
def test_what_the_skin_mirrors_is_seen_anew_where_the_head_and_its_lights_stay(change):
    """What is mirrored is kept while a skin is tried out; here the places stay, and what they look like does not."""
    first = replace(BALL, lights=BALL.lights[:2])
    glance(first)
    sitting = replace(first, **change)
    scene, seen = light_scene(sitting), glance(sitting)
    assert np.abs(seen.XYZ - scene.XYZ).max() < 1e-5 * scene.XYZ.max()


def test_a_spectrum_that_is_written_anew_is_read_anew(tmp_path):
    lit = []
    for blue in (0.2, 1.0):
        (tmp_path / "mine.csv").write_text(f"400,{blue}\n550,1\n700,1\n", encoding="utf-8")
        stamp = 1_000_000 + 100 * blue
        os.utime(tmp_path / "mine.csv", (stamp, stamp))
        lights = (replace(LAMP, spectrum="mine.csv"),)
        lit.append(glance(replace(BALL, lights=lights, folder=tmp_path)).card_XYZ)
    assert lit[1][2] / lit[1][1] > 1.3 * lit[0][2] / lit[0][1]


def test_another_gaze_leaves_the_white_card_and_the_body():
    """Only what the eye's angle decides changes: sheen, and what it leaves of the body."""
    here, there = light_scene(BALL), light_scene(BALL, gaze=Gaze(-70.0, 30.0, 1200.0))
    assert np.array_equal(here.card_XYZ, there.card_XYZ)
    body = [n for n, part in enumerate(here.parts) if part.path == "body"]
    one, other = (scene.part_XYZ[body] / scene.toward_eye for scene in (here, there))
    assert np.abs(one - other).max() < 1e-4 * one.max()
    assert np.abs(here.XYZ - there.XYZ).max() > 0.05 * here.XYZ.max()


@pytest.mark.parametrize("eye", [{}, {"key": 7.0}, {"observer": 10}, {"adaptation": 0.3}])
def test_screen_codes_are_those_of_the_eye(eye):
    sitting = replace(BALL, eye=replace(BALL.eye, **eye))
    scene = light_scene(sitting)
    seen = resolve_eye(scene)
    on_screen = seen.screen_XYZ(scene.head.to_display @ np.asarray(scene.XYZ, np.float32))
    codes = screen_codes(scene.head, scene.XYZ, seen)
    apart = np.abs(codes[:, :3].astype(int) - encode(into_sRGB(on_screen)))
    assert apart.max() <= 1
    assert (apart > 0).mean() < 0.002


def test_screen_codes_of_an_eye_laid_onto_another_white():
    """The key asks for the eye's luminance, in which the screen's primaries count otherwise than in its own."""
    scene = light_scene(BALL)
    seen = resolve_eye(scene).with_white(reference_white("D50")).with_key(Key(0.9, 0.8))
    on_screen = seen.screen_XYZ(scene.head.to_display @ np.asarray(scene.XYZ, np.float32))
    apart = screen_codes(scene.head, scene.XYZ, seen)[:, :3].astype(int) - encode(into_sRGB(on_screen))
    assert np.abs(apart).max() <= 1 and (apart != 0).mean() < 0.002


def test_what_lies_above_white_is_marked():
    bright = replace(
        BALL, lights=(*BALL.lights, replace(LAMP, name="near", azimuth=150, elevation=60, illuminance=90000))
    )
    scene = light_scene(bright)
    eye = eye_of(scene)
    assert np.asarray(eye.adapted(scene.XYZ))[:, 1].max() > 1
    marked = screen_codes(scene.head, scene.XYZ, eye)[:, 3] == 0
    above = eye.adapted(scene.head.to_display @ np.asarray(scene.XYZ, float))[:, 1] > 1
    assert marked[above].all()
    on_screen = eye.screen_XYZ(scene.head.to_display @ np.asarray(scene.XYZ, np.float32))
    apart = screen_codes(scene.head, scene.XYZ, eye)[:, :3].astype(int) - encode(into_sRGB(on_screen))
    assert np.abs(apart[above]).max() <= 1


def test_a_skin_that_stays_is_the_same_body_and_another_skin_another():
    """What is known of a body is found by what it is, which takes the longer the more it is."""

    def body(**skin):
        lights = BALL.lights[0], replace(LAMP, azimuth=float(len(skin)))
        return Setup.of(replace(BALL, lights=lights, skin=SkinSetting(**skin)), occlusion=False).body

    first = body(ladder=3)
    assert body(ladder=3) is first
    other = body(ladder=4)
    assert other is not first and not np.array_equal(other.albedo, first.albedo)
    assert body(ladder=3) is not first and np.array_equal(body(ladder=3).albedo, first.albedo)


def test_a_coarse_glance_is_near_and_leaves_the_exact_one_alone():
    """While a lamp is dragged it is given by few samples; when it rests it is exact as if nothing had been."""
    moved = replace(BALL, lights=(BALL.lights[0], replace(LAMP, azimuth=-33.0), BALL.lights[2]))
    glance(BALL)
    coarse = glance(moved, coarse=True)
    exact = glance(moved)
    geometry.forget()
    fresh = glance(moved)
    assert np.array_equal(exact.XYZ, fresh.XYZ)
    change = np.abs(exact.XYZ - glance(BALL).XYZ)[:, 1].mean()
    assert 0 < np.abs(coarse.XYZ - exact.XYZ)[:, 1].mean() < 0.2 * change


def test_a_coarse_glance_at_a_head_that_is_turned_stays_the_same_when_asked_for_again():
    """Then all lights are new to the head, and bounce but once."""
    sitting = replace(BALL, head=HeadSetting(turn=33.3))
    seen = [glance(sitting, coarse=True).XYZ for _ in range(3)]
    assert np.abs(seen[1] - seen[0]).max() < 1e-5 * seen[0].max()
    assert np.array_equal(seen[1], seen[2])


@pytest.mark.parametrize("wrong", [np.nan, np.inf, -np.inf, 1e30])
def test_light_that_is_no_number_breaks_nothing(wrong):
    seen = glance(BALL)
    XYZ = seen.XYZ.copy()
    XYZ[:100] = wrong
    codes = screen_codes(seen.head, XYZ, resolve_eye(seen))
    assert codes[-1].tolist() == screen_codes(seen.head, seen.XYZ, resolve_eye(seen))[-1].tolist()


def test_what_lies_between_the_vertices_is_added():
    scene = light_scene(BALL)
    eye = resolve_eye(scene)
    finer = np.zeros((scene.head.to_display.shape[0], 3), np.float32)
    finer[::2] = 0.2 * scene.card_XYZ
    on_screen = eye.screen_XYZ(scene.head.to_display @ np.asarray(scene.XYZ, np.float32) + finer)
    apart = screen_codes(scene.head, scene.XYZ, eye, finer)[:, :3].astype(int) - encode(into_sRGB(on_screen))
    assert np.abs(apart).max() <= 1


@pytest.mark.parametrize("times", [0.4, 1.6])
def test_dragged_oil_is_shown_by_the_last_exact_picture(times):
    """Its error is small beside what the oil changes, and the exact picture is as if nothing had been dragged."""
    before = glance(BALL)
    oilier = replace(BALL, skin=replace(BALL.skin, oil=times * BALL.skin.oil))
    dragged, exact = glance(oilier, coarse=True), glance(oilier)
    changed, missed = np.abs(exact.XYZ - before.XYZ), np.abs(dragged.XYZ - exact.XYZ)
    assert missed.mean() < 0.12 * changed.mean()
    assert np.percentile(missed, 99) < 0.2 * np.percentile(changed, 99)
    geometry.forget()
    assert np.array_equal(exact.XYZ, glance(oilier).XYZ)


def test_oil_on_skin_that_was_known_without_any_is_worked_out():
    dry, oily = (replace(BALL, skin=replace(BALL.skin, oil=oil)) for oil in (0.0, 1.0))
    geometry.forget()
    before, dragged, exact = glance(dry), glance(oily, coarse=True), glance(oily)
    assert np.abs(dragged.XYZ - exact.XYZ).mean() < 0.3 * np.abs(exact.XYZ - before.XYZ).mean()


def test_an_exact_picture_that_was_broken_off_stands_in_for_none(monkeypatch):
    """One who drags on ends it before its look is known: the last whole one still serves."""
    more, most = (replace(BALL, skin=replace(BALL.skin, oil=times * BALL.skin.oil)) for times in (1.3, 1.7))
    looked = []
    look = geometry.Stage._look
    monkeypatch.setattr(geometry.Stage, "_look", lambda *given: looked.append(1) or look(*given))
    geometry.forget()
    glance(BALL)
    monkeypatch.setattr(geometry.Stage, "_light_field", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        glance(more)
    glance(most, coarse=True)
    assert len(looked) == 1
