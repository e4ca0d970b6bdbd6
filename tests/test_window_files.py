"""The real window: opening, saving, dragging in, what was changed, what is remembered; a fault is a sentence."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest
from window_driver import BALL, PATIENCE

from sitterlight.shading.sitting import with_lights, with_skin

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")


def test_saving_opening_and_recent_files(shown, tmp_path):
    from sitterlight.viewer.memory import recent_files

    window = shown(BALL)
    window.model.change(with_skin(BALL, ladder=9), "skin")
    assert window.isWindowModified()
    path = tmp_path / "mine.toml"
    assert window.files.save_as(path) and not window.isWindowModified()
    window.model.open(BALL)
    window.files.take(path)
    assert window.model.sitting.skin.ladder == 9 and window.model.path == path
    assert recent_files()[0] == path


def test_a_saved_sitting_names_the_files_beside_it_and_stays_as_it_is_shown(shown, tmp_path):
    from sitterlight.shading.sitting_file import read_sitting

    window, spectrum = shown(BALL), tmp_path / "Haut 肌.csv"
    spectrum.write_text("\n".join(f"{nm},0.3" for nm in range(400, 701, 10)), encoding="utf-8")
    window.files.take(spectrum)
    shown(until="lit")
    window.model.choose(1)
    assert window.files.save_as(tmp_path / "mine.toml")
    assert window.model.sitting.skin.reflectance == spectrum.name
    assert window.model.sitting == read_sitting(tmp_path / "mine.toml") and window.model.chosen == 1
    assert not window.isWindowModified() and not window.model.changed
    (tmp_path / "sub").mkdir()
    assert window.files.save_as(tmp_path / "sub" / "other.toml")
    assert window.model.sitting.skin.reflectance == f"../{spectrum.name}"
    shown(until="lit")
    assert window.lit.sitting == window.model.sitting
    window.model.undo()
    assert window.model.sitting.skin == BALL.skin
    window.model.redo()
    assert window.model.sitting.skin.reflectance == f"../{spectrum.name}" and not window.model.changed


def test_a_sitting_opened_from_the_shell_is_saved_back(qtbot, scratch, tmp_path, monkeypatch):
    from PyQt6.QtWidgets import QApplication

    from sitterlight.shading.sitting_file import read_sitting, write_sitting
    from sitterlight.viewer import command, window

    path, opened = tmp_path / "mine.toml", []
    write_sitting(BALL, path)
    assert (
        command.file_of(str(path)) == path and command.file_of("open-shade") is None and command.file_of(None) is None
    )

    def use_it(_app) -> int:
        shown = next(w for w in QApplication.topLevelWidgets() if getattr(w, "model", None) and w.model.path == path)
        shown.model.change(with_skin(shown.model.sitting, ladder=9), "skin")
        opened.append(shown.files.save())
        shown.close()
        return 0

    monkeypatch.setattr(QApplication, "exec", use_it)
    assert window.open_window(read_sitting(path), command.file_of(str(path))) == 0
    assert opened == [True] and read_sitting(path).skin.ladder == 9


def test_unsaved_changes_are_asked_about(shown, monkeypatch):
    from PyQt6.QtWidgets import QMessageBox

    window, asked = shown(BALL), []

    def answer(*_args):
        asked.append(1)
        return QMessageBox.StandardButton.Cancel

    monkeypatch.setattr(QMessageBox, "question", answer)
    assert window.files.may_leave() and not asked
    window.model.change(with_skin(BALL, ladder=9), "skin")
    assert not window.files.may_leave() and asked
    assert not window.close() and window.isVisible()


def _drop(window, target, path: Path):
    """Drag a file over `target` and let it go; as in Qt, what takes no drops leaves them to its parent."""
    from PyQt6.QtCore import QMimeData, QPointF, Qt, QUrl
    from PyQt6.QtGui import QDragEnterEvent, QDropEvent
    from PyQt6.QtWidgets import QApplication

    while not target.acceptDrops():
        target = target.parentWidget()
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    none = Qt.KeyboardModifier.NoModifier
    rest = (Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, none)
    enter = QDragEnterEvent(QPointF(9, 9).toPoint(), *rest)
    QApplication.sendEvent(target, enter)
    assert target is window and enter.isAccepted()
    QApplication.sendEvent(target, QDropEvent(QPointF(9, 9), *rest))


def test_a_file_dropped_on_the_head_is_taken_in_by_the_window(shown, tmp_path):
    from sitterlight.shading.sitting_file import write_sitting

    window = shown(BALL)
    write_sitting(with_skin(BALL, ladder=7), tmp_path / "dropped.toml")
    _drop(window, window.stages.first.plotter, tmp_path / "dropped.toml")
    assert window.model.sitting.skin.ladder == 7
    spectrum = tmp_path / "skin.csv"
    spectrum.write_text("\n".join(f"{nm},0.3" for nm in range(400, 701, 10)), encoding="utf-8")
    _drop(window, window.stages.first.plotter, spectrum)
    assert Path(window.model.sitting.skin.reflectance) == spectrum


def test_while_a_head_is_made_of_a_mesh_it_is_said(shown, tmp_path):
    from sitterlight.meshes.library import load_head

    window, cube, path = shown(BALL), load_head("cube"), tmp_path / "box.obj"
    lines = [f"v {x} {y} {z}" for x, y, z in cube.vertices] + [f"f {a} {b} {c}" for a, b, c in cube.faces + 1]
    path.write_text("\n".join(lines) + "\n")
    window.files.asking.taken.emit(str(path), "mm", "+y", "+z")
    assert window.stages.words.text() == "Making a head of box.obj: mending it, finding its planes …"
    shown(until="lit")
    assert window.lit.head.name == "box" and "Making" not in window.stages.words.text()


def test_a_bad_file_is_a_sentence_in_the_window(shown, tmp_path):
    window = shown(BALL)
    bad = tmp_path / "bad.toml"
    bad.write_text('format = "sitterlight/1"\n[skin]\nladder = 40\n', encoding="utf-8")
    window.files.take(bad)
    assert "ladder" in window.stages.words.text() and window.model.sitting == BALL
    window.files.take(tmp_path / "odd.xyz")
    assert "odd.xyz" in window.stages.words.text()


def test_a_sitting_that_cannot_be_lit_is_a_sentence_and_undo_brings_it_back(shown, qtbot):
    window = shown(BALL)
    dark = with_lights(BALL, *(replace(light, on=False) for light in BALL.lights))
    window.model.change(dark, "all off")
    qtbot.waitUntil(lambda: "No light is on" in window.stages.words.text(), timeout=PATIENCE)
    window.model.undo()
    shown(until="rest")
    assert window.lit.sitting == BALL and "No light" not in window.stages.words.text()


def test_the_title_can_be_changed_and_undone(shown, monkeypatch):
    from PyQt6.QtWidgets import QInputDialog

    window = shown(BALL)
    monkeypatch.setattr(QInputDialog, "getText", lambda *_args, **_named: ("Another name", True))
    window.actions_by_name["title"].trigger()
    assert window.model.sitting.title == "Another name" and "Another name" in window.windowTitle()
    window.model.undo()
    assert window.model.sitting == BALL


def test_the_window_remembers(shown, tmp_path):
    from sitterlight.viewer.memory import settings
    from sitterlight.viewer.window import last_sitting

    window = shown(BALL)
    window.files.save_as(tmp_path / "last.toml")
    window.files.remember_last()
    sitting, path = last_sitting()
    assert sitting == window.model.sitting and path == tmp_path / "last.toml"
    assert Path(settings().fileName()).parent == Path(os.environ["SITTERLIGHT_SETTINGS"])
