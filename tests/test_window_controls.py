"""The real window: every control changes the sitting and the picture, and undo takes both back to the same pixels."""

from __future__ import annotations

import numpy as np
import pytest
from window_driver import BALL, differ, picture, told_apart

from sitterlight.shading.sitting import with_skin

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")

CONTROLS = {
    "skin chip": lambda w: w.sitter.chips[8].clicked.emit(),
    "oil": lambda w: w.sitter.oil.slider.setValue(900),
    "roughness": lambda w: w.sitter.roughness.slider.setValue(100),
    "turn": lambda w: w.sitter.turn.slider.setValue(800),
    "tilt": lambda w: w.sitter.tilt.slider.setValue(900),
    "lean": lambda w: w.sitter.lean.slider.setValue(900),
    "melanin": lambda w: w.sitter.amounts["melanin"].slider.setValue(900),
    "blood": lambda w: w.sitter.amounts["blood"].slider.setValue(950),
    "oxygenation": lambda w: w.sitter.amounts["oxygenation"].slider.setValue(50),
    "carotene": lambda w: w.sitter.amounts["carotene"].slider.setValue(950),
    "scattering": lambda w: w.sitter.amounts["scattering"].slider.setValue(990),
    "veil": lambda w: w.sitter.amounts["veil"].slider.setValue(990),
    "head": lambda w: w.sitter.mesh.chosen.emit("cube"),
    "light off": lambda w: w.lights.rows["lamp"].switch.setChecked(False),
    "light alone": lambda w: w.lights.rows["lamp"].solo.click(),
    "light moved": lambda w: w.lights.map.moved.emit("lamp", 60.0, 10.0),
    "light strength": lambda w: w.lights.editor.strength.slider.setValue(300),
    "light colour": lambda w: w.lights.editor.spectrum_box.chosen.emit("D65"),
    "light azimuth": lambda w: w.lights.editor.azimuth_box.setValue(70),
    "light elevation": lambda w: w.lights.editor.elevation_box.setValue(-40),
    "light added": lambda w: w.lights.add_light("window"),
    "light removed": lambda w: w.lights.remove_light(),
    "adaptation": lambda w: w.eye.adaptation.slider.setValue(100),
    "adaptation by itself": lambda w: w.eye.auto.toggle(),
    "key at a value": lambda w: w.eye.key.chosen.emit("value"),
    "key compressed": lambda w: w.eye.key.chosen.emit("compressed"),
    "observer": lambda w: w.eye.observer.chosen.emit("10"),
    "eye azimuth": lambda w: w.eye.azimuth.setValue(50),
    "eye elevation": lambda w: w.eye.elevation.setValue(-40),
    "eye distance": lambda w: w.eye.distance.setValue(600),
    "ground": lambda w: w.eye.returns["ground"].chosen.emit("grass"),
    "walls": lambda w: w.eye.returns["walls"].chosen.emit("0.8"),
}
UNSEEN = {"adaptation by itself", "eye distance", "walls"}
"""Those that change the sitting but need not change this picture: walls are for rooms, and this ball is under a sky."""


@pytest.mark.parametrize("name", CONTROLS)
def test_a_control_changes_sitting_and_picture_and_undo_takes_both_back(shown, name):
    window = shown(BALL)
    before = picture(window)
    CONTROLS[name](window)
    changed = window.model.sitting
    assert changed != BALL, "the control left the sitting as it was"
    shown()
    after = picture(window)
    assert differ(before, after) or name in UNSEEN
    window.actions_by_name["undo"].trigger()
    assert window.model.sitting == BALL
    shown()
    assert told_apart(before, picture(window)) == ""
    window.actions_by_name["redo"].trigger()
    assert window.model.sitting == changed


def test_a_dragged_slider_is_one_step(shown):
    window = shown(BALL)
    slider = window.sitter.oil.slider
    slider.setSliderDown(True)
    for step in (400, 500, 600):
        slider.setValue(step)
    slider.setSliderDown(False)
    assert window.model.sitting.skin.oil == pytest.approx(1.8)
    window.model.undo()
    assert window.model.sitting == BALL


