"""The real window on a screen: every control, every view, undo, picking, files, leaving, lessons."""

from __future__ import annotations

import os
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sitterlight.shading.legends import VIEWS
from sitterlight.shading.sitting import HeadSetting, LampLight, Sitting, SkinSetting, SkyLight, with_lights, with_skin

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")

BALL = Sitting(
    title="A ball",
    head=HeadSetting(mesh="sphere"),
    skin=SkinSetting(ladder=4),
    lights=(LampLight(name="lamp", azimuth=-50, elevation=30), SkyLight(name="sky", sky="open shade", illuminance=200)),
)
BUST = replace(BALL, title="A bust", head=HeadSetting())
PATIENCE = 120_000


@pytest.fixture(scope="module")
def window(scratch, request):
    os.environ["SITTERLIGHT_SETTINGS"] = str(scratch / "settings")
    from sitterlight.viewer.main_window import Window, make_application
    from sitterlight.viewer.model import Model

    make_application()
    window = Window(Model(BALL))
    window.resize(1280, 800)
    window.show()
    yield window
    window.model.saved = window.model.sitting
    window.close()


@pytest.fixture
def shown(window, qtbot):
    """A function that shows a sitting, or waits for the one at hand, until it is lit and counted."""

    def show(sitting: Sitting | None = None):
        if sitting is not None:
            window.model.open(sitting)
            window.model.show("as seen")
        qtbot.waitUntil(lambda: _is_up_to_date(window), timeout=PATIENCE)
        qtbot.wait(60)
        return window

    yield show


def _is_up_to_date(window) -> bool:
    state, lit = window.model.state, window.lit
    if window.background.is_busy or lit is None or not lit.exact:
        return False
    if state.held is not None and (window.stages.second.lit is None or window.stages.second.lit.sitting != state.held):
        return False
    return (lit.sitting, lit.gaze) == (state.sitting, state.looks_from) and window.stages.first.lit is lit


def _picture(window) -> np.ndarray:
    return window.stages.first.picture().astype(int)


def _differ(one: np.ndarray, other: np.ndarray) -> bool:
    return one.shape != other.shape or bool(np.abs(one - other).max() > 2)


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
    "light off": lambda w: w.lights.rows["lamp"].switch.setChecked(False),
    "light alone": lambda w: w.lights.rows["lamp"].solo.click(),
    "light moved": lambda w: w.lights.map.moved.emit("lamp", 60.0, 10.0),
    "light strength": lambda w: w.lights.editor.strength.slider.setValue(300),
    "light colour": lambda w: w.lights.editor.spectrum_box.chosen.emit("D65"),
    "light size": lambda w: w.lights.editor.size_box.setValue(90),
    "light azimuth": lambda w: w.lights.editor.azimuth_box.setValue(70),
    "light added": lambda w: w.lights.add_light("window"),
    "light removed": lambda w: w.lights.remove_light(),
    "adaptation": lambda w: w.eye.adaptation.slider.setValue(100),
    "key": lambda w: w.eye.key.chosen.emit("value"),
    "observer": lambda w: w.eye.observer.chosen.emit("10"),
    "eye azimuth": lambda w: w.eye.azimuth.setValue(50),
    "eye elevation": lambda w: w.eye.elevation.setValue(-40),
    "ground": lambda w: w.eye.returns["ground"].chosen.emit("grass"),
}


@pytest.mark.parametrize("name", CONTROLS)
def test_a_control_changes_sitting_and_picture_and_undo_takes_both_back(shown, name):
    window = shown(BALL)
    before = _picture(window)
    CONTROLS[name](window)
    assert window.model.sitting != BALL, "the control left the sitting as it was"
    shown()
    after = _picture(window)
    assert _differ(before, after)
    window.actions_by_name["undo"].trigger()
    assert window.model.sitting == BALL
    shown()
    assert not _differ(before, _picture(window))
    window.actions_by_name["redo"].trigger()
    shown()
    assert not _differ(after, _picture(window))


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


