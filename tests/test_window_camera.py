"""The real window: walking round the head, and what stays where it is meanwhile."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from window_driver import BALL, BUST, PATIENCE

from sitterlight.shading.sitting import with_skin

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")


def test_dragging_walks_round_the_head_and_the_sheen_moves(shown, qtbot):
    from PyQt6.QtCore import QPoint, Qt

    window = shown(BUST)
    stage, before = window.stages.first, window.lit.XYZ.copy()
    start = QPoint(stage.width() // 2, stage.height() // 2)
    qtbot.mousePress(stage.plotter, Qt.MouseButton.LeftButton, pos=start)
    for step in range(1, 6):
        qtbot.mouseMove(stage.plotter, start + QPoint(20 * step, 0), delay=10)
    assert stage.is_dragged and stage.plotter.moving
    qtbot.mouseRelease(stage.plotter, Qt.MouseButton.LeftButton, pos=start + QPoint(100, 0))
    assert not stage.plotter.moving and not stage.plotter.coarse
    assert window.model.state.gaze is not None and window.model.sitting == BUST
    shown()
    assert not np.allclose(window.lit.XYZ, before)
    window.actions_by_name["go back"].trigger()
    shown()
    assert np.allclose(window.lit.XYZ, before)


def test_the_lighter_mesh_is_the_same_head(shown):
    """Drawn with a quarter of the faces, nearly every pixel keeps its colour."""
    window = shown(BUST)
    stage = window.stages.first
    full = stage.picture().astype(int)
    stage.drawing.coarsen(True)
    try:
        light = stage.plotter.picture().astype(int)
    finally:
        stage.drawing.coarsen(False)
    off = np.abs(full - light).max(axis=2)
    assert 0 < (off > 12).mean() < 0.02
    assert np.array_equal(full, stage.picture())


def test_the_white_card_stays_while_one_walks_round():
    from sitterlight.shading.frame import Gaze
    from sitterlight.viewer.engine import light

    aside = Gaze(80.0, 10.0, 1500.0)
    standing, moved = light(BALL), light(BALL, aside)
    assert np.allclose(standing.scene.card_XYZ, moved.scene.card_XYZ)
    assert standing.eye == moved.eye
    without_sheen = replace(BALL, skin=replace(BALL.skin, oil=0.0))
    note, there = (light(without_sheen, gaze).notes[0] for gaze in (None, aside))
    both = np.isfinite(note) & np.isfinite(there)
    assert np.abs(note[both] - there[both]).max() < 0.15  # without sheen the eye's place changes no note


@pytest.mark.parametrize("name", ["front", "three-quarter", "profile", "below", "above", "back"])
def test_places_to_look_from(shown, name):
    from sitterlight.viewer.camera import PLACES

    window = shown(BALL)
    window.actions_by_name[f"from {name}"].trigger()
    gaze = window.model.state.looks_from
    assert (abs(gaze.azimuth), gaze.elevation) == PLACES[name]
    shown()


def test_turning_by_keys_is_undone_as_one_step(shown):
    window = shown(BALL)
    for _ in range(3):
        window.actions_by_name["walk left"].trigger()
    assert window.model.state.looks_from.azimuth == -15
    window.model.undo()
    assert window.model.state.gaze is None


def test_standing_where_one_looks_from_moves_the_card(shown):
    window = shown(BALL)
    window.actions_by_name["from profile"].trigger()
    assert "white card stays" in window.stages.words.text()
    window.actions_by_name["stand here"].trigger()
    assert window.model.sitting.eye.azimuth == 90 and window.model.state.gaze is None
    window.model.undo()
    assert window.model.sitting == BALL


def test_wheel_keys_and_double_click_frame_the_head(shown, qtbot):
    from PyQt6.QtCore import QPoint, QPointF, Qt
    from PyQt6.QtGui import QWheelEvent
    from PyQt6.QtWidgets import QApplication

    window = shown(BALL)
    stage = window.stages.first
    whole = stage.window_frame
    place = QPointF(100, 100)
    none = Qt.KeyboardModifier.NoModifier
    wheel = QWheelEvent(
        place, place, QPoint(), QPoint(0, 240), Qt.MouseButton.NoButton, none, Qt.ScrollPhase.NoScrollPhase, False
    )
    QApplication.sendEvent(stage.plotter, wheel)
    assert stage.window_frame.zoom > 1
    window.actions_by_name["farther"].trigger()
    window.actions_by_name["nearer"].trigger()
    qtbot.mouseDClick(stage.plotter, Qt.MouseButton.LeftButton, pos=QPoint(20, 20))
    assert stage.window_frame == whole
    qtbot.mousePress(stage.plotter, Qt.MouseButton.RightButton, pos=QPoint(200, 200))
    qtbot.mouseMove(stage.plotter, QPoint(240, 200))
    qtbot.mouseRelease(stage.plotter, Qt.MouseButton.RightButton, pos=QPoint(240, 200))
    assert stage.window_frame.shift != (0.0, 0.0) and window.model.state.gaze is None
    window.actions_by_name["frame"].trigger()
    assert stage.window_frame == whole


def test_a_head_framed_anew_is_seen_so_at_once(shown):
    stage = shown(BALL).stages.first
    stage.zoom(2.0)
    stage.frame()
    seen = stage.plotter.renderer.GetActiveCamera().GetViewAngle()
    assert seen == pytest.approx(np.degrees(2 * np.arctan(stage.window_frame.half_height)))


def test_who_comes_back_to_a_head_finds_it_framed_as_it_was(shown):
    window = shown(BALL)
    stage = window.stages.first
    stage.zoom(2.0)
    zoomed = stage.window_frame
    window.sitter.mesh.chosen.emit("cube")
    shown()
    assert stage.window_frame.zoom == 1.0, "another head fills the stage"
    window.actions_by_name["undo"].trigger()
    shown()
    assert stage.window_frame == zoomed
    window.actions_by_name["redo"].trigger()
    shown()
    stage.frame()
    window.stages.resize(window.stages.width(), window.stages.height() - 40)
    window.actions_by_name["undo"].trigger()
    shown()
    assert stage.window_frame.zoom == zoomed.zoom
    window.actions_by_name["frame"].trigger()


def test_a_far_place_is_looked_from_when_it_is_known_what_is_seen_there(shown, qtbot):
    """Until then the old picture stays: the sheen of one place is not looked at from another."""
    window = shown(BALL, until="rest")
    stage, here = window.stages.first, window.stages.first.gaze
    window.model.look_from(here._replace(azimuth=8.0))
    assert stage.gaze.azimuth == 8.0, "a near place at once"
    shown(until="rest")
    window.model.look_from(here._replace(azimuth=100.0))
    assert stage.gaze.azimuth == 8.0 and stage.awaited.azimuth == 100.0
    shown(until="rest")
    assert stage.gaze.azimuth == 100.0 and stage.awaited is None
    stage.go_to(here)  # nobody answers
    assert stage.gaze.azimuth == 100.0
    qtbot.waitUntil(lambda: stage.gaze == here and stage.awaited is None, timeout=PATIENCE)


def test_who_goes_far_and_at_once_back_stays(shown, qtbot):
    window = shown(BALL)
    stage, here = window.stages.first, window.stages.first.gaze
    window.model.look_from(here._replace(azimuth=100.0))
    assert stage.awaited is not None
    window.model.look_from(here)
    assert stage.gaze == here and stage.awaited is None
    qtbot.waitUntil(lambda: not stage._patience.isActive(), timeout=PATIENCE)
    shown()
    assert stage.gaze == here


def test_two_stages_turn_together(shown, qtbot):
    """The colours of both, seen from the new place, come before the first of them is worked out to the end."""
    window = shown(BALL, until="rest")
    window.model.hold(with_skin(BALL, ladder=8))
    shown(until="rest")
    told = []
    # Let go of by what was called: by their connections, PyQt6 6.11 may let go of any action of a menu in their place.
    window.background.glimpsed.connect(glimpsed := lambda place, *_: told.append(f"{place} glimpsed"))
    window.background.answered.connect(answered := lambda answer: told.append(f"{answer.request.place} answered"))
    try:
        window.model.look_from(window.stages.first.gaze._replace(azimuth=120.0))
        shown(until="rest")
    finally:
        window.background.glimpsed.disconnect(glimpsed)
        window.background.answered.disconnect(answered)
        window.model.hold(None)
    assert told == ["first glimpsed", "second glimpsed", "first answered", "second answered"]
    assert window.stages.second.gaze == window.stages.first.gaze
