"""The light editor of the real window: places, clocks, lumens, shapes, lights by plain names, files of one's own."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from sitterlight.shading.resolve_lights import lamp_illuminance
from sitterlight.shading.sitting import DaylightLight, HeadSetting, LampLight, Sitting, SurroundSetting
from sitterlight.shading.sitting_file import from_dict, to_dict

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")

DAY = DaylightLight(name="day", latitude=40, longitude=5, when=datetime(2026, 3, 28, 12, tzinfo=UTC))
NEAR = LampLight(name="bulb", size=None, distance=1000, diameter=60, illuminance=100)
SITTING = Sitting(title="Lights", head=HeadSetting(mesh="cube"), lights=(DAY, NEAR))


@pytest.fixture
def editor(window):
    def choose(name: str):
        window.model.open(SITTING)
        window.lights.choose(name)
        return window.lights.editor

    return choose


def _light(window, name: str):
    return next(light for light in window.model.sitting.lights if light.name == name)


def test_a_city_brings_its_place_and_clock_and_summer_time_comes_by_itself(window, editor):
    box = editor("day").place_box
    box.chosen.emit("Berlin")
    light = _light(window, "day")
    assert (light.place, light.latitude, light.when.hour, light.when.utcoffset()) == (
        "Berlin",
        52.5,
        12,
        timedelta(hours=1),
    )
    hour = window.lights.editor.hour_box
    hour.setDateTime(hour.dateTime().addDays(2))
    light = _light(window, "day")
    assert (light.when.day, light.when.hour, light.when.utcoffset()) == (30, 12, timedelta(hours=2))
    assert from_dict(to_dict(window.model.sitting)) == window.model.sitting
    window.model.undo()
    window.model.undo()
    assert window.model.sitting == SITTING


def test_a_latitude_of_ones_own_leaves_the_city(window, editor):
    editor("day").place_box.chosen.emit("Berlin")
    window.lights.editor.latitude_box.setValue(50.0)
    light = _light(window, "day")
    assert (light.place, light.latitude, light.longitude) == (None, 50.0, 13.4)
    window.lights.editor.offset_box.setValue(5.5)
    assert _light(window, "day").when.utcoffset() == timedelta(hours=5, minutes=30)
    assert _light(window, "day").when.hour == 12


@pytest.mark.parametrize(("box", "value"), [("air", "dusty"), ("shade", "tree"), ("weather", "thin cloud")])
def test_air_shade_and_weather_are_chosen_in_words(window, editor, box, value):
    getattr(editor("day"), f"{box}_box").chosen.emit(value)
    assert getattr(_light(window, "day"), box) == value


def test_strength_is_told_in_lumens_or_lux_and_stays(window, editor):
    editor("bulb").measure_box.chosen.emit("lumens")
    lamp = _light(window, "bulb")
    assert lamp.illuminance is None and lamp_illuminance(lamp) == pytest.approx(100, rel=1e-3)
    window.lights.editor.strength.slider.setValue(500)
    assert _light(window, "bulb").lumens == pytest.approx(1000, rel=0.01)
    assert "lm" in window.lights.editor.strength._number.text()
    window.lights.editor.measure_box.chosen.emit("lux")
    again = _light(window, "bulb")
    assert again.lumens is None and again.illuminance == pytest.approx(
        lamp_illuminance(replace(NEAR, illuminance=None, lumens=1000)), rel=0.01
    )


def test_a_near_lamp_is_a_disc_or_a_sphere(window, editor):
    editor("bulb").shape_box.chosen.emit("sphere")
    assert _light(window, "bulb").shape == "sphere"


def test_no_lamp_is_made_to_reach_round_the_head_and_no_name_too_long(window, editor):
    """Found by the robot: what a sitting file refuses must not come about in the window."""
    form = editor("bulb")
    form.diameter_box.setValue(5235)
    assert _light(window, "bulb").diameter == 1899
    form.distance_box.setValue(200)
    assert _light(window, "bulb").distance == 1000
    form.diameter_box.setValue(60)
    form.distance_box.setValue(200)
    assert _light(window, "bulb").distance == 200
    form.name.setText("x" * 100)
    form.name.editingFinished.emit()
    assert window.lights.chosen == "x" * 60
    assert from_dict(to_dict(window.model.sitting)) == window.model.sitting


def test_every_light_on_offer_can_be_added_lit_and_written(window):
    from sitterlight.shading.resolve_lights import resolve_lights
    from sitterlight.viewer.light_offers import NEAR_LAMPS, NEW_LIGHTS

    window.model.open(SITTING)
    actions = [action for action in window.lights.add.menu().actions() if action.menu() is None]
    near = next(action.menu() for action in window.lights.add.menu().actions() if action.menu() is not None)
    assert [action.text() for action in (*actions, *near.actions())] == [
        words for words, _ in (*NEW_LIGHTS, *NEAR_LAMPS)
    ]
    for action in (*actions, *near.actions()):
        action.trigger()
    sitting = window.model.sitting
    assert len(sitting.lights) == 2 + len(NEW_LIGHTS) + len(NEAR_LAMPS)
    assert len({light.name for light in sitting.lights}) == len(sitting.lights)
    assert from_dict(to_dict(sitting)) == sitting
    assert len(resolve_lights(sitting)) >= len(sitting.lights)


def test_every_colour_on_offer_is_a_spectrum():
    from sitterlight.illuminants.catalogue import spectrum
    from sitterlight.viewer.light_offers import LAMP_SPECTRA, SKY_SPECTRA

    assert all(spectrum(name).power.sum() > 0 for name, _ in LAMP_SPECTRA)
    assert all(spectrum(name, role="sky").power.sum() > 0 for name, _ in SKY_SPECTRA if name != "auto")


@pytest.mark.parametrize("name", ["ground", "walls", "clothes"])
def test_what_returns_light_may_be_a_file(window, monkeypatch, tmp_path, name):
    from PyQt6.QtWidgets import QFileDialog

    window.model.open(SITTING)
    path = tmp_path / "cloth.csv"
    path.write_text("400,0.1\n700,0.4\n", encoding="utf-8")
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: ("", ""))
    window.eye.returns[name].chosen.emit("file")
    assert window.model.sitting.surround == SurroundSetting()
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(path), ""))
    window.eye.returns[name].chosen.emit("file")
    assert getattr(window.model.sitting.surround, name) == str(path)
    window.model.undo()


def test_the_day_plan_opens_from_the_light(window, editor):
    editor("day").plan_button.click()
    assert window.day_plan.isVisible()
    window.day_plan.close()


def test_what_each_light_gives_and_adds_is_shown(window, qtbot):
    """Shares, stops from key to fill, and each light alone on the chosen plane; chips in order of their light."""
    key = LampLight(name="key", azimuth=-40, elevation=20, illuminance=800)
    fill = LampLight(name="fill", azimuth=40, elevation=10, spectrum="6500 K", illuminance=200)
    sitting = replace(SITTING, lights=(key, fill), surround=SurroundSetting(ground=0.0))
    window.model.open(sitting)
    qtbot.waitUntil(
        lambda: window.lit is not None and window.lit.sitting == sitting and window.lit.has("light_mix"), timeout=60_000
    )
    qtbot.waitUntil(
        lambda: "Key light on the head: key. Below it, in stops: fill 2" in window.lights.sum.text(), timeout=5000
    )
    assert "at the white card (" in window.lights.rows["fill"].toolTip()
    assert "stops below the key light" in window.lights.rows["fill"].toolTip()
    front = max(range(len(window.lit.rows)), key=lambda k: window.lit.rows[k].normal[2])
    window.model.choose(front)
    alone = window.why.alone
    qtbot.waitUntil(lambda: not alone.isHidden(), timeout=5000)
    shown = [words.text().split("\n")[0] for words in alone.words if not words.isHidden()]
    assert shown[:2] == ["key", "fill"]
    added = window.lit.light_mix.added
    assert sum(XYZ[front] for XYZ in added.values()) == pytest.approx(window.lit.rows[front].XYZ, rel=1e-3)
    window.model.saved = window.model.sitting
