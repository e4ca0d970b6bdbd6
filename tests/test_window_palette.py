"""The palette in the real window: every control changes the sitting and the recipes, and undo takes both back."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from palette_driver import BALL, WITH_BLACK, recipes

from sitterlight.shading.palette_file import PALETTES, read_palette
from sitterlight.shading.sitting import EaselSetting, PaletteSetting

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")

TUBE = """format = "sitterlight-paint/1"
name = "red of my own"
[[sample]]
paint = 1
white = 0
colour = {Lab = [36, 30, 24]}
[[sample]]
paint = 1
white = 9
colour = {Lab = [72, 16, 10]}
"""
CONTROLS = {
    "remove": lambda p: (p.tubes.choose("PBr7 burnt umber"), p.take_out.click()),
    "remove by key": lambda p: (p.tubes.choose("PY43"), p.tubes.removed.emit("PY43")),
    "four tubes": lambda p: p.take("four tubes"),
    "at most two": lambda p: p.most.chosen.emit("2"),
    "few paints": lambda p: p.wishes["few_paints"].click(),
    "transparent darks": lambda p: p.wishes["transparent_darks"].click(),
    "no black": lambda p: p.wishes["no_black"].click(),
    "base": lambda p: p.base.chosen.emit("PBr7 burnt umber"),
    "one brown": lambda p: p.base.chosen.emit("auto"),
    "easel": lambda p: p.light.chosen.emit("A"),
    "second light": lambda p: p.second.chosen.emit("FL11"),
}
STARTS = {"no black": WITH_BLACK, "few paints": BALL}


@pytest.mark.parametrize("name", CONTROLS)
def test_a_control_changes_sitting_and_recipes_and_undo_takes_both_back(mixed, name):
    start = STARTS.get(name, BALL)
    window = mixed(start)
    before = recipes(window)
    CONTROLS[name](window.paints)
    assert window.model.sitting != start, "the control left the sitting as it was"
    assert window.model.sitting.lights == start.lights and window.model.sitting.skin == start.skin
    after = recipes(mixed())
    assert after != before
    window.actions_by_name["undo"].trigger()
    assert window.model.sitting == start
    assert recipes(mixed()) == before


def test_tubes_are_moved_by_button_key_and_hand(mixed, qtbot):
    from PyQt6.QtCore import Qt

    window = mixed(BALL)
    tubes = window.paints.tubes
    tubes.choose("PY43")
    window.paints.down.click()
    assert window.model.sitting.palette.paints[:3] == ("PW6", "PR101 transparent", "PY43")
    assert tubes.current_name == "PY43"
    qtbot.keyClick(tubes, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    assert window.model.sitting.palette.paints == BALL.palette.paints
    tubes.model().moveRow(tubes.rootIndex(), 0, tubes.rootIndex(), 3)
    qtbot.waitUntil(lambda: window.model.sitting.palette.paints[2] == "PW6", timeout=2000)
    qtbot.keyClick(tubes, Qt.Key.Key_Delete)
    assert len(window.model.sitting.palette.paints) == len(BALL.palette.paints) - 1
    for _ in range(4):
        window.model.undo()
    assert window.model.sitting == BALL and tubes.names == list(BALL.palette.paints)


def test_the_last_tube_stays(mixed):
    one = replace(BALL, palette=PaletteSetting(("PBr7 burnt umber",)))
    window = mixed(one)
    assert not window.paints.take_out.isEnabled()
    window.paints.remove()
    assert window.model.sitting == one


@pytest.mark.parametrize(
    ("words", "found"),
    [("umber", "PBr7 raw umber"), ("pr122", "PR122"), ("cadmium", "PR108"), ("transparent red", "PR101 transparent")],
)
def test_the_library_is_searched(mixed, words, found):
    window = mixed(BALL)
    window.actions_by_name["add tube"].trigger()
    library = window.paints.library
    library.search.setText(words)
    assert found in library.list.names and len(library.list.names) < 20
    library.search.clear()
    library.family.set_value("blue")
    library.family.chosen.emit("blue")
    assert "PB29" in library.list.names and "PR122" not in library.list.names
    library.family.set_value("all")
    library.family.chosen.emit("all")
    library.close()


def test_tubes_are_added_from_the_library_and_not_twice(mixed):
    window = mixed(BALL)
    window.paints.open_library()
    library = window.paints.library
    library.list.choose("PG18")
    assert "viridian" in library.words.text() and "chromium" in library.words.text()
    library.add.click()
    assert window.model.sitting.palette.paints[-1] == "PG18"
    assert window.paints.tubes.current_name == "PG18"
    assert not library.add.isEnabled(), "it is on the palette now"
    library.list.taken.emit("PG18")
    assert window.model.sitting.palette.paints.count("PG18") == 1
    library.close()
    mixed()
    window.model.undo()
    assert window.model.sitting == BALL


def test_a_tube_of_ones_own(mixed, tmp_path):
    window = mixed(BALL)
    path = tmp_path / "red.toml"
    path.write_text(TUBE, encoding="utf-8")
    window.paints.load(path)
    assert window.model.sitting.palette.paints[-1] == str(path)
    words = window.paints.words.text()
    assert "red of my own" in words and ("fairly sure" in words or "guess" in words)
    assert "red of my own" in [window.paints.tubes.item(k).text() for k in range(window.paints.tubes.count())]
    mixed()
    path.write_text(TUBE.replace("Lab = [36", "Lab = ["), encoding="utf-8")


def test_a_tube_is_made_from_its_swatches(mixed, tmp_path):
    from sitterlight.shading.paint_file import read_paint_file

    window = mixed(BALL)
    window.actions_by_name["make tube"].trigger()
    maker = window.paints.maker
    assert not maker.save.isEnabled() and "Give at least" in maker.words.text()
    maker.name.setText("red of my own")
    maker.pigment.setText("PR102")
    maker.rows[0][2].setText("10R 4/6")
    assert "only guess" in maker.words.text(), "the paint alone does not tell its strength"
    tall = [box.geometry() for *boxes, _ in maker.rows for box in boxes[:1]]
    assert all(one.height() >= maker.name.sizeHint().height() for one in tall), "letters are cut"
    assert all(one.bottom() < below.top() for one, below in pairwise(tall)), "rows overlap"
    maker.rows[1][2].setText("Lab 62 22 20")
    maker.rows[2][2].setText("#d8b0a0")
    assert "fairly sure" in maker.words.text() and maker.save.isEnabled()
    assert all(chip.code for *_, chips in maker.rows[:3] for chip in chips)
    maker.rows[2][2].setText("beige")
    assert "beige" in maker.words.text() and not maker.save.isEnabled()
    spectrum = tmp_path / "tint.csv"
    spectrum.write_text("nm,R\n" + "\n".join(f"{nm},{0.2 + (nm - 380) / 1000}" for nm in range(380, 785, 5)))
    maker.rows[2][2].setText(str(spectrum))
    assert maker.save.isEnabled(), maker.words.text()
    (tmp_path / "tubes").mkdir()
    path = tmp_path / "tubes" / "red.toml"
    maker.save_as(path)
    assert '"../tint.csv"' in path.read_text(encoding="utf-8"), "spectra are found from where the file lies"
    assert read_paint_file(path).paint.id == "PR102 red of my own"
    assert window.model.sitting.palette.paints[-1] == str(path)
    mixed()
    window.model.undo()
    assert window.model.sitting == BALL


def test_a_long_name_of_a_tube_leaves_its_code_readable(mixed):
    from sitterlight.viewer.tube_list import shortened

    letters = mixed(BALL).paints.tubes.fontMetrics()
    long = "transparent red iron oxide PR101"
    whole = letters.horizontalAdvance(long)
    assert shortened(long, letters, whole) == long
    for width in (whole - 1, whole - 40, whole // 2):
        short = shortened(long, letters, width)
        assert short.endswith("… PR101") and letters.horizontalAdvance(short) <= width
    assert shortened("red of my own making", letters, 60).endswith("…")


def test_a_palette_is_saved_and_taken_again(mixed, tmp_path):
    window = mixed(BALL)
    tube, path = tmp_path / "red.toml", tmp_path / "deeper" / "mine.toml"
    tube.write_text(TUBE, encoding="utf-8")
    path.parent.mkdir()
    window.paints.add_tube(str(tube))
    window.paints.save(path)
    assert read_palette(path).paints == (*BALL.palette.paints, "../red.toml")
    window.paints.take("earths and one blue")
    assert window.model.sitting.palette.paints == PALETTES["earths and one blue"]
    window.paints.load(path)
    assert window.model.sitting.palette.paints[:-1] == BALL.palette.paints
    assert len(recipes(mixed())) > 0
    (tmp_path / "wrong.toml").write_text('format = "sitterlight-palette/1"\npaints = ["PX1"]', encoding="utf-8")
    before = window.model.sitting
    window.paints.load(tmp_path / "wrong.toml")
    assert window.model.sitting == before
    assert "PX1" in window.statusBar().currentMessage()


def test_the_panel_mirrors_the_sitting(mixed):
    asked = PaletteSetting(("PW6", "PB29", "PR108"), 3, True, "PR108", True, True)
    window = mixed(replace(BALL, palette=asked, easel=EaselSetting("D65", "LED-B3")))
    panel = window.paints
    assert panel.tubes.names == ["PW6", "PB29", "PR108"]
    assert (panel.most.currentData(), panel.base.currentData()) == ("3", "PR108")
    assert all(box.isChecked() for box in panel.wishes.values())
    assert (panel.light.currentData(), panel.second.currentData()) == ("D65", "LED-B3")
    panel.tubes.choose("PR108")
    panel.remove()
    assert window.model.sitting.palette.base == "none", "a base that is gone is no base"


def test_everything_is_named_and_within_reach_of_the_keyboard(mixed):
    from PyQt6.QtCore import Qt
    from PyQt6.QtWidgets import QAbstractButton, QComboBox, QListWidget

    panel = mixed(BALL).paints
    for kind in (QComboBox, QListWidget):
        assert all(widget.accessibleName() for widget in panel.findChildren(kind))
    for button in (panel.add, panel.take_out, panel.up, panel.down, panel.own, panel.more):
        assert button.accessibleName() or button.text()
    for widget in panel.findChildren(QAbstractButton):
        assert widget.focusPolicy() & Qt.FocusPolicy.TabFocus or widget.parent() is not panel, widget.text()
