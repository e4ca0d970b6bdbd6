"""The window opens in two steps: what is seen first is what stays, and what is asked for sooner is there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from window_driver import BALL, PATIENCE, differ

from sitterlight.shading.sitting import HeadSetting, with_skin

pytestmark = pytest.mark.screen


@pytest.fixture
def opened(scratch, qapp, qtbot, tmp_path, monkeypatch):
    """Opens a window in steps; it is closed at the end."""
    monkeypatch.setenv("SITTERLIGHT_SETTINGS", str(tmp_path))
    monkeypatch.setenv("SITTERLIGHT_CACHE", str(scratch / "cache"))
    from sitterlight.viewer.main_window import Window, make_application
    from sitterlight.viewer.model import Model

    make_application()
    windows = []

    def open_window(kept, sitting=BALL):
        windows.append(Window(Model(sitting), kept, in_steps=True))
        windows[-1].show()
        return windows[-1]

    yield open_window
    for window in windows:
        window.model.saved = window.model.sitting
        window.close()


def test_the_kept_picture_stays_when_the_head_is_lit(opened, qtbot):
    from sitterlight.viewer import engine
    from sitterlight.viewer.appearance import appearance
    from sitterlight.viewer.kept_picture import keep_picture, recall_picture

    lit = engine.light(BALL)
    keep_picture(lit, appearance(lit, "as seen"))
    window, drawn, first = opened(recall_picture(BALL)), [], []
    stage, bare = window.stages.first, []
    stage.plotter.drawn.connect(drawn.append)

    def look():
        if not first:
            bare.append(not window.is_whole and window.lit is None)
            first.extend([stage.picture(), stage.geometry(), window.stages.words.text()])

    stage.plotter.drawn.connect(look)
    qtbot.waitUntil(lambda: bool(first), timeout=PATIENCE)
    assert bare == [True] and len(np.unique(first[0].reshape(-1, 3), axis=0)) > 100
    qtbot.waitUntil(lambda: window.is_whole and window.lit is not None, timeout=PATIENCE)
    assert window.kept is None and stage.lit is window.lit and stage.head is window.lit.head
    qtbot.waitUntil(lambda: window.table.rows is not None and window.lit.has("rows"), timeout=PATIENCE)
    assert not differ(first[0].astype(int), stage.picture().astype(int))
    assert stage.geometry() == first[1] and window.stages.words.text() == first[2]


def test_whoever_asks_sooner_has_all_at_once(opened):
    window = opened(None)
    window.model.change(with_skin(BALL, ladder=9), "skin")
    window.model.show("planes")
    assert not window.is_whole
    waited = []
    window.when_whole(lambda: waited.append(window.files.model))
    assert window.sitter.model is window.model and window.is_whole and waited == [window.model]
    assert window.actions_by_name["undo"].isEnabled() and window.stages.bar.buttons["planes"].isChecked()
    assert "skin" in window.actions_by_name["undo"].text() and window.recovering._timer.isActive()
    with pytest.raises(AttributeError):
        window.nothing  # noqa: B018


def test_what_was_mended_is_said_even_where_the_panels_come_after_the_light(opened, qtbot, tmp_path):
    ball = trimesh.creation.icosphere(subdivisions=2, radius=90)
    trimesh.Trimesh(ball.vertices, ball.faces[6:], process=False).export(tmp_path / "holed.ply")
    window = opened(None, replace(BALL, title="Holed", head=HeadSetting(mesh=str(tmp_path / "holed.ply"))))
    window._building._begun = True  # panels wait
    window._building._make(1)  # what lights
    assert "answers" in vars(window) and not window.is_whole
    qtbot.waitUntil(lambda: window.lit is not None and window.lit.exact, timeout=PATIENCE)
    window._building.finish()
    assert "closed" in window.stages.words.text()


def test_a_window_closed_at_once_ends(opened, qtbot):
    window = opened(None)
    assert window.close() and window.is_whole


def test_a_closing_window_is_out_of_sight_while_its_threads_end(opened, qtbot, monkeypatch):
    window = opened(None)
    qtbot.waitUntil(lambda: window.is_whole, timeout=PATIENCE)
    seen, end = [], window.background.end
    monkeypatch.setattr(window.background, "end", lambda: (seen.append(window.isVisible()), end()))
    assert window.close() and seen == [False]


def test_a_menu_opened_before_it_is_filled_is_filled_first(opened):
    """An empty menu would show nothing and keep the mouse to itself."""
    window = opened(None)
    menu = window.menus["Le&ssons"]
    assert not window.is_whole and menu.isEmpty()
    menu.aboutToShow.emit()
    assert window.is_whole and len(menu.actions()) == 5
