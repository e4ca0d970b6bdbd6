"""Bad files and bad places through the whole command line: exit code 2, one line, nothing half-written, no waiting."""

from __future__ import annotations

import ctypes
import os
import socket
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from sitterlight.viewer.command import main

CORPUS = sorted(Path(__file__).with_name("corpus").iterdir())
ON_POSIX = pytest.mark.skipif(os.name == "nt", reason="pipes, links and limits as Unix has them")
SITTING = 'format = "sitterlight/1"\n[head]\nmesh = "cube"\n'


def refused(capsys, *words: str) -> str:
    """The sentence of a refused request."""
    assert main(words) == 2
    error = capsys.readouterr().err
    assert error.startswith("sitterlight: error: ")
    assert error.count("\n") == 1 and error.endswith("\n")
    assert error[:-1].isprintable()
    assert "Traceback" not in error and "a fault in Sitterlight" not in error
    assert len(error) < 1500
    return error


@pytest.fixture(autouse=True)
def no_network(monkeypatch):
    """Whoever asks for an address or a connection fails the test."""

    def caught(*_: object, **__: object):
        pytest.fail("the network was asked")

    monkeypatch.setattr(socket.socket, "connect", caught)
    monkeypatch.setattr(socket, "getaddrinfo", caught)
    monkeypatch.setattr(socket, "create_connection", caught)


@pytest.mark.parametrize("file", CORPUS, ids=lambda file: file.name)
def test_check_of_a_bad_file(capsys, file):
    if file.name == "reflectance-huge-number.csv":
        assert "line 2" in refused(capsys, "check", str(file))
    assert str(file) in refused(capsys, "check", str(file))


@pytest.mark.parametrize("file", CORPUS, ids=lambda file: file.name)
def test_study_and_day_of_a_sitting_that_names_a_bad_file(capsys, tmp_path, file):
    kind = file.suffix
    named = {
        ".csv": f"[[light]]\nspectrum = '{file}'\n",
        ".toml": f"[palette]\npaints = ['{file}']\n",
    }.get(kind, "")
    text = SITTING if kind in (".csv", ".toml") else SITTING.replace('"cube"', f"'{file}'")
    sitting = tmp_path / "sitting.toml"
    day = "[[light]]\nname = 'day'\nkind = 'daylight'\n"
    sitting.write_text(text + named + day, encoding="utf-8")
    requests = [("study", str(sitting))]
    if kind != ".toml":  # a day asks for no paint
        requests.append(("day", str(sitting), "--date", "2026-06-01"))
    for words in requests:
        assert file.name in refused(capsys, *words, "--out", str(tmp_path / "out"))
        assert list(tmp_path.iterdir()) == [sitting]


@pytest.mark.parametrize("key", ["mesh", "reflectance", "spectrum", "ground", "easel", "paint"])
@pytest.mark.parametrize("secret", ["secret", "secret.csv", "../secret.csv", "secret.toml", "secret.obj"])
def test_what_a_sitting_from_a_stranger_names_is_never_repeated(capsys, tmp_path, key, secret):
    (tmp_path / "in").mkdir()
    for place in (tmp_path, tmp_path / "in"):
        for name in ("secret", "secret.csv", "secret.toml", "secret.obj"):
            (place / name).write_text("root:x:0:0\n1,swordfish\nswordfish = 'swordfish'\nf swordfish\n")
    lines = {
        "mesh": f"[head]\nmesh = './{secret}'\n",
        "reflectance": f"[skin]\nreflectance = './{secret}'\n",
        "spectrum": f"[[light]]\nspectrum = './{secret}'\n",
        "ground": f"[surround]\nground = './{secret}'\n",
        "easel": f"[easel]\nlight = './{secret}'\n",
        "paint": f"[palette]\npaints = ['./{secret}']\n",
    }
    sitting = tmp_path / "in" / "sitting.toml"
    sitting.write_text('format = "sitterlight/1"\n' + lines[key])
    for words in (("check", str(sitting)), ("study", str(sitting), "--out", str(tmp_path / "out"))):
        assert "swordfish" not in refused(capsys, *words)
    assert not (tmp_path / "out").exists()


@ON_POSIX
@pytest.mark.parametrize("ending", [".toml", ".csv", ".obj", ".ply", ".stl", ".glb"])
def test_pipes_devices_and_links_are_not_waited_for(capsys, tmp_path, ending):
    os.mkfifo(tmp_path / f"pipe{ending}")
    (tmp_path / f"zero{ending}").symlink_to("/dev/zero")
    (tmp_path / f"loop{ending}").symlink_to(tmp_path / f"loop{ending}")
    (tmp_path / f"gone{ending}").symlink_to(tmp_path / "nowhere")
    (tmp_path / f"folder{ending}").mkdir()
    for name in ("pipe", "zero", "loop", "gone", "folder"):
        assert name in refused(capsys, "check", str(tmp_path / f"{name}{ending}"))
        if ending == ".toml":
            assert name in refused(capsys, "study", str(tmp_path / f"{name}.toml"), "--out", str(tmp_path / "out"))
            paint = str(tmp_path / f"{name}.toml")
            assert name in refused(capsys, "mix", "5YR 4/4", "--palette", f"PW6,{paint}")
    assert not (tmp_path / "out").exists()