def test_a_light_is_dragged_on_the_map(shown, qtbot):
    from PyQt6.QtCore import Qt

    window = shown(BALL)
    widget = window.lights.map
    start, end = widget.place(-50, 30).toPoint(), widget.place(70, 20).toPoint()
    qtbot.mousePress(widget, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(widget, end)
    qtbot.mouseRelease(widget, Qt.MouseButton.LeftButton, pos=end)
    lamp = window.model.sitting.lights[0]
    assert (lamp.azimuth, lamp.elevation) == pytest.approx((70, 20), abs=2)


def test_a_light_is_moved_by_the_arrow_keys(shown, qtbot):
    from PyQt6.QtCore import Qt

    window = shown(BALL)
    window.lights.choose("lamp")
    for key in (Qt.Key.Key_Right, Qt.Key.Key_Up):
        qtbot.keyClick(window.lights.map, key)
    lamp = window.model.sitting.lights[0]
    assert (lamp.azimuth, lamp.elevation) == (-45, 35)
    window.model.undo()
    assert window.model.sitting.lights[0].elevation == 30


def test_the_map_of_directions_is_its_own_inverse():
    from sitterlight.viewer.light_map import from_map, to_map

    for azimuth in (-170, -40, 0, 65, 179):
        for elevation in (-80, -5, 0, 12, 60, 89):
            assert from_map(*to_map(azimuth, elevation)) == pytest.approx((azimuth, elevation), abs=1e-6)


def test_a_spectrum_of_ones_own_may_have_the_sheen_in_it_or_not(shown, monkeypatch, tmp_path):
    from PyQt6.QtWidgets import QFileDialog

    path = tmp_path / "skin.csv"
    rows = [f"{nm},{0.12 + 0.3 * (nm - 400) / 300:.3f}" for nm in range(400, 701, 10)]
    path.write_text("\n".join(rows), encoding="utf-8")
    window = shown(BALL)
    assert window.sitter.sheen_included.isHidden()
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_args, **_named: (str(path), ""))
    window.sitter.ask_spectrum()
    assert window.model.sitting.skin.reflectance == str(path) and window.model.sitting.skin.sheen_included
    assert not window.sitter.sheen_included.isHidden() and window.sitter.sheen_included.isChecked()
    with_sheen = picture(shown())
    window.sitter.sheen_included.click()
    assert not window.model.sitting.skin.sheen_included
    assert differ(with_sheen, picture(shown()))
    window.sitter.chips[3].clicked.emit()
    assert window.model.sitting == with_skin(BALL, ladder=4), "another skin forgets what belongs to a spectrum"


def test_a_colour_of_ones_own(shown, monkeypatch):
    from PyQt6.QtGui import QColor
    from PyQt6.QtWidgets import QColorDialog

    window = shown(BALL)
    monkeypatch.setattr(QColorDialog, "getColor", lambda *_args, **_named: QColor("#8a5a3c"))
    window.sitter.ask_colour()
    assert window.model.sitting.skin.colour.srgb == "#8a5a3c"
    shown()
    assert not any(chip._chosen for chip in window.sitter.chips)


def test_a_light_alone_and_all_again(shown):
    window = shown(BALL)
    window.lights.rows["sky"].solo.click()
    assert [light.on for light in window.model.sitting.lights] == [False, True]
    window.lights.rows["sky"].solo.click()
    assert window.model.sitting == BALL


def test_what_lies_above_white_is_said(shown):
    from dataclasses import replace

    from sitterlight.shading.sitting import LampLight, with_eye

    behind = replace(BALL, lights=(LampLight(name="lamp", azimuth=90, elevation=20),), skin=replace(BALL.skin, oil=3.0))
    window = shown(with_eye(behind, azimuth=0))
    assert window.lit.share_above_white > 0.005
    assert "above white" in window.eye.above.text()
    assert "striped" in window.stages.legend.unit.text()
    striped = picture(window)
    window.actions_by_name["mark"].trigger()
    assert differ(striped, picture(shown()))
    window.actions_by_name["mark"].trigger()
    assert np.array_equal(striped, picture(shown()))


