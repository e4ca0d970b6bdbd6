"""What the window remembers: whatever stands in its file the window opens, and two keep what the other wrote."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("PyQt6.QtCore")
pytest.importorskip("hypothesis", reason="the test extra is not installed")

from hostile.damage import anything
from hypothesis import HealthCheck, given
from hypothesis import settings as profile
from hypothesis import strategies as st
from PyQt6.QtCore import QByteArray

from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sitting_file import write_sitting
from sitterlight.shading.sittings import built_in
from sitterlight.viewer.memory import recent_files, remember_file, settings
from sitterlight.viewer.window import FIRST_SITTING, last_sitting

_VALUES = st.recursive(
    st.one_of(
        st.none(), st.booleans(), st.integers(), st.text(max_size=20), st.sampled_from(("/", "/dev/zero", "a\0b"))
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=2),
    max_leaves=4,
)
_NAMES = ("recent", "last_file", "last_built_in", "surround", "geometry", "docks", "first_steps", "else")
_FILES = st.dictionaries(st.sampled_from(_NAMES), _VALUES).map(lambda kept: json.dumps(kept).encode())


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("SITTERLIGHT_SETTINGS", str(tmp_path / "settings"))
    return tmp_path / "settings"


@profile(max_examples=1000, deadline=None, database=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(content=anything(_FILES))
def test_whatever_stands_in_the_file_the_window_can_open(folder, content):
    folder.mkdir(exist_ok=True)
    (folder / "window.json").write_bytes(content)
    sitting, path = last_sitting()
    assert isinstance(sitting, Sitting)
    assert path is None
    assert recent_files() == []
    kept = settings()
    assert isinstance(kept.value("surround", ""), str)
    assert isinstance(kept.value("geometry", QByteArray()), QByteArray)
    assert all(isinstance(step, str) for step in kept.value("first_steps", []))
    kept.setValue("surround", "darker")
    assert settings().value("surround") == "darker"


def test_values_come_back(folder, tmp_path):
    kept = settings()
    kept.setValue("geometry", QByteArray(b"\0\xff\1"))
    kept.setValue("first_steps", ["one"])
    kept.setValue("last_file", "ä 像.toml")
    again = settings()
    assert bytes(again.value("geometry")) == b"\0\xff\1"
    assert again.value("first_steps") == ["one"]
    assert again.value("last_file") == "ä 像.toml"
    assert again.contains("geometry") and not again.contains("docks")
    write_sitting(built_in(), tmp_path / "a.toml")
    write_sitting(built_in(), tmp_path / "b.toml")
    remember_file(tmp_path / "a.toml")
    remember_file(tmp_path / "b.toml")
    remember_file(tmp_path / "a.toml")
    assert [path.name for path in recent_files()] == ["a.toml", "b.toml"]


def test_a_last_file_that_is_gone_or_broken_gives_the_first_sitting(folder, tmp_path):
    settings().setValue("last_file", str(tmp_path / "gone.toml"))
    assert last_sitting() == (built_in(FIRST_SITTING), None)
    (tmp_path / "gone.toml").write_text("no sitting")
    assert last_sitting() == (built_in(FIRST_SITTING), None)


def test_where_nothing_can_be_written_it_is_remembered_until_the_end(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("SITTERLIGHT_SETTINGS", str(tmp_path / "file" / "deeper"))
    settings().setValue("surround", "lighter")
    assert settings().value("surround") == "lighter"


PROGRAM = """
import sys
from sitterlight.viewer.memory import settings
for number in range(60):
    settings().setValue(sys.argv[1], str(number))
"""


def test_two_windows_at_once_leave_a_whole_file(folder):
    environment = {**os.environ, "SITTERLIGHT_SETTINGS": str(folder)}
    both = [subprocess.Popen([sys.executable, "-c", PROGRAM, name], env=environment) for name in ("one", "other")]
    assert [window.wait() for window in both] == [0, 0]
    settings().setValue("third", "x")
    assert settings().value("third") == "x"
    assert settings().value("one") == settings().value("other") == "59"
    assert sorted(path.name for path in folder.iterdir()) == ["window.json", "window.lock"]


RECENT = """
import sys
from pathlib import Path
from sitterlight.viewer.memory import remember_file
for number in range(4):
    remember_file(Path(sys.argv[1], f"{sys.argv[2]}-{number}.toml"))
"""


def test_two_windows_at_once_lose_no_recent_file(folder, tmp_path):
    environment = {**os.environ, "SITTERLIGHT_SETTINGS": str(folder)}
    command = [sys.executable, "-c", RECENT, str(tmp_path)]
    both = [subprocess.Popen([*command, name], env=environment) for name in ("one", "other")]
    assert [window.wait() for window in both] == [0, 0]
    names = sorted(Path(name).name for name in settings().value("recent"))
    assert names == [f"{who}-{number}.toml" for who in ("one", "other") for number in range(4)]
