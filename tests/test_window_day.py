"""The day plan in the real window: worked out, read, stopped, an hour and a facing taken from it, left with."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone

import pytest
from window_driver import held_in_the_middle

from sitterlight.shading.day_hours import PLANES
from sitterlight.shading.sitting import DaylightLight, HeadSetting, LampLight, Sitting, with_head

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")

from sitterlight.viewer.day_asking import remembered_planes, remembered_step  # noqa: E402
from sitterlight.viewer.day_panel import WHOLE, DayPanel  # noqa: E402
from sitterlight.viewer.day_work import followed  # noqa: E402

ON = date(2026, 12, 12)
WINTER = DaylightLight(name="noon", place="Saint Petersburg", when=datetime(2026, 12, 12, 13), facing=170)
SHORT_DAY = Sitting(title="Short day", head=HeadSetting(mesh="cube"), lights=(WINTER,))
LAMP = Sitting(title="Lamp", head=HeadSetting(mesh="cube"), lights=(LampLight(),))


@pytest.fixture
def panel(window):
    window.model.open(SHORT_DAY)
    window.actions_by_name["day"].trigger()
    yield window.day_plan
    window.day_plan.end()
    window.day_plan.close()


@pytest.fixture
def worked(panel, qtbot):
    """The panel with the short day worked out, hourly; kept from one test to the next."""
    if panel.day is None or panel.day.sitting != SHORT_DAY or len(panel.day.facings) != 8:
        panel.step.set_value(60)
        panel.begin.click()
        assert panel.stop.isVisible() and not panel.begin.isVisible()
        with qtbot.waitSignal(panel.work.so_far, timeout=60_000):
            pass
        qtbot.waitUntil(lambda: not panel.work.is_busy and len(panel.day.facings) == 8, timeout=60_000)
        qtbot.wait(30)
    panel.mirror()
    return panel


def test_a_day_is_worked_out_and_said(worked):
    assert worked.begin.isVisible() and not worked.stop.isVisible()
    assert worked.day.on == ON and worked.day.step == timedelta(hours=1)
    assert worked.said.text().count("\n") == 4 and "seat the sitter" in worked.said.text()
    assert "Saint Petersburg, 59.9° N 30.3° E, times at UTC+3:00" in worked.place.text()
    assert len(worked.chart.panels) == 7
    assert [panel.heading for panel in worked.chart.panels][:3] == ["Card, light", "Card, colour", "Value"]
    assert not worked.facings.isHidden()
    assert "Which way to seat the sitter at" in worked.facings.title.text()


def test_a_click_on_an_hour_sets_the_sittings_time_and_undo_takes_it_back(worked, window, qtbot):
    from PyQt6.QtCore import QPoint, Qt

    place = 2
    x = round(worked.chart.x(worked.day.hours[place].when.hour))
    qtbot.mouseClick(worked.chart, Qt.MouseButton.LeftButton, pos=QPoint(x, 180))
    light = window.model.sitting.lights[0]
    assert light.when == worked.day.hours[place].when and light.when != WINTER.when
    assert worked.chart.at_hand == light.when.hour
    assert "Saint Petersburg" in worked.place.text() and "has been changed" not in worked.place.text()
    assert window.lights.editor.hour_box.dateTime().toPyDateTime() == light.when.replace(tzinfo=None)
    window.actions_by_name["undo"].trigger()
    assert window.model.sitting == SHORT_DAY


def test_keys_go_through_the_hours_and_take_one(worked, window, qtbot):
    from PyQt6.QtCore import Qt

    worked.chart.point(None)
    for key in (Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Down):
        qtbot.keyClick(worked.chart, key)
    assert "14:00: " in worked.reading.text() and " lx" in worked.reading.text()
    plane = worked.day.hours[0].planes[worked.chart.shown[0]]
    assert plane.label in worked.reading.text()
    qtbot.keyClick(worked.chart, Qt.Key.Key_Return)
    assert window.model.sitting.lights[0].when.hour == 14
    window.model.undo()


def test_a_facing_turns_the_sitter_at_the_hour_compared_and_the_day_is_then_old(worked, window):
    worked.facings.buttons[2].click()
    light = window.model.sitting.lights[0]
    assert (light.facing, light.when) == (90, worked.day.facings[2].when)
    assert worked.facings.buttons[2].isChecked() and not worked.facings.buttons[4].isChecked()
    assert "has been changed since this day was worked out" in worked.place.text()
    window.model.undo()
    assert window.model.sitting == SHORT_DAY and "changed" not in worked.place.text()


def test_facings_are_compared_at_another_hour(worked, qtbot):
    other = next(hour for hour in worked.day.hours if hour.when != worked.day.facings[0].when)
    worked.chart.chosen.emit(worked.day.hours.index(other))
    assert worked.facings.another.text() == f"Compare at {other.clock}"
    hours = worked.day.hours
    worked.facings.another.click()
    qtbot.waitUntil(lambda: not worked.work.is_busy and worked.day.facings[0].when == other.when, timeout=30_000)
    assert worked.day.hours is hours and len(worked.day.facings) == 8
    qtbot.waitUntil(lambda: f"at {other.clock}" in worked.facings.title.text(), timeout=2000)


def test_it_can_be_left_with(worked, qtbot, tmp_path):
    def left(begin, words: str) -> None:
        begin()
        qtbot.waitUntil(lambda: words in worked.reading.text() and not worked.is_busy, timeout=30_000)

    left(lambda: worked.leaving.write("table", tmp_path / "day.csv"), "Written: ")
    rows = list(csv.DictReader((tmp_path / "day.csv").read_text(encoding="utf-8").splitlines()))
    assert len(rows) == sum(len(hour.planes) for hour in worked.day.hours)
    left(lambda: worked.leaving.write("page", tmp_path / "day.pdf"), "day.pdf")
    assert (tmp_path / "day.pdf").read_bytes().startswith(b"%PDF")
    assert b"Day plan" in (tmp_path / "day.pdf").read_bytes()
    left(lambda: worked.leaving.write("strip", tmp_path / "no folder" / "strip.png"), "Nothing was written")
    left(lambda: worked.leaving.write_folder(tmp_path / "all"), "Written: 5 files")
    assert len(list((tmp_path / "all").iterdir())) == 5


@pytest.mark.parametrize(("what", "share"), [("folder", 0.3), ("table", 1.0)])
def test_writing_it_can_be_stopped_and_leaves_nothing(worked, qtbot, tmp_path, what, share):
    with held_in_the_middle(worked.leaving.work, share) as held:
        if what == "folder":
            worked.leaving.write_folder(tmp_path / "all")
        else:
            worked.leaving.write(what, tmp_path / "day.csv")
        qtbot.waitUntil(held.is_reached, timeout=30_000)
        assert worked.stop.isVisible() and worked.progress.isVisible() and not worked.leave.isEnabled()
        worked.stop.click()
    qtbot.waitUntil(lambda: worked.begin.isVisible() and worked.leave.isEnabled(), timeout=30_000)
    assert worked.reading.text() == "Stopped: nothing was written."
    assert list(tmp_path.iterdir()) == []


def test_it_can_be_stopped_and_what_cannot_be_is_said(panel, qtbot):
    before, said = panel.day, panel.said.text()
    panel.step.set_value(10)
    panel.begin.click()
    assert panel.said.text() == "Working out 12 December 2026 …"
    panel.stop.click()
    assert not panel.stop.isEnabled()
    qtbot.waitUntil(lambda: not panel.work.is_busy, timeout=30_000)
    qtbot.waitUntil(panel.begin.isVisible, timeout=2000)
    assert panel.day is before and panel.said.text() == said and panel.stop.isEnabled()
    panel.window_at_hand.model.open(replace(SHORT_DAY, lights=(replace(WINTER, place=None, latitude=80, when=ON_UTC),)))
    panel.begin.click()
    qtbot.waitUntil(lambda: "there is no day at latitude 80°" in panel.said.text(), timeout=30_000)


ON_UTC = datetime(2026, 12, 12, 12, tzinfo=timezone(timedelta(0)))


def test_a_sitting_without_daylight_is_offered_one(panel, window):
    window.model.open(LAMP)
    assert panel.nothing.isVisible() and not panel.plan.isVisible()
    assert DayPanel(window).height() < WHOLE[1] / 2 and panel.height() < WHOLE[1] / 2
    panel.nothing.add.click()
    assert [light.kind for light in window.model.sitting.lights] == ["lamp", "daylight"]
    assert panel.plan.isVisible() and window.lights.chosen == window.model.sitting.lights[1].name
    window.model.undo()
    panel.nothing.instead.click()
    assert [light.kind for light in window.model.sitting.lights] == ["daylight"]
    window.model.undo()
    assert window.model.sitting == LAMP


def test_a_city_is_chosen_here_too_and_makes_the_day_old(worked, window):
    assert worked.city.currentText() == "Saint Petersburg"
    worked.city.chosen.emit("Oslo")
    light = window.model.sitting.lights[0]
    assert (light.place, light.latitude, light.when.hour, light.when.utcoffset()) == (
        "Oslo",
        59.9,
        13,
        timedelta(hours=1),
    )
    assert "has been changed" in worked.place.text()
    window.model.undo()
    assert worked.city.currentText() == "Saint Petersburg" and "changed" not in worked.place.text()


def _wait_until_lit(window, qtbot) -> None:
    """Until then the head's planes need not be known."""
    head = window.model.sitting.head
    qtbot.waitUntil(lambda: window.lit is not None and window.lit.sitting.head == head, timeout=60_000)


