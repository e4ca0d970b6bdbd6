"""What the window asks is forgotten once it is answered, with all that it was about."""

from __future__ import annotations

import pytest
import trimesh
from window_driver import BALL

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")


def _a_mesh(window, qtbot, tmp_path):
    trimesh.creation.torus(10, 4, major_sections=24, minor_sections=12).export(tmp_path / "ring.stl")
    window.files.take(tmp_path / "ring.stl")
    qtbot.waitUntil(lambda: window.files.asking.question is not None, timeout=60_000)
    window.files.asking.question.reject()


def _about(window, _qtbot, _folder):
    window.actions_by_name["about"].trigger()


def _a_printer(window, _qtbot, _folder):
    from sitterlight.viewer.printing import ask_printer

    assert ask_printer(window) is None


def _a_file_changed_by_others(window, _qtbot, _folder):
    from sitterlight.viewer.files import ask_save_over

    assert ask_save_over(window, "noon.toml") is None


def _a_work_that_goes_on(window, _qtbot, _folder):
    from sitterlight.viewer.closing import may_stop

    assert not may_stop(window, "It goes on.", "It would be lost.", lambda: True)


@pytest.mark.parametrize("ask", [_a_mesh, _about, _a_printer, _a_file_changed_by_others, _a_work_that_goes_on])
def test_a_question_that_was_answered_is_gone(shown, qtbot, qapp, tmp_path, ask):
    from PyQt6.QtCore import QTimer
    from PyQt6.QtWidgets import QDialog

    window = shown(BALL)
    before, seen = window.findChildren(QDialog), []

    def answer() -> None:
        box = qapp.activeModalWidget()
        if box is not None:
            seen.append(box)
            box.reject()

    answering = QTimer()
    answering.timeout.connect(answer)
    if ask is not _a_mesh:
        answering.start(100)
    ask(window, qtbot, tmp_path)
    answering.stop()
    qtbot.waitUntil(lambda: window.findChildren(QDialog) == before, timeout=10_000)
    assert seen or ask is _a_mesh
