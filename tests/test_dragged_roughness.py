"""Roughness while it is dragged: near to the exact picture, and no trace of it once that is there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from test_glance import BALL

from sitterlight.shading import geometry
from sitterlight.shading.dragged_roughness import blended_gloss, rough_glance
from sitterlight.shading.eye import AS_LIT
from sitterlight.shading.glance import glance
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.staging import surface_of
from sitterlight.viewer import engine


def rough(roughness):
    return replace(BALL, skin=replace(BALL.skin, roughness=roughness))


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


def test_where_one_region_is_alone_the_gloss_is_that_of_its_roughness():
    head = glance(BALL).head
    weights = np.asarray(head.region_weights)
    alone = weights.max(axis=1) > 1 - 1e-6
    blended = blended_gloss(head, *surface_of(BALL))
    whole = Gloss.of(*(weights @ each for each in surface_of(BALL)))
    assert alone.any()
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
