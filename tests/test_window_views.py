"""The real window: what the stages show. Views, surround, colour space, two stages, their difference."""

from __future__ import annotations

import numpy as np
import pytest
from window_driver import BALL, BUST, PATIENCE, differ, picture, plane_at, told_apart

from sitterlight.shading.legends import VIEWS
from sitterlight.shading.sitting import with_eye, with_skin

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")


def test_every_view_differs_from_the_others_and_has_its_line(shown):
    window = shown(BUST)
    pictures, lines = {}, {}
    for number, view in enumerate(VIEWS, 1):
        window.actions_by_name[view].trigger()
        assert window.actions_by_name[view].shortcut().toString() == str(number)
        pictures[view], lines[view] = picture(shown()), window.stages.legend.line.text()
        assert window.stages.bar.buttons[view].isChecked()
    for one in VIEWS:
        for other in VIEWS:
            assert one == other or differ(pictures[one], pictures[other]), (one, other)
    assert len(set(lines.values())) == len(VIEWS)


def test_in_the_planes_view_a_pixel_is_the_planes_code(shown):
    shown(BUST, until="counted")
    window = shown.view("planes")
    stage, shot = window.stages.first, picture(window)
    scale = shot.shape[0] / stage.height()
    checked = 0
    for x in range(20, stage.width(), 23):
        for y in range(20, stage.height(), 23):
            planes = {plane_at(stage, x + dx, y + dy) for dx in (-3, 0, 3) for dy in (-3, 0, 3)}
            if len(planes) == 1 and min(planes) >= 0:  # away from edges, where pixels are mixed
                code = np.array(list(bytes.fromhex(window.lit.rows[planes.pop()].srgb[1:])))
                assert np.abs(shot[int(y * scale), int(x * scale)] - code).max() <= 2
                checked += 1
    assert checked > 40


def test_values_are_as_many_as_asked_for(shown, qtbot):
    shown(BALL)
    window = shown.view("values")
    assert window.stages.bar.steps.isVisible()
    for count in (2, 3, 5, 9):
        window.stages.bar.counted.emit(count)
        codes = {tuple(code) for code in picture(shown()).reshape(-1, 3)} - {(122, 122, 122)}
        assert 1 < len(codes) <= count and all(r == g == b for r, g, b in codes)
    shown.view("as seen")
    assert not window.stages.bar.steps.isVisible()


def test_the_ground_is_the_surround_and_has_no_hue(shown):
    from sitterlight.viewer.greys import SURROUNDS

    window = shown(BALL)
    for name, greys in SURROUNDS.items():
        window.actions_by_name[name].trigger()
        assert (picture(window)[2, 2] == greys.stage).all()
    window.actions_by_name["middle"].trigger()


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


def test_display_p3_changes_codes_but_not_the_sitting(shown):
    from PyQt6.QtGui import QColor

    from sitterlight.viewer.screen_colour import codes_on_screen, on_screen

    window = shown(BUST)
    before = picture(window)
    window.actions_by_name["Display P3"].trigger()
    try:
        assert differ(before, picture(shown())) and window.model.sitting == BUST
        ours = codes_on_screen(np.array([[200, 90, 60]], np.uint8))[0]
        theirs = on_screen(QColor(200, 90, 60))  # Qt's own conversion
        assert np.abs(ours - np.array([theirs.red(), theirs.green(), theirs.blue()])).max() <= 1
    finally:
        window.actions_by_name["sRGB"].trigger()
    assert told_apart(before, picture(shown())) == ""


def test_two_stages_and_their_difference(shown, qtbot):
    window = shown(BALL)
    window.actions_by_name["hold"].trigger()
    window.model.change(with_skin(BALL, ladder=9), "skin")
    shown()
    stages = window.stages
    assert stages.second.isVisible()
    assert stages.second.lit.sitting == BALL and stages.first.lit.sitting.skin.ladder == 9
    assert stages.second.gaze == stages.first.gaze and stages.second.window_frame == stages.first.window_frame
    plain = picture(window)
    window.actions_by_name["difference"].trigger()
    qtbot.waitUntil(lambda: "difference" in stages.third_words.text())
    assert stages.third.isVisible() and stages.third.gaze == stages.first.gaze
    third = stages.third.picture().astype(int)
    codes = third[third.std(axis=2) > 0]
    assert not len(codes), "a difference has no hue"
    assert np.ptp(third) > 60
    window.model.change(BALL, "skin")
    shown(until="rest")
    qtbot.waitUntil(lambda: differ(third, stages.third.picture().astype(int)))
    window.model.undo()
    window.actions_by_name["difference"].trigger()
    assert not stages.third.isVisible()
    assert told_apart(plain, picture(shown())) == ""
    heads = stages.first.lit, stages.second.lit
    window.actions_by_name["exchange"].trigger()
    assert window.model.sitting == BALL
    assert (stages.second.lit, stages.first.lit) == heads and window.lit is heads[1], "exchanged at once"
    assert "being lit" not in stages.second_words.text()
    shown()
    gaze = stages.second.gaze
    other = with_eye(with_skin(BALL, ladder=2), azimuth=-30)
    window.model.show_pair(with_eye(BALL, azimuth=-30), other, "pair")
    assert stages.second_words.text().startswith("being lit …")
    assert stages.second.gaze == gaze, "sheen that was worked out for one place is not looked at from another"
    shown()
    qtbot.waitUntil(lambda: stages.second.lit.sitting == other)
    assert stages.second_words.text().startswith("held")
    window.actions_by_name["let go"].trigger()
    assert not stages.second.isVisible()


