"""The log holds what a bug report needs and nothing private."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from sitterlight.viewer import command, log


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder for the log, which is closed in the end."""
    monkeypatch.setenv("SITTERLIGHT_LOG", str(tmp_path / "log"))
    log.end()
    yield tmp_path / "log"
    log.end()


def written(folder: Path) -> str:
    return (folder / "sitterlight.log").read_text(encoding="utf-8")


def test_it_begins_with_versions_and_machine(folder):
    assert log.begin() == folder / "sitterlight.log"
    log.begin()
    text = written(folder)
    assert text.count("\n") == 1
    for part in ("sitterlight ", "numpy ", "PyQt6 ", "Python 3.", "cores", "UTC", "DISPLAY"):
        assert part in text
    assert re.match(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d{4} begun: ", text)


def test_a_fault_says_where_in_the_code_and_nothing_of_what_with(folder):
    from sitterlight.shading.sitting_file import read_sitting

    log.begin()
    with pytest.raises(ValueError) as caught:
        read_sitting("/home/maria muster/Portrait of Anna.toml")
    log.fault(caught.value)
    text = written(folder)
    assert "SittingError" in text
    assert re.search(r"shading/sitting_file\.py:\d+ read_sitting", text)
    for word in ("maria", "muster", "Anna", "Portrait", str(Path.home()), "/home"):
        assert word not in text


@pytest.mark.parametrize(
    "sentence",
    [
        "/home/maria/a.toml: skin.ladder is 12",
        "C:\\Users\\maria\\a.toml: no",
        'title is "maria"; allowed is less',
        "there is no 'maria' here",
        "maria.csv: line 3",
        "~/maria/b c/maria.csv: line 3: wrong",
        'an open quote: "maria',
    ],
)
def test_private_words_are_left_out(sentence):
    assert "maria" not in log.without_what_is_private(sentence)
    assert "12" not in log.without_what_is_private(sentence)


def test_plain_words_stay():
    assert log.without_what_is_private("division by zero") == "division by zero"


def test_it_stays_short(folder):
    log.begin()
    for _ in range(1000):
        log.note("x" * 900)
    assert sorted(path.name for path in folder.iterdir()) == ["sitterlight.log", "sitterlight.log.1"]
    assert sum(path.stat().st_size for path in folder.iterdir()) <= 2 * log.LONGEST + 2000


def test_graphics_and_durations(folder):
    log.begin()
    log.graphics("OpenGL vendor string:  Mesa\nOpenGL renderer string:  llvmpipe\nOpenGL version string:  4.5\nx: y\n")
    with log.timed("lighting"):
        pass
    assert "OpenGL: vendor Mesa; renderer llvmpipe; version 4.5" in written(folder)
    assert re.search(r"lighting: 0\.\d\d s", written(folder))


def test_where_nothing_can_be_written_nothing_happens(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("")
    for place in (str(tmp_path / "file" / "deeper"), ""):
        monkeypatch.setenv("SITTERLIGHT_LOG", place)
        log.end()
        assert log.begin() is None
        log.note("lost")
    monkeypatch.setenv("SITTERLIGHT_LOG", "")
    assert "log" not in log.sentence()


def test_faults_of_the_command_line_are_kept(folder, capsys, monkeypatch):
    def fault(given):
        return {}["maria"]

    monkeypatch.setitem(command.RUN, "list", fault)
    assert command.main(["list", "lights"]) == 2
    assert "command line: KeyError" in written(folder)
    assert "maria" not in written(folder)


PROGRAM = """
import sys, threading
from sitterlight.viewer import log
log.begin()
log.hook(lambda words: print(words, flush=True))
thread = threading.Thread(target=lambda: 1 / 0)
thread.start(); thread.join()
raise KeyError("maria")
"""


def test_what_nobody_caught_is_written_from_any_thread(tmp_path):
    environment = {**os.environ, "SITTERLIGHT_LOG": str(tmp_path)}
    done = subprocess.run([sys.executable, "-c", PROGRAM], capture_output=True, text=True, env=environment)
    assert done.returncode == 1
    assert done.stdout.count(str(tmp_path / "sitterlight.log")) == 2
    text = written(tmp_path)
    assert "ZeroDivisionError: division by zero" in text
    assert "KeyError" in text
    assert "maria" not in text
