"""Files and folders appear whole or not at all, whatever happens on the way."""

import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from sitterlight.shading.atomic import whole_folder, write_bytes, write_files, write_text


def test_a_file_is_replaced_and_nothing_is_left_beside_it(tmp_path):
    path = tmp_path / "ä file"
    write_text(path, "old")
    write_text(path, "new\n")
    assert path.read_bytes() == b"new\n"
    assert list(tmp_path.iterdir()) == [path]


def test_a_file_that_cannot_be_written_stays_as_it_was(tmp_path, monkeypatch):
    path = tmp_path / "file"
    write_text(path, "old")

    def full(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        write_text(path, "new")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="no folder that refuses everything there")
@pytest.mark.parametrize("write", [lambda place: write_bytes(place, b""), lambda place: write_files(place, {})])
def test_what_cannot_be_written_is_told_by_the_name_that_was_asked_for(write):
    place = Path("/proc/a place")
    with pytest.raises(OSError) as told:
        write(place)
    assert told.value.filename == str(place)


@pytest.mark.skipif(os.name == "nt", reason="needs leave to make symbolic links there")
def test_a_link_stays_a_link(tmp_path):
    real, link = tmp_path / "real", tmp_path / "link"
    real.write_text("old")
    link.symlink_to(real)
    write_text(link, "new")
    assert link.is_symlink()
    assert real.read_text() == "new"


def test_a_folder_appears_with_all_its_files(tmp_path):
    out = tmp_path / "new" / "out"
    with whole_folder(out) as folder:
        (folder / "a").write_text("1")
        (folder / "deep").mkdir()
        (folder / "deep" / "b").write_text("2")
        assert not out.exists()
    assert sorted(path.name for path in out.rglob("*")) == ["a", "b", "deep"]
    assert [path.name for path in out.parent.iterdir()] == ["out"]


def test_after_an_error_there_is_no_folder(tmp_path):
    with pytest.raises(RuntimeError), whole_folder(tmp_path / "new" / "out") as folder:
        (folder / "a").write_text("1")
        raise RuntimeError
    assert list(tmp_path.iterdir()) == []


