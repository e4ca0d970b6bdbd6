"""Roughness while it is dragged: near to the exact picture, and no trace of it once that is there."""

from __future__ import annotations

import weakref
from dataclasses import replace

import numpy as np
import pytest
from solids import sitting_of, write_groove
from test_glance import BALL
from test_mirrored_twice import EYE, LAMP

from sitterlight.shading import dragged_roughness, geometry
from sitterlight.shading.dragged_roughness import blended_gloss, rough_glance
from sitterlight.shading.eye import AS_LIT
from sitterlight.shading.frame import Gaze
from sitterlight.shading.glance import glance
from sitterlight.shading.irradiance import MOST_MIRRORED, Gloss
from sitterlight.shading.sitting import SkinSetting, SkyLight
from sitterlight.shading.staging import Setup, surface_of
from sitterlight.viewer import engine


def rough(roughness, sitting=BALL):
    return replace(sitting, skin=replace(sitting.skin, roughness=roughness))


def looks(sitting, known, wanted):
    """The look at a known roughness, the one dragged from there, and the exact one of the roughness wanted; and the
    gloss before and after."""
    assert Setup.of(rough(known, sitting)).look
    setup, exact = Setup.of(rough(known, sitting), coarse=True), Setup.of(rough(wanted, sitting)).look
    before, after = (blended_gloss(setup.head, *surface_of(rough(each, sitting))) for each in (known, wanted))
    return setup.look, dragged_roughness._with_sheen_of(setup, before, after), exact, before, after


@pytest.mark.parametrize("wanted", [0.25, 0.5])
def test_dragged_roughness_misses_little_of_what_it_changes(wanted):
    before = glance(rough(0.35))
    dragged, exact = rough_glance(rough(wanted), 0.35), glance(rough(wanted))
    changed, missed = np.abs(exact.XYZ - before.XYZ), np.abs(dragged.XYZ - exact.XYZ)
    assert missed.mean() < 0.2 * changed.mean()
    assert np.percentile(missed, 99) < 0.3 * np.percentile(changed, 99)
    assert dragged.sitting == rough(wanted) and np.array_equal(dragged.card_XYZ, exact.card_XYZ)


def test_roughness_as_it_was_is_the_picture_that_was():
    before = glance(rough(0.35))
    assert np.allclose(rough_glance(rough(0.35), 0.35).XYZ, before.XYZ, rtol=1e-4, atol=1e-3)


def test_the_exact_picture_is_as_if_nothing_had_been_dragged():
    geometry.forget()
    glance(rough(0.35))
    for roughness in (0.4, 0.45):
        rough_glance(rough(roughness), 0.35)
    exact = glance(rough(0.45))
    geometry.forget()
    assert np.array_equal(exact.XYZ, glance(rough(0.45)).XYZ)


@pytest.mark.parametrize("wanted", [0.25, 0.5])
def test_what_folds_mirror_and_bodies_send_is_nearer_to_the_roughness_wanted(tmp_path, wanted):
    """In a groove, whose walls mirror each other. Bodies stay those of the known roughness, so of what they got then
    1 − E of the roughness wanted goes to the eye."""
    skin = SkinSetting(regions=False, under_skin=False)
    lights, mesh = (LAMP, SkyLight(sky="open shade")), write_groove(tmp_path, 60.0, 600.0)
    groove = sitting_of(tmp_path, mesh, skin=skin, lights=lights, eye=EYE)
    known, dragged, exact, before, after = looks(groove, 0.35, wanted)
    seen = known.sees & (known.toward_eye[:, 0] != 1)
    leaving = [(each.toward_eye[:, 0] * (1 - gloss.mean))[seen] for each, gloss in ((dragged, before), (exact, after))]
    assert leaving[0] == pytest.approx(leaving[1], rel=1e-4)
    ones = np.ones((len(seen), 1), np.float32)
    for share, part in ((0.5, lambda look: look.skin @ ones), (0.9, lambda look: look.glints)):
        was, near, true = (part(look)[seen] for look in (known, dragged, exact))
        assert np.abs(near - true).sum() < share * np.abs(was - true).sum()


def test_sheen_falls_no_further_below_nothing_behind_the_edge_of_sight():
    """That of the ground, the last, whose one spectrum has no less than nothing anywhere."""
    known, dragged = (look.sheen[:, -1] for look in looks(BALL, 0.35, 0.5)[:2])
    assert known.min() < 0 and np.all(dragged >= np.minimum(known, 0))


def test_from_elsewhere_it_is_as_if_nobody_had_looked_before():
    gazes = Gaze(20.0, 5.0, 1200.0), Gaze(-70.0, 30.0, 1200.0)
    _, after = (rough_glance(rough(0.5), 0.35, gaze).XYZ for gaze in gazes)
    dragged_roughness._known.forget()
    assert np.array_equal(after, rough_glance(rough(0.5), 0.35, gazes[1]).XYZ)


def test_the_look_that_stands_in_is_not_replaced_by_another_under_its_number():
    rough_glance(rough(0.5), 0.35)
    look = weakref.ref(Setup.of(rough(0.35), coarse=True).look)
    geometry.forget()
    assert look() is not None, "a new look could have the number of the one that was let go"


@pytest.mark.parametrize("roughness, oil", [(0.35, 1.0), (0.1, 5.0)])
def test_where_one_region_is_alone_the_gloss_is_that_of_its_roughness(roughness, oil):
    """However oily: no place mirrors more than there is."""
    head, oily = glance(BALL).head, replace(BALL, skin=replace(BALL.skin, roughness=roughness, oil=oil))
    weights = np.asarray(head.region_weights)
    alone = weights.max(axis=1) > 1 - 1e-6
    blended = blended_gloss(head, *surface_of(oily))
    whole = Gloss.of(*(weights @ each for each in surface_of(oily)))
    assert alone.any() and blended.albedo.max() <= MOST_MIRRORED + 1e-6
    for name in ("roughness", "oil", "albedo", "mean"):
        assert getattr(blended, name)[alone] == pytest.approx(getattr(whole, name)[alone], abs=1e-5)


def test_a_glimpse_stands_on_the_last_exact_roughness(monkeypatch):
    """Of the same head, lights and oil; what is known itself is shown as it is."""
    asked, given = [], engine.rough_glance
    monkeypatch.setattr(engine, "rough_glance", lambda *how: asked.append(how[1]) or given(*how))
    monkeypatch.setattr(engine, "_known", type(engine._known)())
    engine.glimpse(rough(0.3), None, AS_LIT, True)
    assert not asked
    engine.light(rough(0.35))
    engine.light(rough(0.4))
    engine.glimpse(rough(0.3), None, AS_LIT, True)
    assert asked == [0.4]
    engine.glimpse(rough(0.35), None, AS_LIT, True)
    engine.glimpse(replace(rough(0.3), lights=BALL.lights[:2]), None, AS_LIT, True)
    assert asked == [0.4]
