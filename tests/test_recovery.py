"""What was being edited is kept beside, and comes back equal once the program that kept it is gone."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

pytest.importorskip("hypothesis", reason="the test extra is not installed")

from hostile.damage import anything
from hypothesis import given, settings
from hypothesis import strategies as st

from sitterlight.shading.sittings import built_in, built_in_names
from sitterlight.viewer.recovery import Recovery, left_unsaved, unsaved_folder

KEEPER = """
import sys
from dataclasses import replace
from pathlib import Path
from sitterlight.shading.sittings import built_in
from sitterlight.viewer.recovery import Recovery
recovery = Recovery()
assert recovery.keep(replace(built_in(sys.argv[1]), title=sys.argv[2]), Path("a b/ä.toml").absolute(), "digest")
print("kept", flush=True)
sys.stdin.read()
"""


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("SITTERLIGHT_SETTINGS", str(tmp_path))
    return tmp_path


def _keeper(name: str, title: str) -> subprocess.Popen:
    command = [sys.executable, "-c", KEEPER, name, title]
    keeper = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert keeper.stdout.readline() == "kept\n"
    return keeper


def _kill(keeper: subprocess.Popen) -> None:
    keeper.kill()
    keeper.wait()
    keeper.stdin.close()
    keeper.stdout.close()


def test_what_a_killed_program_left_is_offered_to_one_window_only(folder):
    first, second = _keeper("lamp-and-dusk", "One"), _keeper("open-shade", "Other")
    assert left_unsaved() == []
    _kill(first)
    (found,) = left_unsaved()
    assert found.sitting == replace(built_in("lamp-and-dusk"), title="One")
    assert found.path == Path("a b/ä.toml").absolute() and found.digest == "digest"
    assert left_unsaved() == []
    _kill(second)
    (other,) = left_unsaved()
    assert other.sitting.title == "Other"
    found.leave()
    (again,) = left_unsaved()
    assert again.sitting == found.sitting
    again.throw_away()
    other.throw_away()
    assert left_unsaved() == [] and list(unsaved_folder().iterdir()) == []


def test_the_sitting_beside_comes_back_and_older_files_without_one_are_read(folder):
    recovery = Recovery()
    assert recovery.keep(built_in(), Path("a.toml"), "digest", built_in("open-shade"))
    file = recovery._file
    recovery._lock.let_go()  # as at the program's end
    (found,) = left_unsaved()
    assert (found.sitting, found.beside) == (built_in(), built_in("open-shade"))
    found.leave()
    table = json.loads(file.read_bytes())
    for beside in ({"sitting": {"format": "sitterlight/99"}}, {}, [], "x"):
        file.write_text(json.dumps(table | {"beside": beside}))
        (found,) = left_unsaved()
        assert found.sitting == built_in() and found.beside is None
        found.leave()
    # As version 0.1 wrote it.
    del table["beside"]
    assert set(table) == {"format", "path", "digest", "when", "folder", "sitting"}
    file.write_text(json.dumps(table))
    (found,) = left_unsaved()
    assert (found.sitting, found.beside, found.digest) == (built_in(), None, "digest")
    found.throw_away()


def test_an_orderly_close_leaves_nothing(folder):
    recovery = Recovery()
    assert recovery.keep(built_in(), None)
    recovery.forget()
    assert recovery.keep(built_in(), None) and len(list(unsaved_folder().iterdir())) == 2
    recovery.end()
    assert list(unsaved_folder().iterdir()) == []


@pytest.mark.parametrize("name", built_in_names())
def test_every_sitting_comes_back_equal(folder, name):
    recovery = Recovery()
    recovery.keep(built_in(name), None)
    recovery._lock.let_go()  # as at the program's end
    (found,) = left_unsaved()
    assert found.sitting == built_in(name) and found.path is None
    found.throw_away()


def test_where_nothing_can_be_written_nothing_is_kept_and_nobody_troubled(folder, monkeypatch):
    (folder / "file").write_text("")
    monkeypatch.setenv("SITTERLIGHT_SETTINGS", str(folder / "file"))
    recovery = Recovery()
    assert not recovery.keep(built_in(), None)
    recovery.end()
    assert left_unsaved() == []


def test_a_full_disk_keeps_the_last_that_was_whole(folder, monkeypatch):
    recovery = Recovery()
    assert recovery.keep(built_in("open-shade"), None)
    monkeypatch.setattr(os, "fsync", _full)
    assert not recovery.keep(built_in("lamp-and-dusk"), None)
    monkeypatch.undo()
    monkeypatch.setenv("SITTERLIGHT_SETTINGS", str(folder))
    recovery._lock.let_go()
    (found,) = left_unsaved()
    assert found.sitting == built_in("open-shade")
    found.throw_away()


def _full(_file):
    raise OSError(28, "No space left on device")


def test_damaged_files_are_passed_over(folder):
    recovery = Recovery()
    recovery.keep(built_in(), Path("a.toml"))
    kept = recovery._file.read_bytes()
    recovery.end()
    file = unsaved_folder() / "1-aa.json"

    @settings(max_examples=120, deadline=None)
    @given(content=anything(st.just(kept)))
    def damaged(content: bytes) -> None:
        file.write_bytes(content)
        for found in left_unsaved():
            json.loads(content)
            found.leave()
        assert file.read_bytes() == content

    damaged()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names there")
def test_odd_things_in_the_folder_are_passed_over(folder):
    unsaved_folder().mkdir()
    os.mkfifo(unsaved_folder() / "1-aa.json")
    (unsaved_folder() / "2-aa.json").mkdir()
    (unsaved_folder() / "3-aa.json").symlink_to("nowhere")
    (unsaved_folder() / "4-aa.json").write_text("{}")
    (unsaved_folder() / "4-aa.lock").mkdir()
    assert left_unsaved() == []
