"""The real window, killed while something was being edited, offers it when it is opened again; two don't fight."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from window_driver import BALL, PATIENCE

from sitterlight.shading.sitting import with_lights, with_skin
from sitterlight.shading.sitting_file import read_sitting, to_toml, write_sitting

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")

EDITING = """
import sys
from pathlib import Path
from PyQt6.QtCore import QTimer
from sitterlight.shading.sitting import with_skin
from sitterlight.shading.sitting_file import read_sitting, write_sitting
from sitterlight.viewer import main_window
from sitterlight.viewer.window import open_window

path, edited, ladder = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])

class Window(main_window.Window):
    def show(self):
        super().show()
        QTimer.singleShot(0, self.edit)

    def edit(self):
        self.model.hold(with_skin(self.model.sitting, ladder=10 - ladder))
        self.model.change(with_skin(self.model.sitting, ladder=ladder), "skin")
        write_sitting(self.model.sitting, edited)
        self.recovering._timer.timeout.connect(
            lambda: self.recovering._writer.submit(lambda: print("kept", flush=True)))

main_window.Window = Window
open_window(read_sitting(path), path)
"""

RETURNING = """
import sys
from pathlib import Path
from PyQt6.QtCore import QTimer
from sitterlight.shading.sitting_file import read_sitting
from sitterlight.viewer import main_window
from sitterlight.viewer.window import open_window

other, mine, edited = map(Path, sys.argv[1:])

class Window(main_window.Window):
    def show(self):
        super().show()
        QTimer.singleShot(300, self.bring)

    def bring(self):
        offer = self.recovering.offer
        if not offer.isVisible():
            QTimer.singleShot(200, self.bring)
            return
        assert mine.name in offer.words.text(), offer.words.text()
        print(len(offer.left), flush=True)
        offer.bring.click() if len(offer.left) == 1 else offer.menu.actions()[0].trigger()
        model = self.model
        assert model.changed and model.path == mine and model.sitting == read_sitting(edited)
        assert model.state.held.skin.ladder == 10 - model.sitting.skin.ladder and self.stages.second.isVisible()
        assert self.files.save() and read_sitting(mine) == read_sitting(edited) and not model.changed
        self.close()