def test_every_view_differs_from_the_others_and_has_its_line(shown):
    window = shown(BUST)
    pictures, lines = {}, {}
    for number, view in enumerate(VIEWS, 1):
        window.actions_by_name[view].trigger()
        assert window.actions_by_name[view].shortcut().toString() == str(number)
        pictures[view], lines[view] = _picture(window), window.stages.legend.line.text()
    for one in VIEWS:
        for other in VIEWS:
            assert one == other or _differ(pictures[one], pictures[other]), (one, other)
    assert len(set(lines.values())) == len(VIEWS)


def test_in_the_planes_view_a_pixel_is_the_planes_code(shown):
    window = shown(BUST)
    window.model.show("planes")
    window.model.choose(None)
    stage, picture = window.stages.first, _picture(window)
    scale = picture.shape[0] / stage.height()
    checked = 0
    for x in range(20, stage.width(), 23):
        for y in range(20, stage.height(), 23):
            faces = {_plane_at(stage, x + dx, y + dy) for dx in (-3, 0, 3) for dy in (-3, 0, 3)}
            if len(faces) == 1 and min(faces) >= 0:  # away from edges, where pixels are mixed
                code = np.array(list(bytes.fromhex(window.lit.rows[faces.pop()].srgb[1:])))
                assert np.abs(picture[int(y * scale), int(x * scale)] - code).max() <= 2
                checked += 1
    assert checked > 40


def _plane_at(stage, x: int, y: int) -> int:
    from PyQt6.QtCore import QPointF

    face, _ = stage.face_at(QPointF(x + 0.5, y + 0.5))
    return -1 if face < 0 else int(stage.head.display.plane_of_face[face])


def test_the_ground_is_the_surround_and_has_no_hue(shown):
    from sitterlight.viewer.greys import SURROUNDS

    window = shown(BALL)
    for name, greys in SURROUNDS.items():
        window.actions_by_name[name].trigger()
        assert (_picture(window)[2, 2] == greys.stage).all()
    window.actions_by_name["middle"].trigger()