def test_a_difference_of_one_is_refused_with_a_word(shown):
    window = shown(BALL)
    window.actions_by_name["difference"].trigger()
    stages = window.stages
    assert not stages.difference.isChecked() and not stages.third.isVisible()
    assert "beside" in stages.notice.words.text()


def test_the_second_stage_shows_the_same_view(shown):
    window = shown(BALL)
    window.actions_by_name["hold"].trigger()
    shown()
    before = window.stages.second.picture().astype(int)
    shown.view("greying")
    assert differ(before, window.stages.second.picture().astype(int))
    window.actions_by_name["let go"].trigger()


def test_sampled_edges_have_no_specks(shown, qtbot):
    """Where pixels are sampled, no pixel leaves the range of the plain picture around it (at the seam of the garment
    colours of narrow faces would, were they taken outside the face)."""
    from scipy.ndimage import maximum_filter, minimum_filter

    window = shown(BUST)
    canvas = window.stages.first.plotter
    plain = picture(window)
    canvas.pace.at_rest = lambda: "sampled"
    try:
        canvas.wish()
        qtbot.waitUntil(lambda: canvas.render_window.GetMultiSamples() > 1, timeout=PATIENCE)
        image = canvas.grabFramebuffer().convertToFormat(canvas.grabFramebuffer().Format.Format_RGB888)
        rows = np.frombuffer(image.constBits().asstring(image.sizeInBytes()), np.uint8).astype(int)
        sampled = rows.reshape(image.height(), image.bytesPerLine())[:, : 3 * image.width()]
        sampled = sampled.reshape(image.height(), image.width(), 3)
    finally:
        del canvas.pace.at_rest
    assert sampled.shape == plain.shape
    high, low = (kind(plain, size=(7, 7, 1)) for kind in (maximum_filter, minimum_filter))
    outside = np.maximum(sampled - high, low - sampled).max(axis=2)
    assert (outside > 25).sum() == 0
    assert differ(plain, sampled), "edges were not smoothed at all"


def test_what_is_quick_enough_decides_how_edges_are_drawn():
    from sitterlight.viewer.canvas import FILTERED, PLAIN, SAMPLED, Pace

    def after(**costs: float) -> str:
        pace = Pace()
        pace.costs = costs
        return pace.at_rest()

    assert Pace().at_rest() == PLAIN
    assert after(plain=0.005) == FILTERED and after(plain=0.005, filtered=0.007) == SAMPLED
    assert after(plain=0.2) == PLAIN
    assert after(plain=0.03, filtered=0.05) == FILTERED
    assert after(plain=0.005, filtered=0.007, sampled=0.2) == FILTERED
    pace = Pace()
    pace.costs = {"sampled": 0.2, "filtered": 0.1}
    pace.note(PLAIN, 0.001)
    assert pace.costs.keys() == {"plain"} and pace.is_fluent


def test_a_view_chosen_in_the_middle_of_a_drag_stands_as_its_light_does(shown):
    """Colours alone come with the head as it is being turned; those of a whole answer with the head as it was lit."""
    from dataclasses import replace

    from sitterlight.shading.frame import gaze_of
    from sitterlight.viewer import engine

    window = shown(BALL)
    stage, before = window.stages.first, picture(window)
    turned = replace(BALL, head=replace(BALL.head, tilt=40.0))
    glimpse = engine.glimpse(turned, gaze_of(turned), window.lit.eye.key, True)
    window.stages.show_glimpse("first", glimpse, gaze_of(turned))
    assert differ(before, picture(window))
    window.stages.show_looks(stage, window.lit.looks["as seen", None, True])
    assert told_apart(before, picture(window)) == ""