main_window.Window = Window
open_window(read_sitting(other), None)
"""


@pytest.fixture
def environment(tmp_path, monkeypatch) -> dict[str, str]:
    return {**os.environ, "SITTERLIGHT_SETTINGS": str(tmp_path / "settings")}


def _edit(environment, path: Path, edited: Path, ladder: int) -> subprocess.Popen:
    command = [sys.executable, "-c", EDITING, str(path), str(edited), str(ladder)]
    editor = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    assert editor.stdout.readline() == "kept\n"
    return editor


def test_a_killed_window_loses_nothing_and_two_dont_fight(environment, tmp_path):
    path, edited, folder = tmp_path / "mine.toml", tmp_path / "edited.toml", tmp_path / "settings" / "unsaved"
    for name in ("mine", "other"):
        write_sitting(replace(BALL, title=name), tmp_path / f"{name}.toml")
    going_on = _edit(environment, tmp_path / "other.toml", tmp_path / "edited other.toml", 2)
    editor = _edit(environment, path, edited, 8)
    assert len(list(folder.glob("*.json"))) == 2
    editor.send_signal(signal.SIGKILL)
    editor.wait()
    editor.stdout.close()
    returning = subprocess.run(
        [sys.executable, "-c", RETURNING, str(tmp_path / "other.toml"), str(path), str(edited)],
        capture_output=True,
        text=True,
        env=environment,
        timeout=PATIENCE / 200,
    )
    assert returning.stdout == "1\n", returning.stderr
    assert returning.returncode == 0, returning.stderr
    assert read_sitting(path).skin.ladder == 8
    # What belongs to the window that goes on is still there, and nothing else.
    assert going_on.poll() is None and len(list(folder.glob("*.json"))) == 1
    going_on.kill()
    going_on.wait()
    going_on.stdout.close()


@pytest.fixture
def recovering(shown, tmp_path, monkeypatch):
    window = shown(BALL)
    monkeypatch.setenv("SITTERLIGHT_SETTINGS", str(tmp_path))
    window.recovering._timer.stop()
    window.recovering._writer.submit(window.recovering.recovery.end).result()  # its file lay in another folder
    yield window.recovering
    window.recovering.recovery.end()
    window.recovering.offer.end()
    window.recovering.offer.show_left([])


def _leave_behind(*titles: str) -> None:
    from sitterlight.viewer.recovery import Recovery

    for title in titles:
        one = Recovery()
        assert one.keep(replace(with_skin(BALL, ladder=7), title=title), None)
        one._lock.let_go()


def test_several_are_listed_and_what_is_not_wanted_goes(recovering, qtbot, tmp_path):
    _leave_behind("First", "Second")
    recovering.look()
    offer = recovering.offer
    assert offer.isVisible() and "“First”" in offer.words.text() and "“Second”" in offer.words.text()
    assert len(offer.menu.actions()) == 2
    chosen = next(action for action in offer.menu.actions() if "Second" in action.text())
    chosen.trigger()
    model = recovering.model
    assert model.sitting.title == "Second" and model.changed and model.path is None
    assert "“First”" in offer.words.text() and offer.bring.menu() is None
    offer.leave.click()
    assert not offer.isVisible()
    qtbot.waitUntil(lambda: len(list((tmp_path / "unsaved").glob("*.json"))) == 1, timeout=PATIENCE // 8)
    model.saved = model.sitting


def test_nothing_is_kept_of_what_is_saved(recovering, qtbot, tmp_path):
    model, kept = recovering.model, tmp_path / "unsaved"
    model.change(with_skin(BALL, ladder=8), "skin")
    qtbot.waitUntil(lambda: len(list(kept.glob("*.json"))) == 1, timeout=PATIENCE // 8)
    model.undo()
    qtbot.waitUntil(lambda: not list(kept.glob("*.json")), timeout=PATIENCE // 8)


def test_what_is_held_beside_is_kept_where_the_sitting_itself_is_saved(recovering, qtbot, tmp_path):
    from sitterlight.viewer.recovery import left_unsaved

    model, kept = recovering.model, tmp_path / "unsaved"
    model.hold(model.sitting)
    recovering.keep()
    recovering._writer.submit(lambda: None).result()
    assert not list(kept.glob("*.json"))
    model.hold(with_skin(BALL, ladder=8))
    qtbot.waitUntil(lambda: len(list(kept.glob("*.json"))) == 1, timeout=PATIENCE // 8)
    recovering.recovery._lock.let_go()
    (found,) = left_unsaved()
    assert found.sitting == BALL and found.beside == with_skin(BALL, ladder=8)
    recovering.offer.show_left([found])
    assert "with “A ball” beside it" in recovering.offer.words.text()
    recovering.offer.bring.click()
    assert model.sitting == BALL and model.state.held == with_skin(BALL, ladder=8) and model.changed
    model.hold(None)
    model.saved = model.sitting


# ---- files that change, vanish, or cannot be written


@pytest.fixture
def answered(monkeypatch):
    """What is asked about a file that others have changed, and the answer given."""
    from sitterlight.viewer import files

    asked: list[str] = []

    def answer_with(answer):
        monkeypatch.setattr(files, "ask_save_over", lambda _parent, name: (asked.append(name), answer)[1])
        return asked

    return answer_with


def test_saving_over_what_others_changed_asks_first(shown, tmp_path, answered, monkeypatch):
    from PyQt6.QtWidgets import QFileDialog

    from sitterlight.viewer import files

    window, path, elsewhere = shown(), tmp_path / "mine.toml", tmp_path / "elsewhere.toml"
    write_sitting(BALL, path)
    assert window.files.open(path)
    asked = answered(None)
    window.model.change(with_skin(window.model.sitting, ladder=8), "skin")
    assert window.files.save() and window.files.save() and asked == []
    write_sitting(replace(BALL, title="theirs"), path)
    window.model.change(with_skin(window.model.sitting, ladder=6), "skin")
    assert not window.files.save() and asked == ["mine.toml"] and read_sitting(path).title == "theirs"
    assert window.model.changed
    answered(files.ELSEWHERE)
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_named: (str(elsewhere), ""))
    assert window.files.save() and read_sitting(elsewhere).skin.ladder == 6 and read_sitting(path).title == "theirs"
    assert window.model.path == elsewhere
    elsewhere.write_bytes(b"theirs")
    answered(files.OVER)
    assert window.files.save() and read_sitting(elsewhere).skin.ladder == 6
    elsewhere.unlink()
    asked.clear()
    assert window.files.save() and asked == [] and elsewhere.exists()


def test_the_question_can_be_answered_three_ways(shown, qtbot):
    from PyQt6.QtCore import QTimer
    from PyQt6.QtWidgets import QApplication

    from sitterlight.viewer import files

    window, answers = shown(), []

    def press(number: int) -> None:
        box = QApplication.activeModalWidget()
        assert "a.toml" in box.text()
        box.buttons()[[button.text() for button in box.buttons()].index(words[number])].click()

    words = [files.OVER, files.ELSEWHERE, "Cancel"]
    for number in range(3):
        QTimer.singleShot(100, lambda number=number: press(number))
        answers.append(files.ask_save_over(window, "a.toml"))
    assert answers == [files.OVER, files.ELSEWHERE, None]


def test_a_full_disk_is_a_sentence_and_loses_nothing(shown, tmp_path, monkeypatch):
    window, path = shown(), tmp_path / "mine.toml"
    write_sitting(BALL, path)
    assert window.files.open(path)
    window.model.change(with_skin(window.model.sitting, ladder=8), "skin")

    def full(_file):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        assert not window.files.save()
    assert "the disk is full" in window.stages.words.text() and "mine.toml" in window.stages.words.text()
    assert window.model.changed and read_sitting(path).skin.ladder == 4
    assert list(tmp_path.iterdir()) == [path]
    assert window.files.save() and read_sitting(path).skin.ladder == 8


@pytest.mark.parametrize("what", ["reflectance", "mesh", "spectrum"])
def test_what_a_sitting_refers_to_is_taken_away(shown, qtbot, tmp_path, what):
    import trimesh

    rows = "\n".join(f"{nm},0.3" for nm in range(400, 701, 10))
    lamp = replace(BALL.lights[0], spectrum=str(tmp_path / "spectrum.csv"))
    sittings = {
        "reflectance": with_skin(BALL, reflectance=str(tmp_path / "reflectance.csv")),
        "spectrum": with_lights(BALL, lamp),
        "mesh": replace(BALL, head=replace(BALL.head, mesh=str(tmp_path / "mesh.ply"))),
    }
    file = tmp_path / ("mesh.ply" if what == "mesh" else f"{what}.csv")
    if what == "mesh":
        trimesh.creation.icosphere(2, 100).export(file)
    else:
        file.write_text(rows, encoding="utf-8")
    window = shown(sittings[what])
    shown(until="rest")
    stage = window.stages.first
    lit, looks = stage.lit, stage.drawing.looks
    file.unlink()
    window.model.change(replace(sittings[what], surround=replace(BALL.surround, ground=0.6)), "ground")
    qtbot.waitUntil(lambda: file.name in window.stages.words.text() or not window.background.is_busy, timeout=PATIENCE)
    qtbot.wait(300)
    assert file.name in window.stages.words.text()
    assert stage.lit is lit and stage.drawing.looks is looks
    assert window.files.save_as(tmp_path / "kept.toml")
    assert to_toml(read_sitting(tmp_path / "kept.toml"))
    window.model.undo()
    shown(BALL)


def test_a_field_that_is_left_as_the_window_closes_does_no_harm(shown, recovering):
    from sitterlight.viewer.recovering import Recovering

    window = recovering.window
    other = Recovering(window)
    other.end()
    window.model.change(with_skin(BALL, ladder=8), "skin")
    assert not other._timer.isActive()
    window.model.saved = window.model.sitting