def test_pick_and_table_show_each_other(shown, qtbot):
    from PyQt6.QtCore import QPoint, Qt

    window = shown(BUST)
    stage = window.stages.first
    middle = QPoint(stage.width() // 2, stage.height() // 3)
    expected = _plane_at(stage, middle.x(), middle.y())
    assert expected >= 0
    qtbot.mouseClick(stage.plotter, Qt.MouseButton.LeftButton, pos=middle)
    assert window.model.chosen == expected
    assert window.table.current[0] == expected
    row = window.lit.rows[expected]
    assert row.name in window.why.name.text().lower()
    assert window.why.as_seen.code == row.srgb
    other = next(n for n in window.table._items if n != expected)
    window.table.tree.setCurrentItem(window.table._items[other])
    assert window.model.chosen == other
    assert window.lit.rows[other].name in window.why.name.text().lower()


def test_the_line_under_the_pointer_reads_the_colour(shown, qtbot):
    from PyQt6.QtCore import QPointF

    window = shown(BUST)
    stage = window.stages.first
    face, weights = stage.face_at(QPointF(stage.width() / 2, stage.height() / 3))
    stage.pointed.emit(face, weights)
    assert "L*" in window.reading.text() and "#" in window.reading.text()
    stage.pointed.emit(-1, None)
    assert window.reading.text() == ""


def test_dragging_walks_round_the_head_and_the_sheen_moves(shown, qtbot):
    from PyQt6.QtCore import QPoint, Qt

    window = shown(BUST)
    stage, before = window.stages.first, window.lit.XYZ.copy()
    start = QPoint(stage.width() // 2, stage.height() // 2)
    qtbot.mousePress(stage.plotter, Qt.MouseButton.LeftButton, pos=start)
    for step in range(1, 6):
        qtbot.mouseMove(stage.plotter, start + QPoint(20 * step, 0), delay=10)
    qtbot.mouseRelease(stage.plotter, Qt.MouseButton.LeftButton, pos=start + QPoint(100, 0))
    assert window.model.state.gaze is not None and window.model.sitting == BUST
    shown()
    assert not np.allclose(window.lit.XYZ, before)
    window.actions_by_name["go back"].trigger()
    shown()
    assert np.allclose(window.lit.XYZ, before)


def test_the_white_card_stays_while_one_walks_round():
    from sitterlight.shading.frame import Gaze
    from sitterlight.viewer.engine import light

    standing, moved = light(BALL), light(BALL, Gaze(80.0, 10.0, 1500.0))
    assert np.allclose(standing.scene.card_XYZ, moved.scene.card_XYZ)
    assert standing.eye == moved.eye
    note, there = standing.notes[0], moved.notes[0]
    without_sheen = replace(BALL, skin=replace(BALL.skin, oil=0.0))
    note, there = (light(without_sheen, gaze).notes[0] for gaze in (None, Gaze(80.0, 10.0, 1500.0)))
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


def test_search_and_filter(shown):
    window = shown(BUST)
    table = window.table
    table.search.setText("nose")
    visible = [number for number, item in table._items.items() if not item.isHidden()]
    assert visible and all("nose" in f"{table.rows[n].name} {table.rows[n].region}" for n in visible)
    table.search.setText("")
    table.shown.set_value("seen")
    table._filter()
    visible = [number for number, item in table._items.items() if not item.isHidden()]
    assert visible and not any(table.rows[n].hidden for n in visible) and len(visible) < len(table.rows)
    table.shown.set_value("all")
    table._filter()


def test_planes_are_listed_from_light_to_dark(shown):
    from sitterlight.viewer.plane_words import in_order

    window = shown(BUST)
    groups = in_order(window.lit.rows)
    assert sum(map(len, groups.values())) == len(window.lit.rows)
    for numbers in groups.values():
        lightness = [window.lit.rows[n].Lab[0] for n in numbers]
        assert lightness == sorted(lightness, reverse=True)


def test_recipes_come_after_a_moment(shown, qtbot):
    window = shown(BUST)
    qtbot.waitUntil(lambda: window.table.rows[0].targets[0].recipe is not None, timeout=PATIENCE)
    window.model.choose(0)
    assert "looking for" not in window.why.mixes._lines[0][1].text()


def test_the_shares_of_a_plane_are_all_of_its_light(shown):
    from sitterlight.illuminants.observer import luminous
    from sitterlight.viewer.plane_light import pieces, plane_spectrum

    window = shown(BUST)
    for row in window.lit.rows[::7]:
        assert sum(piece.share for piece in pieces(window.lit, row)) == pytest.approx(1.0, abs=0.04)
        assert float(luminous(plane_spectrum(window.lit, row, row))) == pytest.approx(1.0, abs=0.01)


def test_two_stages_and_their_difference(shown):
    window = shown(BALL)
    window.actions_by_name["hold"].trigger()
    window.model.change(with_skin(BALL, ladder=9), "skin")
    shown()
    stages = window.stages
    assert stages.second.isVisible()
    assert stages.second.lit.sitting == BALL and stages.first.lit.sitting.skin.ladder == 9
    assert stages.second.gaze == stages.first.gaze
    plain = _picture(window)
    window.actions_by_name["difference"].trigger()
    assert _differ(plain, _picture(window)) and stages.legend.bar.scale is not None
    window.actions_by_name["difference"].trigger()
    window.actions_by_name["exchange"].trigger()
    assert window.model.sitting == BALL
    window.actions_by_name["let go"].trigger()
    assert not stages.second.isVisible()


def test_a_lesson_computes_its_figures(shown):
    from sitterlight.viewer.lessons import lessons

    window = shown(BALL)
    lesson = lessons()[3]
    window.actions_by_name[lesson.title].trigger()
    shown()
    text = window.stages.lesson.text.text()
    assert text == lesson.text(window.stages.second.lit, window.lit) and any(sign.isdigit() for sign in text)
    window.actions_by_name["undo"].trigger()
    assert not window.stages.lesson.isVisible() and window.model.sitting == BALL


LEAVES = {
    "sheet": lambda path: __import__("pypdfium2").PdfDocument(path).get_page_size(0)[0] > 100,
    "table": lambda path: len(list(__import__("csv").DictReader(path.open(encoding="utf-8")))) == 8,
    "picture": lambda path: __import__("PIL.Image").Image.open(path).size[0] > 200,
    "mesh-glb": lambda path: len(__import__("trimesh").load(path, force="mesh").vertices) > 100,
    "swatches": lambda path: b"<svg" in path.read_bytes(),
    "layers": lambda path: __import__("zipfile").ZipFile(path).read("mimetype") == b"image/openraster",
}


@pytest.mark.parametrize("name", LEAVES)
def test_leaving_by_the_menu(shown, qtbot, monkeypatch, tmp_path, name):
    from PyQt6.QtWidgets import QFileDialog

    from sitterlight.shading.exports import EXPORTS

    window = shown(BALL)
    path = tmp_path / f"left{EXPORTS[name].ending}"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_named: (str(path), ""))
    menu = window.actions_by_name["leave"].menu()
    action = next(action for action in menu.actions() if action.text() == f"{EXPORTS[name].words}…")
    with qtbot.waitSignal(window.leaving.written, timeout=PATIENCE):
        action.trigger()
    assert LEAVES[name](path)


def test_leaving_while_looking_from_elsewhere_stands_there_first(shown, qtbot, tmp_path):
    from sitterlight.shading.frame import Gaze

    window = shown(BALL)
    window.model.look_from(Gaze(30.0, 0.0, 1500.0))
    with qtbot.waitSignal(window.leaving.written, timeout=PATIENCE):
        window.leaving.write("data", tmp_path / "a.json")
    assert window.model.state.gaze is None and window.model.sitting.eye.azimuth == 30.0
    assert '"azimuth": 30' in (tmp_path / "a.json").read_text(encoding="utf-8")


def test_saving_opening_and_recent_files(shown, tmp_path):
    from sitterlight.viewer.memory import recent_files

    window = shown(BALL)
    window.model.change(with_skin(BALL, ladder=9), "skin")
    assert window.isWindowModified()
    path = tmp_path / "mine.toml"
    assert window.files.save_as(path) and not window.isWindowModified()
    window.model.open(BALL)
    window.files.take(path)
    assert window.model.sitting.skin.ladder == 9 and window.model.path == path
    assert recent_files()[0] == path


def test_unsaved_changes_are_asked_about(shown, monkeypatch):
    from PyQt6.QtWidgets import QMessageBox

    window, asked = shown(BALL), []

    def answer(*_args):
        asked.append(1)
        return QMessageBox.StandardButton.Cancel

    monkeypatch.setattr(QMessageBox, "question", answer)
    assert window.files.may_leave() and not asked
    window.model.change(with_skin(BALL, ladder=9), "skin")
    assert not window.files.may_leave() and asked
    assert not window.close() and window.isVisible()


def test_a_bad_file_is_a_sentence_in_the_window(shown, tmp_path):
    window = shown(BALL)
    bad = tmp_path / "bad.toml"
    bad.write_text('format = "sitterlight/1"\n[skin]\nladder = 40\n', encoding="utf-8")
    window.files.take(bad)
    assert "ladder" in window.stages.words.text() and window.model.sitting == BALL
    window.files.take(tmp_path / "odd.xyz")
    assert "odd.xyz" in window.stages.words.text()


def test_a_sitting_that_cannot_be_lit_is_a_sentence_and_undo_brings_it_back(shown, qtbot):
    window = shown(BALL)
    dark = with_lights(BALL, *(replace(light, on=False) for light in BALL.lights))
    window.model.change(dark, "all off")
    qtbot.waitUntil(lambda: "No light is on" in window.stages.words.text(), timeout=PATIENCE)
    window.model.undo()
    shown()
    assert window.lit.sitting == BALL and "No light" not in window.stages.words.text()


def test_the_last_of_many_requests_counts(shown):
    window = shown(BALL)
    for ladder in (1, 2, 3, 5, 6, 7, 8, 9):
        window.model.change(with_skin(BALL, ladder=ladder), "skin", key="skin")
    shown()
    assert window.lit.sitting.skin.ladder == 9


def test_everything_is_reached_by_keyboard_and_named(window):
    from PyQt6.QtCore import Qt
    from PyQt6.QtWidgets import QAbstractButton, QAbstractSpinBox, QComboBox, QLineEdit, QSlider

    for kind in (QSlider, QComboBox, QAbstractSpinBox):
        for widget in window.findChildren(kind):
            assert widget.accessibleName(), widget
            assert widget.focusPolicy() & Qt.FocusPolicy.TabFocus
    for widget in window.findChildren(QAbstractButton):
        assert widget.text() or widget.accessibleName() or not widget.isVisible(), widget
    assert all(
        edit.accessibleName() or isinstance(edit.parent(), QAbstractSpinBox | QComboBox)
        for edit in window.findChildren(QLineEdit)
    )


def test_greys_have_no_hue():
    from PyQt6.QtGui import QPalette

    from sitterlight.viewer.greys import SURROUNDS, palette, style

    for greys in SURROUNDS.values():
        made = palette(greys)
        for role in QPalette.ColorRole:
            if role != QPalette.ColorRole.NColorRoles and made.isBrushSet(QPalette.ColorGroup.Active, role):
                colour = made.color(role)
                assert colour.red() == colour.green() == colour.blue()
        codes = [part[:6] for part in style(greys).split("#")[1:]]
        hexes = [code for code in codes if all(sign in "0123456789abcdef" for sign in code)]
        assert hexes and all(code[:2] == code[2:4] == code[4:] for code in hexes)


def test_the_map_of_directions_is_its_own_inverse():
    from sitterlight.viewer.light_map import from_map, to_map

    for azimuth in (-170, -40, 0, 65, 179):
        for elevation in (-80, -5, 0, 12, 60, 89):
            assert from_map(*to_map(azimuth, elevation)) == pytest.approx((azimuth, elevation), abs=1e-6)


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


def test_display_p3_changes_codes_but_not_the_sitting(shown):
    from PyQt6.QtGui import QColor

    from sitterlight.viewer.screen_colour import codes_on_screen, on_screen

    window = shown(BUST)
    before = _picture(window)
    window.actions_by_name["Display P3"].trigger()
    try:
        assert _differ(before, _picture(window)) and window.model.sitting == BUST
        ours = codes_on_screen(np.array([[200, 90, 60]], np.uint8))[0]
        theirs = on_screen(QColor(200, 90, 60))  # Qt's own conversion
        assert np.abs(ours - np.array([theirs.red(), theirs.green(), theirs.blue()])).max() <= 1
    finally:
        window.actions_by_name["sRGB"].trigger()
    assert not _differ(before, _picture(window))


def test_the_event_loop_goes_on_while_a_slider_is_dragged(shown, qtbot, record_property):
    from PyQt6.QtCore import QTimer

    window, gaps = shown(BALL), [0.0]
    last = [time.perf_counter()]

    def tick():
        now = time.perf_counter()
        gaps[0] = max(gaps[0], now - last[0])
        last[0] = now

    timer = QTimer()
    timer.timeout.connect(tick)
    timer.start(0)
    last[0] = time.perf_counter()
    for step in range(30):
        window.sitter.oil.slider.setValue(300 + 10 * step)
        qtbot.wait(10)
    timer.stop()
    record_property("longest gap of the event loop, seconds", gaps[0])
    assert gaps[0] < 1.0  # a tenth on an idle machine; tests share theirs with others
    shown()


def test_the_window_remembers(shown, tmp_path):
    from sitterlight.viewer.memory import settings
    from sitterlight.viewer.window import last_sitting

    window = shown(BALL)
    window.files.save_as(tmp_path / "last.toml")
    window.files.remember_last()
    sitting, path = last_sitting()
    assert sitting == window.model.sitting and path == tmp_path / "last.toml"
    assert Path(settings().fileName()).parent == Path(os.environ["SITTERLIGHT_SETTINGS"])
