"""What the robot (python -m tests.robot) found, case by case, and a short run of it over the real window."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from window_driver import BALL

from sitterlight.shading.sitting import with_lights, with_skin

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")

ROOT = Path(__file__).resolve().parents[1]
SEED, STEPS = 5, 25


def test_a_short_run_of_the_robot(scratch, qapp):
    """Bounded by steps, so that a slow machine does no less; the clock is a last resort."""
    qapp.clipboard().clear()  # or the robot would ask this process, which waits for it, for what it holds
    command = [sys.executable, "-m", "tests.robot", "--seed", str(SEED), "--steps", str(STEPS), "--minutes", "3"]
    done = subprocess.run(command, cwd=ROOT, env=os.environ, capture_output=True, text=True, timeout=600)
    assert done.returncode == 0, done.stdout + done.stderr
    assert f" {STEPS} steps in " in done.stdout


@pytest.fixture
def spectrum(tmp_path) -> Path:
    path = tmp_path / "mine.csv"
    path.write_text("\n".join(f"{nm},0.3" for nm in range(400, 701, 10)), encoding="utf-8")
    return path


def test_sliders_of_the_skin_stay_within_what_a_sitting_may_hold(shown):
    """Seed 1: scattering and veil of 0, which no sitting may hold and no file be written with."""
    from sitterlight.shading.sitting_file import to_toml

    window = shown(BALL)
    for named in window.sitter.amounts.values():
        for end in (named.slider.minimum(), named.slider.maximum()):
            named.slider.setValue(end)
            to_toml(window.model.sitting)


def test_a_damaged_spectrum_leaves_the_sitting_as_it_is(shown, monkeypatch, tmp_path):
    """Seed 1: it became the skin, and nothing could be lit or written any more."""
    from PyQt6.QtWidgets import QFileDialog

    window, bad = shown(BALL), tmp_path / "damaged.csv"
    bad.write_bytes(b"400,0.3\n\0\xff")
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_args, **_named: (str(bad), ""))
    for take in (
        lambda: window.files.take(bad),
        window.sitter.ask_spectrum,
        lambda: window.lights.editor.spectrum_box.chosen.emit("file"),
        lambda: window.eye._returns("ground", "file"),
    ):
        window.stages.say("")
        take()
        assert "damaged.csv" in window.stages.words.text()
        assert window.model.sitting == BALL and not window.model.changed


def test_a_sound_spectrum_is_taken_everywhere(shown, monkeypatch, spectrum):
    from PyQt6.QtWidgets import QFileDialog

    window = shown(BALL)
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_args, **_named: (str(spectrum), ""))
    window.sitter.ask_spectrum()
    window.lights.editor.spectrum_box.chosen.emit("file")
    window.eye._returns("ground", "file")
    sitting = window.model.sitting
    assert sitting.skin.reflectance == sitting.surround.ground == str(spectrum)
    assert str(spectrum) in [light.spectrum for light in sitting.lights]
    shown(BALL)


def test_amounts_of_a_skin_whose_file_has_gone(shown, qtbot, spectrum):
    """By reading, while the seeds ran: the slider raised."""
    window = shown(with_skin(BALL, reflectance=str(spectrum)))
    spectrum.unlink()
    before = window.model.sitting
    window.sitter.amounts["melanin"].slider.setValue(900)
    assert window.model.sitting == before and "mine.csv" in window.stages.words.text()
    shown(BALL)


def test_a_damaged_sitting_is_named_once(shown, tmp_path):
    """Seed 1: its path stood in the sentence after its name."""
    window, path = shown(BALL), tmp_path / "bad one.toml"
    path.write_bytes(b"\xff\xfe\0")
    window.files.take(path)
    assert window.stages.words.text().count("bad one.toml") == 1


def test_a_plane_chosen_between_two_lights_is_told_by_the_light_its_row_is_of(shown):
    """Seed 2: one of the lights (there, the walls) just taken away, the row still told of it."""
    window = shown(BALL, until="counted")
    window.model.choose(0)
    window.model.change(with_lights(BALL, BALL.lights[0]), "no sky")
    lit_before = window.lit
    window.background.answered.connect(answered := lambda _answer: window.model.choose(1))
    shown(until="lit")
    window.background.answered.disconnect(answered)
    assert window.lit is not lit_before
    shown(until="rest")


def test_what_was_being_typed_for_one_light_does_not_reach_another(shown):
    """Seed 2: hiding the old controls sent what stood in them to the light chosen next, of another kind."""
    from PyQt6.QtTest import QTest

    from sitterlight.shading.sitting import DaylightLight, WindowLight

    lights = (WindowLight(name="window"), DaylightLight(name="day"), BALL.lights[0])
    window = shown(with_lights(BALL, *lights))
    for typed, name in (("window", "day"), ("day", "window"), ("lamp", "day")):
        window.lights.choose(typed)
        before, editor = window.model.sitting, window.lights.editor
        box = editor.offset_box if typed == "day" else editor.azimuth_box
        box.setFocus()
        QTest.keyClicks(box.lineEdit(), "7")
        window.lights.choose(name)
        assert window.model.sitting.lights[[light.name for light in before.lights].index(name)] in before.lights
    shown(BALL)


def test_the_hour_stays_within_the_years_a_sitting_may_hold(shown):
    """Seed 6: the year 3000 and more, with which no sitting can be saved."""
    from PyQt6.QtCore import QDate

    from sitterlight.shading.sitting import DaylightLight
    from sitterlight.shading.sitting_file import to_toml

    window = shown(with_lights(BALL, DaylightLight(name="day")))
    box = window.lights.editor.hour_box
    for year in (1800, 9000):
        box.setDate(QDate(year, 1, 1))
        to_toml(window.model.sitting)
    shown(BALL)


def test_the_planes_of_a_day_where_the_head_has_gone(shown, monkeypatch, tmp_path):
    """Seed 7: the button raised. While the head is on the stage its planes are known; else it is said."""
    import trimesh

    from sitterlight.shading.sitting import DaylightLight, with_head

    trimesh.creation.box((150, 200, 170)).export(tmp_path / "box.ply")
    sitting = with_head(with_lights(BALL, DaylightLight(name="day")), mesh=str(tmp_path / "box.ply"))
    window = shown(sitting, until="rest")
    window.show_day_plan()
    (tmp_path / "box.ply").unlink()
    window.day_plan._offer_planes()
    assert window.day_plan.planes.list.count() > 1 and "box.ply" not in window.stages.words.text()
    with monkeypatch.context() as nothing_lit:
        nothing_lit.setattr(window, "lit", None)
        window.day_plan._offer_planes()
    assert "box.ply" in window.stages.words.text()
    window.day_plan.close()
    shown(BALL)
