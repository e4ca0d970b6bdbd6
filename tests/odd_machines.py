"""The program in a process of its own, as on an odd machine: what it is given there, and what it should say."""

from __future__ import annotations

import ctypes
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ON_LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="as Linux has them")

SITTING = """format = "sitterlight/1"
title = "Ελένη 肖像"

[head]
mesh = "cube"

[[light]]
name = "day"
kind = "daylight"
latitude = 6.5
longitude = 3.4
when = 2026-11-21T16:30:00+01:00

[[light]]
name = "lampe à huile"
kind = "lamp"
spectrum = "лампа.csv"
"""
SPECTRUM = "nm;power\n" + "".join(f"{nm};{nm / 500:.2f}\n".replace(".", ",") for nm in range(380, 781, 10))

NO_PACKAGE = """
import sys
class Refuser:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] == "PACKAGE":
            raise ImportError("no PACKAGE here")
sys.meta_path.insert(0, Refuser())
"""


def written_into(folder: Path) -> Path:
    """The folder, with a sitting and a spectrum in it."""
    (folder / "mein Bild.toml").write_text(SITTING, encoding="utf-8")
    (folder / "лампа.csv").write_text(SPECTRUM, encoding="utf-8")
    return folder


def odd_folder(tmp_path) -> Path:
    """A folder with spaces and other scripts, and a sitting in it."""
    made = tmp_path / "Ölbild Ελένη 肖像 'x'"
    made.mkdir()
    return written_into(made)


def no_opengl(folder: Path) -> str:
    """A folder of libraries, to be looked in first, whose OpenGL is of no use."""
    made = folder / "broken"
    made.mkdir(exist_ok=True)
    for name in ("libGL.so.1", "libEGL.so.1", "libOpenGL.so.0", "libGLX.so.0"):
        (made / name).write_bytes(b"")
    return str(made)


def plain_rights() -> None:
    """Should this be the system's own user: permissions count for it from now on."""
    if os.getuid() == 0 and sys.platform.startswith("linux"):
        for right in (1, 2):
            ctypes.CDLL(None).prctl(24, right, 0, 0, 0)


def started(*words: str, before=None, program: str | None = None, prefix=(), without=(), **variables: str):
    """The program in a process of its own; `program` runs first, in the same process."""
    environment = {key: value for key, value in {**os.environ, **variables}.items() if key not in without}
    start = f"{program or ''}\nimport sys; from sitterlight.viewer.command import main; sys.exit(main(sys.argv[1:]))"
    return subprocess.run(
        [*prefix, sys.executable, "-c", start, *words],
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="surrogateescape",
        env=environment,
        preexec_fn=before,
    )


def planes(done: subprocess.CompletedProcess, out: Path) -> list:
    """The planes of a study that went well."""
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return json.loads((out / "targets.json").read_text(encoding="utf-8"))["planes"]


def studied(folder: Path, name: str, **given) -> list:
    done = started("study", str(folder / "mein Bild.toml"), "--out", str(folder / name), **given)
    return planes(done, folder / name)


def assert_alike(found: list, usual: list) -> None:
    """The same planes and colours, but for the order in which cores add."""
    assert [plane["name"] for plane in found] == [plane["name"] for plane in usual]
    for one, other in zip(found, usual, strict=True):
        assert one["Lab"] == pytest.approx(other["Lab"], abs=1e-3)
        assert one["munsell"] == other["munsell"]
        assert one["targets"][0]["recipe"]["parts"] == other["targets"][0]["recipe"]["parts"]
