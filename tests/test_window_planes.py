"""The real window: planes on the head and in the table, and why the chosen one looks as it does."""

from __future__ import annotations

import numpy as np
import pytest
from window_driver import BUST, PATIENCE, plane_at

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")


def test_pick_and_table_show_each_other(shown, qtbot):
    from PyQt6.QtCore import QPoint, Qt

    window = shown(BUST, until="counted")
    stage = window.stages.first
    middle = QPoint(stage.width() // 2, stage.height() // 3)
    expected = plane_at(stage, middle.x(), middle.y())
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
    qtbot.mouseClick(stage.plotter, Qt.MouseButton.LeftButton, pos=QPoint(4, 4))
    assert window.model.chosen is None
    qtbot.waitUntil(lambda: window.why.seen is None, timeout=PATIENCE)


def test_a_click_on_the_head_shows_the_planes_where_both_sides_share_a_place(shown, qtbot):
    from PyQt6.QtCore import QPoint, Qt
    from PyQt6.QtWidgets import QDockWidget

    window = shown(BUST, until="counted")
    stage = window.stages.first
    window.resize(640, 400)
    qtbot.wait(60)
    try:
        window.findChild(QDockWidget, "Sitting").raise_()
        window.model.choose(3)  # as from a list
        qtbot.mouseClick(stage.plotter, Qt.MouseButton.LeftButton, pos=QPoint(4, 4))
        qtbot.wait(60)
        assert window.why.visibleRegion().isEmpty(), "no plane was hit"
        middle = QPoint(stage.width() // 2, stage.height() // 3)
        qtbot.mouseClick(stage.plotter, Qt.MouseButton.LeftButton, pos=middle)
        qtbot.waitUntil(lambda: not window.why.visibleRegion().isEmpty())
    finally:
        window.findChild(QDockWidget, "Sitting").raise_()
        window.resize(1280, 800)
        qtbot.wait(60)


def test_the_why_of_another_plane_is_read_from_its_beginning(shown, qtbot):
    window = shown(BUST, until="counted")
    bar = window.rooms.widget(0).verticalScrollBar()
    window.resize(1280, 500)
    window.model.choose(3)
    qtbot.waitUntil(lambda: bar.maximum() > 40)
    bar.setValue(40)
    window.rooms.show_plane(window.lit, window.lit.rows[3])  # other numbers, the same plane
    assert bar.value() == 40
    window.model.choose(5)
    qtbot.waitUntil(lambda: bar.value() == 0)


def test_the_seam_hides_nothing_of_the_line_round_a_plane(shown):
    """On a small head, where pieces of the line are shorter than the seam is wide."""
    window = shown(BUST, until="counted")
    stage, rows = window.stages.first, window.lit.rows
    window.model.choose(next(n for n, row in enumerate(rows) if (row.name, row.side) == ("forehead side", "left")))
    stage.zoom(0.5)
    seam, _ = stage.drawing._outline
    line = (stage.picture() > 240).all(axis=2)
    seam.VisibilityOff()
    alone = (stage.picture() > 240).all(axis=2)
    seam.VisibilityOn()
    stage.frame()
    assert alone.sum() > 60 and np.array_equal(line, alone)


def test_strokes_of_a_plane_are_chosen_one_by_one(shown):
    window = shown(BUST, until="counted")
    number, row = next((n, row) for n, row in enumerate(window.lit.rows) if len(row.targets) > 1)
    item = window.table._items[number]
    assert item.childCount() == len(row.targets)
    for k, target in enumerate(row.targets):
        window.table.tree.setCurrentItem(item.child(k))
        assert window.model.chosen == number
        assert window.why.as_seen.code == target.srgb
        assert target.part in window.why.name.text()


def test_the_line_under_the_pointer_reads_the_colour(shown):
    from PyQt6.QtCore import QPointF

    window = shown(BUST, until="counted")
    stage = window.stages.first
    face, weights = stage.face_at(QPointF(stage.width() / 2, stage.height() / 3))
    stage.pointed.emit(face, weights)
    assert (
        "L*" in window.status.reading.text()
        and "#" in window.status.reading.text()
        and "note" in window.status.reading.text()
    )
    stage.pointed.emit(-1, None)
    assert window.status.reading.text() == ""


def test_the_face_under_a_place_is_the_one_a_ray_meets():
    """Against rays cast by Embree, through the same places."""
    from sitterlight.meshes.library import load_head
    from sitterlight.shading.frame import Gaze
    from sitterlight.shading.rays import RayCaster
    from sitterlight.viewer.camera import framing, view_of
    from sitterlight.viewer.picking import Picker

    head, upright = load_head("bust"), np.eye(3)
    mesh = head.display
    picker, caster = Picker(mesh.vertices, mesh.faces), RayCaster(mesh.vertices, mesh.faces)
    places = np.random.default_rng(3).uniform((0, 0), (534, 608), (120, 2))
    for azimuth in (0.0, 70.0):
        gaze = Gaze(azimuth, 10.0, 1500.0)
        view = view_of(gaze, framing(head, gaze, upright, (534, 608)), upright, (534, 608))
        rays = view.directions(places[:, 0], places[:, 1])
        hits = caster.first_hit(np.repeat(view.eye[None].astype(np.float32), len(rays), 0), rays)
        for k, (x, y) in enumerate(places):
            face, weights = picker.face_at(view, x, y)
            assert face == hits.face[k]
            if face >= 0:
                assert weights == pytest.approx([1 - hits.u[k] - hits.v[k], hits.u[k], hits.v[k]], abs=5e-3)


def test_search_and_filter(shown):
    window = shown(BUST, until="counted")
    table = window.table
    table.search.setText("nose")
    visible = [number for number, item in table._items.items() if not item.isHidden()]
    assert visible and all("nose" in f"{table.rows[n].name} {table.rows[n].region}" for n in visible)
    table.search.setText("")
    for kind, fits in (
        ("seen", lambda row: not row.hidden),
        ("noted", lambda row: abs(row.skylight_note or 0) >= 1 and not row.hidden),
        ("greyed", lambda row: (row.greying or 0) >= 1 / 3 and not row.hidden),
    ):
        table.shown.set_value(kind)
        table._filter()
        visible = {number for number, item in table._items.items() if not item.isHidden()}
        assert visible == {n for n, row in enumerate(table.rows) if fits(row)}
        assert table.count.text().startswith(f"{len(visible)} of")
    table.shown.set_value("all")
    table._filter()


def test_the_table_can_be_sorted(shown):
    window = shown(BUST, until="counted")
    table, seen = window.table, lambda: [n for n in window.table._items if not window.table.rows[n].hidden]
    keys = {"note": lambda row: row.skylight_note or 0, "greying": lambda row: row.greying or 0}
    for order, key in keys.items():
        table.order.set_value(order)
        table._rebuild()
        for family in ("light", "halftone", "shadow"):
            numbers = [key(table.rows[n]) for n in seen() if table.rows[n].family == family]
            assert numbers == sorted(numbers, reverse=True)
    table.order.set_value("value")
    table._rebuild()


def test_planes_are_listed_from_light_to_dark(shown):
    from sitterlight.viewer.plane_words import in_order

    window = shown(BUST, until="counted")
    groups = in_order(window.lit.rows)
    assert sum(map(len, groups.values())) == len(window.lit.rows)
    for numbers in groups.values():
        lightness = [window.lit.rows[n].Lab[0] for n in numbers]
        assert lightness == sorted(lightness, reverse=True)


def test_hidden_planes_are_said_to_be_hidden(shown):
    window = shown(BUST, until="counted")
    number = next(n for n, row in enumerate(window.lit.rows) if row.hidden)
    assert window.table._items[number].parent().text(0) == "Hidden from here"
    window.model.choose(number)
    assert "does not see it" in window.why.sentence.text()


def test_names_of_planes_are_not_cut_off(shown):
    from sitterlight.viewer.plane_tree import NAME

    window = shown(BUST, until="counted")
    letters = window.table.tree.fontMetrics()
    widest = max(letters.horizontalAdvance(item.text(NAME)) for item in window.table._items.values())
    assert widest + 10 < window.table.tree.columnWidth(NAME)  # of which Qt takes some pixels on both sides
    assert not any(map(window.table.tree.isColumnHidden, range(window.table.tree.columnCount())))
    item = next(iter(window.table._items.values()))
    assert item.toolTip(NAME)


def test_recipes_come_after_a_moment(shown, qtbot):
    window = shown(BUST)
    rows = lambda: window.table.rows  # noqa: E731
    qtbot.waitUntil(lambda: bool(rows()) and rows()[0].targets[0].recipe is not None, timeout=PATIENCE)


def test_the_shares_of_a_plane_are_all_of_its_light_and_its_spectrum_has_its_colour(shown):
    from sitterlight.illuminants.observer import tristimulus
    from sitterlight.viewer.plane_light import pieces, plane_spectrum

    window = shown(BUST, until="counted")
    bent = []
    for row in window.lit.rows[::7]:
        for seen in (row, *row.targets):
            assert sum(piece.share for piece in pieces(window.lit, seen)) == pytest.approx(1.0, abs=0.04)
            spectrum, away = plane_spectrum(window.lit, row, seen)
            assert tristimulus(spectrum) == pytest.approx(np.array(seen.XYZ) / seen.XYZ[1], abs=1e-6)
            assert (spectrum >= 0).all()
            bent.append(away)
    assert np.median(bent) < 1.5
    window.model.choose(0)
    assert "Light that reaches the eye" in window.why._plot_words.text()


def test_a_plane_is_copied_in_every_notation(shown, qtbot):
    from PyQt6.QtWidgets import QApplication

    from sitterlight.viewer.plane_words import NOTATIONS, notation

    window = shown(BUST, until="rest")
    window.model.choose(5)
    row = window.table.rows[5]
    window.why._menu.aboutToShow.emit()
    actions = window.why._menu.actions()
    assert len(actions) == len(NOTATIONS)
    for kind, action in zip(NOTATIONS, actions, strict=True):
        action.trigger()
        assert QApplication.clipboard().text() == notation(window.why.seen, kind)
    window.actions_by_name["copy"].trigger()
    assert row.srgb in QApplication.clipboard().text() and row.munsell in QApplication.clipboard().text()


def test_a_chip_is_dragged_into_another_program_as_a_colour_and_as_text(shown, monkeypatch):
    from PyQt6.QtCore import Qt
    from PyQt6.QtGui import QColor, QDrag

    window, dragged = shown(BUST, until="counted"), []
    monkeypatch.setattr(QDrag, "exec", lambda drag, *_args: dragged.append(drag.mimeData()))
    window.table.tree.setCurrentItem(window.table._items[3])
    window.table.tree.startDrag(Qt.DropAction.CopyAction)
    data = dragged[0]
    row = window.table.rows[3]
    assert data.hasFormat("application/x-color") and data.text() == row.srgb
    assert QColor(data.colorData()).name() == row.srgb


def test_the_chips_of_why_can_be_dragged_as_well(shown, qtbot, monkeypatch):
    from PyQt6.QtCore import QPoint, Qt
    from PyQt6.QtGui import QDrag

    window, dragged = shown(BUST, until="counted"), []
    monkeypatch.setattr(QDrag, "exec", lambda drag, *_args: dragged.append(drag.mimeData().text()))
    window.model.choose(3)
    chip = window.why.as_seen
    qtbot.mousePress(chip, Qt.MouseButton.LeftButton, pos=QPoint(5, 5))
    qtbot.mouseMove(chip, QPoint(6, 6))
    assert not dragged
    qtbot.mouseMove(chip, QPoint(60, 12))
    assert dragged == [window.lit.rows[3].srgb]


def test_notations_are_whole_and_a_ring_says_what_the_screen_cannot_show(shown, qtbot):
    """The widest notation that a colour of light on skin has, and a pale chip of which both can be seen."""
    from dataclasses import replace

    from PyQt6.QtCore import Qt

    from sitterlight.viewer.plane_tree import CHIP, MUNSELL, PlaneTree, plane_item

    row = max(shown(BUST, until="counted").lit.rows, key=lambda row: row.Lab[0])
    tree, chips = PlaneTree(), []
    qtbot.addWidget(tree)
    tree.resize(500, 200)
    for shows in (True, False):
        tree.clear()
        item = plane_item(0, replace(row, in_srgb=shows, munsell="9.9YR 9.5/14.4"), row.name, row.name)
        tree.addTopLevelItem(item)
        tree.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        chips.append(tree.viewport().grab(tree.visualItemRect(item)).toImage())
        assert bool(item.toolTip(CHIP)) is not shows
        margin = 2 * (tree.style().pixelMetric(tree.style().PixelMetric.PM_FocusFrameHMargin) + 1)
        assert tree.fontMetrics().horizontalAdvance(item.text(MUNSELL)) + margin <= tree.columnWidth(MUNSELL)
    assert chips[0] != chips[1], "a ring on the chip"