@ON_POSIX
def test_links_to_good_files_are_followed(capsys, tmp_path):
    (tmp_path / "real.toml").write_text(SITTING)
    (tmp_path / "link.toml").symlink_to(tmp_path / "real.toml")
    assert main(["check", str(tmp_path / "link.toml")]) == 0


@pytest.mark.parametrize("name", ["a\nb.toml", "a\x1b[2Jb.csv", "a" * 300 + ".csv", "a\0b.toml", "ä 像.obj", "-x.toml"])
def test_odd_names_are_one_line_too(capsys, tmp_path, name):
    main(["check", "--", str(tmp_path / name)])
    error = capsys.readouterr().err
    assert error.startswith("sitterlight: error: ") and error.count("\n") == 1
    assert error[:-1].isprintable()


def test_names_that_only_bytes_can_hold(tmp_path):
    """A name that is no UTF-8 is named in some way, on a terminal of any kind."""
    if sys.platform == "darwin" or os.name == "nt":
        pytest.skip("has no such names")
    path = os.path.join(os.fsencode(tmp_path), b"a\xff\xfe.toml")
    Path(os.fsdecode(path)).write_text(SITTING)
    done = subprocess.run([sys.executable, "-m", "sitterlight.viewer", "check", path], capture_output=True)
    assert done.returncode == 0, done.stderr
    assert b"a sitting" in done.stdout


def limited(*words: str, file_size: int | None = None, **variables: str):
    """The program in a process of its own, which may write no larger file, as on a full disk, and which, should it be
    the system's own user, has to mind permissions like anybody."""

    def limit() -> None:
        import resource

        if file_size is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (file_size, file_size))
        if os.getuid() == 0 and sys.platform.startswith("linux"):
            for right in (1, 2):  # to pass over permissions of files; to read and search everywhere
                ctypes.CDLL(None).prctl(24, right, 0, 0, 0)

    command = [sys.executable, "-m", "sitterlight.viewer", *words]
    # Else Python would keep what it compiled of a library cut off at that size, and every other test would read it.
    environment = {**os.environ, "SITTERLIGHT_LOG": "", "PYTHONDONTWRITEBYTECODE": "1", **variables}
    return subprocess.run(command, capture_output=True, text=True, env=environment, preexec_fn=limit)


@ON_POSIX
@pytest.mark.parametrize(("size", "out"), [(0, "new"), (5000, "old")])
def test_a_full_disk_leaves_nothing_behind(tmp_path, size, out):
    (tmp_path / "sitting.toml").write_text(SITTING)
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "targets.csv").write_text("old")
    words = ("study", str(tmp_path / "sitting.toml"), "--out", str(tmp_path / out))
    done = limited(*words, file_size=size)
    assert done.returncode == 2, done.stderr
    assert done.stderr.startswith("sitterlight: error: ") and done.stderr.count("\n") == 1
    assert "File too large" in done.stderr or "No space" in done.stderr
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["old", "sitting.toml", "targets.csv"]
    assert (tmp_path / "old" / "targets.csv").read_text() == "old"


@ON_POSIX
def test_what_may_not_be_read_or_written(tmp_path):
    (tmp_path / "closed.toml").write_text(SITTING)
    (tmp_path / "closed.toml").chmod(0)
    (tmp_path / "open.toml").write_text(SITTING)
    (tmp_path / "out").mkdir(mode=0o555)
    done = limited("check", str(tmp_path / "closed.toml"))
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)
    assert "closed.toml: cannot be read (the system does not allow it" in done.stderr
    done = limited("study", str(tmp_path / "open.toml"), "--out", str(tmp_path / "out"))
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)
    assert "does not allow it" in done.stderr
    (tmp_path / "out").chmod(0o755)


@pytest.mark.parametrize("ending", [".toml", ".csv", ".obj", ".stl"])
def test_a_file_that_changes_while_it_is_read(capsys, tmp_path, ending):
    import trimesh

    whole = {".toml": SITTING.encode(), ".csv": b"nm,p\n" + b"".join(b"%d,1\n" % nm for nm in range(380, 781))}
    if ending in (".obj", ".stl"):
        content = trimesh.creation.box(extents=[100.0] * 3).export(file_type=ending[1:])
        whole[ending] = content.encode() if isinstance(content, str) else content
    path, done = tmp_path / f"file{ending}", threading.Event()

    def change() -> None:
        number = 0
        while not done.wait(0.001):  # so that the reader has its turn between two changes, and within them
            number += 1
            if number % 5 == 0:
                path.unlink(missing_ok=True)
            else:
                path.write_bytes(whole[ending][: len(whole[ending]) * (number % 4 + 1) // 4])

    changer = threading.Thread(target=change)
    changer.start()
    try:
        for _ in range(25 if ending in (".obj", ".stl") else 60):  # a mesh takes longer
            assert main(["check", str(path)]) in (0, 2)
            answer = capsys.readouterr()
            assert answer.err.count("\n") <= 1
            assert "a fault in Sitterlight" not in answer.err
    finally:
        done.set()
        changer.join()