def test_planes_are_ticked_from_those_of_the_head(panel, window, qtbot):
    _wait_until_lit(window, qtbot)
    panel.planes.menu().aboutToShow.emit()
    names = [panel.planes.list.item(k).text() for k in range(panel.planes.list.count())]
    assert names
    panel.planes.tick(names[0])
    assert names[0] in panel.planes.chosen
    assert panel.planes.text().startswith(str(len(panel.planes.chosen)))
    panel.planes.tick(names[0], False)


def test_a_head_of_ones_own_has_other_planes(panel, window, qtbot):
    window.model.open(with_head(SHORT_DAY, mesh="sphere"))
    _wait_until_lit(window, qtbot)
    panel.planes.menu().aboutToShow.emit()
    assert panel.planes.list.count() > 1


def test_step_and_planes_are_remembered_for_the_next_window(panel, window, qtbot, tmp_path, monkeypatch):
    monkeypatch.setenv("SITTERLIGHT_SETTINGS", str(tmp_path))
    window.model.open(with_head(SHORT_DAY, mesh="cube"))
    _wait_until_lit(window, qtbot)
    panel.planes.menu().aboutToShow.emit()
    names = [panel.planes.list.item(k).text() for k in range(panel.planes.list.count())]
    panel.step.chosen.emit("60")
    panel.planes.tick(names[1])
    panel.planes.tick(names[3])
    other = DayPanel(window)
    assert other.step.currentData() == "60" and {names[1], names[3]} <= set(other.planes.chosen)
    assert followed(other.planes.chosen, names) == [name for name in other.planes.chosen if name in names]
    # What another head has none of is kept for the head that has it; meanwhile the usual planes are followed.
    assert followed(other.planes.chosen, ["plane 1"]) == PLANES
    other.planes.show_planes(["plane 1", "plane 2"])
    other.planes.tick("plane 2")
    assert {names[1], names[3], "plane 2"} <= set(DayPanel(window).planes.chosen)
    for name in (names[1], names[3]):
        panel.planes.tick(name, False)
    for text in ('{"day_step": "7", "day_planes": [1]}', '{"day_step": ["60"], "day_planes": "x"}', "{"):
        (tmp_path / "window.json").write_text(text)
        assert (remembered_step(), remembered_planes()) == (30, list(PLANES))


