"""What the palette makes of the planes, in the real window: strings, the plan of the head, mixes told in words."""

from __future__ import annotations

from dataclasses import replace

import pytest
from palette_driver import BALL, PATIENCE, WITH_BLACK, paints, recipes

from sitterlight.shading.cautions import caution
from sitterlight.shading.palette_file import PALETTES
from sitterlight.shading.sitting import PaletteSetting

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")


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
    assert recipes(mixed())
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
    assert "PBk9" in paints(window)
    window.paints.wishes["no_black"].click()
    assert "PBk9" not in paints(mixed())
