"""A head of one's own in the window: asked about once, its planes counted, joined and named by hand, all undoable."""

from __future__ import annotations

from dataclasses import replace

import pytest
import trimesh
from PyQt6.QtCore import Qt
from PyQt6.QtTest import QTest
from PyQt6.QtWidgets import QLineEdit
from window_driver import BALL

from sitterlight.meshes.plane_edits import PlaneEdit
from sitterlight.shading.sitting import HeadSetting, with_head

pytestmark = pytest.mark.screen


@pytest.fixture
def ring(tmp_path):
    trimesh.creation.torus(10, 4, major_sections=24, minor_sections=12).export(tmp_path / "ring.stl")
    return tmp_path / "ring.stl"


def _asked(window, qtbot, path):
    window.files.take(path)
    qtbot.waitUntil(lambda: window.files.asking.question is not None, timeout=60_000)
    return window.files.asking.question


def test_a_mesh_is_asked_about_once_with_its_guess(shown, qtbot, ring):
    window = shown(BALL)
    window.files.asking.question = None
    question = _asked(window, qtbot, ring)
    assert (question.unit, question.up, question.front) == ("cm", "+z", "-y")
    assert "280 mm wide" in question.words.text() and window.model.sitting == BALL
    question.unit_box.chosen.emit("mm")
    assert "28 mm wide" in question.words.text() and "small for a head" in question.words.text()
    question.unit_box.chosen.emit("cm")
    question.up_box.chosen.emit("+y")
    assert question.front[1] != "y" and question.front_box.currentData() == question.front
    question.up_box.chosen.emit("+z")
    question.front_box.chosen.emit("-y")
    question.accept()
    head = window.model.sitting.head
    assert (head.mesh, head.unit, head.up, head.front) == (str(ring), "cm", "+z", "-y")
    window.model.undo()
    assert window.model.sitting == BALL and not window.planes_of_head.isVisible()


def test_a_mesh_that_is_none_is_a_sentence(shown, qtbot, tmp_path):
    window = shown(BALL)
    (tmp_path / "bad.ply").write_bytes(b"this is no mesh")
    window.files.take(tmp_path / "bad.ply")
    qtbot.waitUntil(lambda: "not a whole PLY mesh" in window.stages.notice.words.text(), timeout=60_000)
    assert window.model.sitting == BALL


def test_what_was_said_since_is_not_taken_back_by_an_answer(shown, qtbot):
    window = shown(BALL)
    notice = window.stages.notice
    window.model.change(replace(BALL, title="asked before"), "a title")
    window.stages.say("A file that is none.")
    qtbot.waitUntil(lambda: window.lit.sitting.title == "asked before", timeout=60_000)
    assert notice.words.text() == "A file that is none."
    window.model.change(BALL, "asked after")
    qtbot.waitUntil(lambda: window.lit.sitting.title == BALL.title, timeout=60_000)
    assert notice.words.text() != "A file that is none."


def test_planes_are_counted_joined_and_named(shown, ring):
    setting = HeadSetting(mesh=str(ring), unit="cm", up="+z", front="-y", planes=8)
    window = shown(replace(BALL, title="A ring", head=setting))
    panel, model = window.planes_of_head, window.model
    assert panel.isVisible() and panel.list.count() == 8 and not panel.by_shape.isChecked()
    for row in (1, 4):
        panel.list.item(row).setSelected(True)
    panel.join.click()
    assert model.sitting.head.plane == (PlaneEdit(2, None, (5,)),)
    shown()
    assert panel.list.count() == 7 and len(window.lit.head.planes) == 7
    panel.list.item(0).setText("left temple")
    assert model.sitting.head.plane == (PlaneEdit(1, "left temple"), PlaneEdit(2, None, (5,)))
    shown()
    assert window.lit.head.planes[0].name == "left temple"
    panel.list.clearSelection()
    panel.list.setCurrentRow(1)
    assert model.chosen == 1 and panel.part.isEnabled()
    panel.part.click()
    assert model.sitting.head.plane == (PlaneEdit(1, "left temple"),)
    panel.found.click()
    assert model.sitting.head.plane == ()
    model.undo()
    model.undo()
    assert model.sitting.head.plane == (PlaneEdit(1, "left temple"), PlaneEdit(2, None, (5,)))
    panel.count.moved.emit(14.0)
    assert model.sitting.head.planes == 14 and model.sitting.head.plane == ()
    shown()
    assert panel.list.count() == 14
    panel.by_shape.setChecked(True)
    assert model.sitting.head.planes is None


def test_a_name_that_is_being_typed_stays_when_the_head_is_lit_anew(shown, qtbot, ring):
    setting = HeadSetting(mesh=str(ring), unit="cm", up="+z", front="-y", planes=8)
    window = shown(replace(BALL, title="A ring", head=setting))
    panel, model = window.planes_of_head, window.model
    panel.list.setCurrentRow(2)
    panel.name.click()
    panel.name.click()  # once more asks Qt for nothing that it can't do
    editor = panel.list.viewport().findChild(QLineEdit)
    QTest.keyClicks(editor, "brow")
    model.change(with_head(model.sitting, plane=(PlaneEdit(1, "left temple"),)), "name of a plane")
    shown()
    assert editor.isVisible() and editor.text() == "brow" and panel.list.item(0).text() != "left temple"
    QTest.keyClick(editor, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: len(model.sitting.head.plane) == 2)
    assert model.sitting.head.plane == (PlaneEdit(1, "left temple"), PlaneEdit(3, "brow"))
    qtbot.waitUntil(lambda: panel.list.item(2).text() == "brow, left", timeout=60_000)
    assert panel.list.item(0).text() == "left temple"


def test_what_was_mended_is_said(shown, tmp_path):
    ball = trimesh.creation.icosphere(subdivisions=3, radius=90)
    trimesh.Trimesh(ball.vertices, ball.faces[6:], process=False).export(tmp_path / "holed.ply")
    window = shown(replace(BALL, title="Holed", head=HeadSetting(mesh=str(tmp_path / "holed.ply"))))
    assert "closed" in window.planes_of_head.words.text()
    assert "closed" in window.stages.notice.words.text()