def test_after_an_error_an_old_folder_is_as_it_was(tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    (out / "a").write_text("old")
    with pytest.raises(RuntimeError), whole_folder(out) as folder:
        (folder / "a").write_text("new")
        raise RuntimeError
    assert (out / "a").read_text() == "old"
    with whole_folder(out) as folder:
        (folder / "a").write_text("new")
        (folder / "b").write_text("more")
    assert (out / "a").read_text() == "new"
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["a", "b", "out"]


def test_a_file_in_place_of_the_folder_is_refused(tmp_path):
    (tmp_path / "out").write_text("x")
    with pytest.raises(NotADirectoryError), whole_folder(tmp_path / "out"):
        pass


@pytest.mark.skipif(os.name == "nt", reason="needs leave to make symbolic links there")
def test_a_link_that_leads_to_itself_harms_nobody(tmp_path):
    link = tmp_path / "link"
    link.symlink_to(link)
    write_text(link, "new")
    assert link.read_text() == "new"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names there")
def test_what_is_no_file_is_left_alone(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    for name in ("pipe", "folder"):
        with pytest.raises(OSError, match="not a plain file"):
            write_text(tmp_path / name, "new")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder", "pipe"]


def test_a_folder_in_place_of_one_file_leaves_all_as_they_were(tmp_path):
    (tmp_path / "out" / "b").mkdir(parents=True)
    (tmp_path / "out" / "a").write_text("old")
    with pytest.raises(OSError, match="not a plain file"), whole_folder(tmp_path / "out") as folder:
        for name in ("a", "b", "c"):
            (folder / name).write_text("new")
    assert (tmp_path / "out" / "a").read_text() == "old"
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["a", "b"]


def test_an_old_folder_is_written_without_touching_what_is_beside_it(tmp_path, monkeypatch):
    """As where it is a disk of its own, or the only place that may be written to."""
    (tmp_path / "out").mkdir()
    places = []
    real = tempfile.mkdtemp
    monkeypatch.setattr(tempfile, "mkdtemp", lambda **given: places.append(given["dir"]) or real(**given))
    with whole_folder(tmp_path / "out") as folder:
        (folder / "a").write_text("new")
    assert places == [tmp_path / "out"]
    assert [path.name for path in tmp_path.rglob("*")] == ["out", "a"]


WRITER = """
import sys
from sitterlight.shading.atomic import write_bytes
n = 0
while True:
    write_bytes(sys.argv[1], bytes([n % 251]) * 300_000)
    if n == 0:
        print("go", flush=True)
    n += 1
"""


@pytest.mark.skipif(os.name == "nt", reason="kills by signal")
@pytest.mark.parametrize("delay", [0.0, 0.003, 0.011, 0.02])
def test_a_kill_at_any_moment_leaves_a_whole_file(tmp_path, delay):
    path = tmp_path / "file"
    write_bytes(path, b"\0" * 300_000)
    writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE)
    writer.stdout.readline()
    time.sleep(delay)
    writer.send_signal(signal.SIGKILL)
    writer.wait()
    writer.stdout.close()
    content = path.read_bytes()
    assert len(content) == 300_000
    assert len(set(content)) == 1


STOPPED_WRITER = """
import os, sys, time
from sitterlight.shading.atomic import whole_file, whole_folder
with (whole_file if sys.argv[1] == "file" else whole_folder)(sys.argv[2]) as beside:
    (beside if sys.argv[1] == "file" else beside / "a").write_bytes(b"half")
    print(beside.name, flush=True)
    sys.stdin.readline()
"""


def _writer_in_the_middle(kind: str, path) -> tuple[subprocess.Popen, str]:
    command = [sys.executable, "-c", STOPPED_WRITER, kind, str(path)]
    writer = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    return writer, writer.stdout.readline().strip()


def _end(writer: subprocess.Popen, kill: bool) -> None:
    if kill:
        writer.send_signal(signal.SIGKILL)
    writer.communicate("\n" if not kill else None)


@pytest.mark.skipif(os.name == "nt", reason="kills by signal")
@pytest.mark.parametrize("kind", ["file", "folder"])
def test_what_a_killed_program_left_goes_at_the_next_write_and_a_living_ones_stays(tmp_path, kind):
    for name in (".other.abcdefgh.part", ".mine.sitterlight.part.txt", "b.sitterlight.part"):
        (tmp_path / name).write_text("somebody else's")
    others = sorted(path.name for path in tmp_path.iterdir())
    (living, beside), (killed, left) = (_writer_in_the_middle(kind, tmp_path / name) for name in "xy")
    _end(killed, kill=True)
    assert (tmp_path / left).exists()
    write_text(tmp_path / "z", "new")
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([*others, beside, "z"])
    _end(living, kill=False)
    assert living.returncode == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([*others, "x", "z"])
    written = tmp_path / "x" if kind == "file" else tmp_path / "x" / "a"
    assert written.read_bytes() == b"half"


@pytest.mark.skipif(os.name == "nt", reason="needs leave to make symbolic links there")
def test_leftovers_are_not_followed_out_of_the_folder(tmp_path):
    from sitterlight.shading import leftovers

    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter").write_text("kept")
    place = tmp_path / "place"
    place.mkdir()
    name = f".a.{leftovers._HOST}-12345678{leftovers.ENDING}"
    (place / name).symlink_to(tmp_path / "mine")
    os.mkfifo(place / f".b.{leftovers._HOST}-12345678{leftovers.ENDING}")
    folder = place / f".c.{leftovers._HOST}-12345678{leftovers.ENDING}"
    folder.mkdir()
    (folder / "out").symlink_to(tmp_path / "mine")
    write_text(place / "z", "new")
    assert (tmp_path / "mine" / "letter").read_text() == "kept"
    assert not folder.exists() and (place / name).is_symlink()


def test_what_another_machine_writes_in_a_shared_folder_is_left_for_a_day(tmp_path):
    from sitterlight.shading.leftovers import DAY, ENDING

    for name, age in (("young", 10.0), ("old", DAY + 10)):
        (tmp_path / f".{name}.00000000-12345678{ENDING}").write_text("half")
        os.utime(tmp_path / f".{name}.00000000-12345678{ENDING}", (time.time() - age,) * 2)
    write_text(tmp_path / "z", "new")
    assert sorted(path.name for path in tmp_path.iterdir()) == [f".young.00000000-12345678{ENDING}", "z"]