def test_a_new_daylight_begins_at_the_city_of_this_computers_clock(panel, window, monkeypatch):
    from sitterlight.viewer import home_city

    for zone, city, words in (
        ("Asia/Tokyo", "Tokyo", "by this computer's clock"),
        ("Europe/Amsterdam", "Paris", "nearest to Amsterdam"),
        ("Etc/UTC", "London", "choose your own city"),
    ):
        monkeypatch.setattr(home_city, "system_zone", lambda zone=zone: zone)
        window.model.open(LAMP)
        panel.nothing.add.click()
        light = window.model.sitting.lights[1]
        assert (light.place, light.when.hour) == (city, 9) and light.latitude != 0
        editor = window.lights.editor
        assert words in editor.hour_rows.home.text() and not editor.hour_rows.home.isHidden()
        assert panel.day is not None or words in panel.place.text()
        editor.place_box.chosen.emit("Lima")
        assert editor.hour_rows.home.isHidden()
    window.model.open(LAMP)
    window.lights.add_light("daylight")
    assert window.model.sitting.lights[1].place == "London"


@pytest.mark.parametrize(
    ("by", "hours", "told"),
    [
        ("the plan's button", False, "The day has not been worked out yet."),
        ("Escape", True, "The eight facings have not been compared yet."),
        ("the main window", False, "The day has not been worked out yet."),
    ],
)
def test_closing_asks_about_a_day_that_is_being_worked_out(panel, window, qtbot, by, hours, told):
    from PyQt6.QtCore import QTimer
    from PyQt6.QtWidgets import QApplication

    close = {"the plan's button": panel.close, "Escape": panel.reject, "the main window": window.close}[by]
    asked = []

    def answer() -> None:
        box = QApplication.activeModalWidget()
        asked.append(box.text())
        next(button for button in box.buttons() if button.text() == "Go on").click()

    with held_in_the_middle(panel.work, 0.0) as held:
        panel._has_hours = hours
        panel.work.begin(lambda progress: [progress(share / 100) for share in range(100)])
        qtbot.waitUntil(held.is_reached)
        QTimer.singleShot(50, answer)
        close()
        assert asked == [told]
        assert panel.isVisible() and window.isVisible() and panel.work.is_busy
        panel.work.stop()
        held.go_on()
    qtbot.waitUntil(lambda: not panel.work.is_busy)


def test_a_plan_at_rest_closes_without_asking(panel):
    panel.reject()
    assert not panel.isVisible()
