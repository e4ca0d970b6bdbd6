"""The palette in the real window: every control changes the sitting and the recipes; strings and plan follow."""

from __future__ import annotations

import os
from dataclasses import replace

import pytest

from sitterlight.shading.cautions import caution
from sitterlight.shading.palette_file import PALETTES, read_palette
from sitterlight.shading.sitting import EaselSetting, HeadSetting, LampLight, PaletteSetting, Sitting, SkinSetting

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")

BALL = Sitting(
    title="A ball",
    head=HeadSetting(mesh="sphere"),
    skin=SkinSetting(ladder=3),
    lights=(LampLight(name="lamp", spectrum="D65", azimuth=-40, elevation=40, illuminance=800),),
    palette=PaletteSetting(("PW6", "PY43", "PR101 transparent", "PBr7 burnt umber", "PB29", "PBk9")),
)
PATIENCE = 60_000
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


@pytest.fixture(scope="module")
def window(scratch):
    os.environ["SITTERLIGHT_SETTINGS"] = str(scratch / "settings of the palette")
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
def mixed(window, qtbot):
    """A function that shows a sitting, or waits for the one at hand, until it has its recipes."""

    def show(sitting: Sitting | None = None):
        if sitting is not None:
            window.model.open(sitting)
        qtbot.waitUntil(lambda: _has_recipes(window), timeout=PATIENCE)
        return window

    return show


def _has_recipes(window) -> bool:
    from sitterlight.viewer import turns

    lit, rows = window.lit, window.table.rows
    if (
        turns.are_waiting()
        or window.background.is_busy
        or lit is None
        or lit.sitting != window.model.sitting
        or not rows
    ):
        return False
    return window.rooms._lit is lit and rows[0].targets[0].recipe is not None


def _recipes(window) -> list:
    return [target.recipe for row in window.table.rows for target in row.targets]


def _paints(window) -> set[str]:
    return {part["paint"] for recipe in _recipes(window) for part in recipe["parts"]}


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
WITH_BLACK = replace(BALL, palette=PaletteSetting(("PW6", "PY43", "PR101 transparent", "PBk9")))
STARTS = {"no black": WITH_BLACK, "few paints": BALL}


@pytest.mark.parametrize("name", CONTROLS)
def test_a_control_changes_sitting_and_recipes_and_undo_takes_both_back(mixed, name):
    start = STARTS.get(name, BALL)
    window = mixed(start)
    before = _recipes(window)
    CONTROLS[name](window.paints)
    assert window.model.sitting != start, "the control left the sitting as it was"
    assert window.model.sitting.lights == start.lights and window.model.sitting.skin == start.skin
    after = _recipes(mixed())
    assert after != before
    window.actions_by_name["undo"].trigger()
    assert window.model.sitting == start
    assert _recipes(mixed()) == before


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
    assert len(_recipes(mixed())) > 0
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


def test_strings_of_the_chosen_plane(mixed):
    window = mixed(BALL)
    brightest = max(range(len(window.table.rows)), key=lambda k: window.table.rows[k].targets[0].Lab[0])
    window.model.choose(brightest)
    window.actions_by_name["strings"].trigger()
    panel = window.rooms.strings
    assert panel.strings is not None and panel.strings.pick is not None
    assert "lighten with" in panel.words.text()
    assert len(panel.lighter.rows) >= 3
    assert "titanium white" in panel.lighter.accessibleDescription()
    added = [choice.string.added for choice in (*panel.lighter.rows, *panel.calmer.rows)]
    for paint in added:
        assert not paint.caution or caution(paint) in panel.cautions.text()
    assert any(paint.caution == "lead" for paint in added), "so that the test can fail"
    first = panel.lighter.grab().toImage()
    panel.base.chosen.emit("burnt umber")
    assert panel.strings.base.name == "burnt umber"
    assert panel.lighter.grab().toImage() != first
    window.paints.take("earths and one blue")
    mixed()
    assert panel.strings.base.name == "burnt umber"
    assert "burnt sienna" in [base.name for base in panel.strings.bases]
    window.model.choose(None)
    assert panel.strings is None and panel.recipe.text()
    window.actions_by_name["why"].trigger()


def test_the_plan_of_the_head(mixed, qtbot):
    window = mixed(BALL)
    window.actions_by_name["plan"].trigger()
    panel = window.rooms.plan
    first = panel.plan
    assert sum(pile.share_of_area for pile in first.piles) == pytest.approx(1.0)
    panel.asked.emit(first.piles[0].strokes[0])
    assert window.table.rows[window.model.chosen].name in first.piles[0].strokes[0]
    window.paints.take("four tubes")
    mixed()
    qtbot.waitUntil(lambda: panel.plan is not None and panel.plan is not first, timeout=PATIENCE)
    assert {paint for paint, _ in panel.plan.paints} <= set(PALETTES["four tubes"])
    window.actions_by_name["why"].trigger()


def test_a_palette_without_any_paint_left_is_told_and_nothing_old_stays(mixed, qtbot):
    window = mixed(BALL)
    window.model.choose(0)
    window.actions_by_name["strings"].trigger()
    assert window.rooms.strings.strings is not None
    window.model.change(replace(BALL, palette=PaletteSetting(("PBk9",), no_black=True)), "only black")
    qtbot.waitUntil(lambda: window.rooms.strings.strings is None, timeout=PATIENCE)
    assert "add a tube that is not black" in window.rooms.strings.recipe.text()
    assert window.rooms.plan.plan is None
    window.model.undo()
    assert _recipes(mixed())
    assert window.rooms.strings.strings is not None
    window.actions_by_name["why"].trigger()


def test_what_to_mix_is_told_in_full(mixed):
    window = mixed(replace(BALL, palette=PaletteSetting(("PW6", "PB29"))))
    window.model.choose(0)
    lines = [line for line in window.why.mixes._lines if line[2].isVisibleTo(window.why.mixes)]
    words = " ".join(label.text() for _, _, *labels in lines for label in labels)
    assert "Out of reach, this is the nearest" in words and "for this palette" in words
    assert "the mix is L*" in words and "under lamplight (A)" in words and "ultramarine" in words
    assert all(mixed_chip.code for _, mixed_chip, *_ in lines)
    planes = window.table._items.values()
    tips = [one.toolTip(1) for item in planes for one in (item, *map(item.child, range(item.childCount())))]
    assert any("ultramarine" in tip and "out of reach" in tip for tip in tips)


def test_no_black_leaves_the_black_tube_closed(mixed):
    window = mixed(WITH_BLACK)
    assert "PBk9" in _paints(window)
    window.paints.wishes["no_black"].click()
    assert "PBk9" not in _paints(mixed())
