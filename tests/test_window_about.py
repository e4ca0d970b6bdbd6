"""The real window: its about box says where the log is, and a fault that nobody caught is written and said."""

from __future__ import annotations

import os
import sys
import threading

import pytest

from sitterlight.shading.sitting import HeadSetting, LampLight, Sitting

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")

BALL = Sitting(title="A ball", head=HeadSetting(mesh="sphere"), lights=(LampLight(),))


@pytest.fixture
def window(tmp_path, monkeypatch, qtbot):
    monkeypatch.setenv("SITTERLIGHT_SETTINGS", str(tmp_path / "settings"))
    monkeypatch.setenv("SITTERLIGHT_LOG", str(tmp_path / "log"))
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    monkeypatch.setattr(threading, "excepthook", threading.excepthook)
    from sitterlight.viewer import log
    from sitterlight.viewer.main_window import Window, make_application
    from sitterlight.viewer.model import Model

    log.end()
    make_application()
    window = Window(Model(BALL))
    window.show()
    yield window
    window.close()
    log.end()


def test_about_and_faults(window, qtbot, tmp_path, capsys):
    from sitterlight.viewer.about import Watch, about_box

    written = tmp_path / "log" / "sitterlight.log"
    assert str(written) in about_box(window).text()
    assert "about" in window.actions_by_name
    Watch(window)
    said = []
    window.stages.say = said.append
    thread = threading.Thread(target=lambda: {}["maria"])
    thread.start()
    thread.join()
    qtbot.waitUntil(lambda: "OpenGL: vendor" in written.read_text(encoding="utf-8"), timeout=60_000)
    text = written.read_text(encoding="utf-8")
    assert "fault: KeyError" in text
    assert "maria" not in text
    assert os.path.expanduser("~") not in text
    assert "maria" in capsys.readouterr().err