def test_a_file_is_shown_by_its_name_and_told_with_its_place(qtbot):
    from PyQt6.QtCore import Qt

    from sitterlight.viewer.choice import Choice

    choice = Choice("head", [("bust", "the built-in bust")])
    qtbot.addWidget(choice)
    choice.set_value("/a long way/from here/my head.obj")
    assert choice.currentText() == "my head.obj"
    assert choice.currentData() == "/a long way/from here/my head.obj"
    assert choice.itemData(choice.currentIndex(), Qt.ItemDataRole.ToolTipRole) == "/a long way/from here/my head.obj"


def test_a_grey_is_told_by_a_word_and_its_number(shown):
    from sitterlight.shading.sitting import with_surround
    from sitterlight.viewer.eye_panel import grey_words

    window = shown(with_surround(BALL, ground=0.45, walls=0, clothes="grass"))
    told = [window.eye.returns[name].currentText() for name in ("ground", "walls", "clothes")]
    assert told == ["light grey, 0.45", "none", "grass"]
    assert [grey_words(value) for value in ("0.2", "0.8", "1", "my wall.csv")] == [
        "grey, 0.2",
        "white, 0.8",
        "white, 1",
        "",
    ]


def test_a_number_has_a_true_minus_and_is_typed_with_either(qtbot):
    from sitterlight.viewer.numbers import NumberBox

    box = NumberBox("elevation", -90, 90, "°", 1)
    qtbot.addWidget(box)
    told = []
    box.changed.connect(told.append)
    box.set_value(-12.5)
    assert box.text() == "−12.5°"
    for typed, text, value in (
        ("-60", "−60°", -60),
        ("−3.5", "−3.5°", -3.5),
        ("40", "40°", 40),
        ("−90.0", "−90°", -90),
    ):
        box.selectAll()
        box.lineEdit().insert(typed)
        box.interpretText()
        assert (box.text(), box.value(), told[-1]) == (text, value, value)
    box.selectAll()
    qtbot.keyClicks(box, "-x700")
    box.interpretText()
    assert box.value() == -70, "what cannot be a number is not taken"
    box.setValue(0)
    assert box.text() == "0°"


def test_a_light_is_seen_beside_a_row_of_its_own_colour(qtbot):
    from PyQt6.QtCore import QSize
    from PyQt6.QtGui import QColor

    from sitterlight.viewer.chip import Chip

    chip = Chip("", QSize(14, 26), rim=True)
    qtbot.addWidget(chip)
    chip.set_colour("#ffffff")
    shot = chip.grab().toImage()
    assert shot.pixelColor(7, 13) == QColor("#ffffff") and shot.pixelColor(0, 13).lightness() < 200


def test_a_plane_of_several_strokes_is_copied_with_a_recipe_for_each():
    from types import SimpleNamespace

    from sitterlight.viewer.plane_words import notation

    def stroke(part, parts):
        recipe = {"parts": [{"paint": "PW6", "parts": parts}], "delta_e": 0.5} if parts else None
        return SimpleNamespace(part=part, recipe=recipe)

    plane = SimpleNamespace(targets=(stroke("lit", 2), stroke("highlight", 5)))
    assert notation(plane, "recipe") == "lit: 2 PW6; highlight: 5 PW6"
    assert notation(stroke("whole", 3), "recipe") == "3 PW6"
    assert notation(SimpleNamespace(targets=(stroke("lit", None),)), "recipe") == ""


def test_a_work_is_told_with_as_many_words_as_a_wide_window_has_room_for(qtbot):
    from sitterlight.viewer.status_line import WIDEST, StatusLine

    words = "Writing a-file-with-quite-a-long-name-of-its-own.pdf"
    for width, whole in ((640, False), (1920, True)):
        line = StatusLine()
        qtbot.addWidget(line)
        line.resize(width, 30)
        line.writing.show_work(words, 0.5)
        needed = line.writing.words.fontMetrics().horizontalAdvance(words)
        assert needed > WIDEST
        assert (line.writing.words.width() >= needed) is whole
