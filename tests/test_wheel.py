"""The wheel: built from a clean copy, installed into an environment of its own, run from an empty folder."""

import json
import os
import shutil
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("illuminants", "meshes", "shading", "viewer")


def run(command: list, folder: Path, **options) -> subprocess.CompletedProcess:
    return subprocess.run(
        [str(word) for word in command], cwd=folder, capture_output=True, text=True, timeout=300, **options
    )


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    """The wheel, built without a network from a copy of the project, so that nothing stale gets into it."""
    copy = tmp_path_factory.mktemp("source") / "project"
    unwanted = shutil.ignore_patterns("__pycache__", ".*", "build", "dist", "*.egg-info")
    shutil.copytree(ROOT, copy, ignore=unwanted)
    out = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "pip", "wheel", "--no-deps", "--no-build-isolation", "-q", "-w", out, copy]
    built = run(command, out)
    assert built.returncode == 0, built.stdout + built.stderr
    return next(out.glob("sitterlight-*.whl"))


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory) -> Path:
    """The folder of programs of a new environment that holds the wheel, and sees our dependencies but not us."""
    place = tmp_path_factory.mktemp("environment")
    venv.EnvBuilder(with_pip=False).create(place)
    programs = place / ("Scripts" if os.name == "nt" else "bin")
    python = programs / ("python.exe" if os.name == "nt" else "python")
    own = run([python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"], place).stdout.strip()
    command = [sys.executable, "-m", "pip", "--python", python, "install", "--no-deps", "--no-index", "-q", wheel]
    done = run(command, place)
    assert done.returncode == 0, done.stdout + done.stderr
    # A plain line in a .pth file adds a folder without running the .pth files in it, so the checkout stays unseen.
    import numpy

    (Path(own) / "dependencies.pth").write_text(str(Path(numpy.__file__).parent.parent) + "\n", encoding="utf-8")
    return programs


@pytest.fixture
def empty(tmp_path) -> Path:
    return tmp_path


def left_out(name: str) -> bool:
    """Files of the rooms that an installed program has no use for: the pictures that the README shows."""
    return "__pycache__" in name or "/pictures/" in name


def test_the_wheel_holds_the_rooms_and_their_data_and_no_tests(wheel):
    names = zipfile.ZipFile(wheel).namelist()
    tracked = run(["git", "ls-files", "--", *ROOMS], ROOT).stdout.split("\n")
    if not any(tracked):
        tracked = [path.relative_to(ROOT).as_posix() for room in ROOMS for path in (ROOT / room).rglob("*.*")]
    wanted = [f"sitterlight/{name}" for name in tracked if name and not left_out(name)]
    assert [name for name in wanted if name not in names] == []
    assert not [name for name in names if "test" in name.split("/")[0] or "/tests/" in name]
    assert {name.split("/")[1] for name in names if name.startswith("sitterlight/")} == set(ROOMS)


def test_the_wheel_carries_licence_and_notices(wheel):
    archive = zipfile.ZipFile(wheel)
    licence = next(name for name in archive.namelist() if name.endswith("licenses/LICENSE"))
    text = archive.read(licence).decode()
    assert "GNU GENERAL PUBLIC LICENSE" in text
    assert "CC0 1.0" in text
    assert any(name.endswith("meshes/data/ORIGINS.md") for name in archive.namelist())
    metadata = archive.read(next(name for name in archive.namelist() if name.endswith("METADATA"))).decode()
    assert "License-Expression: GPL-3.0-or-later" in metadata


def test_it_is_the_wheel_that_runs(installed, empty):
    where = "import sitterlight.shading as room; print(room.__file__)"
    found = run([installed / "python", "-c", where], empty)
    assert found.returncode == 0, found.stderr
    assert Path(found.stdout.strip()).is_relative_to(installed.parent)


@pytest.mark.parametrize("what", ["lights", "skins", "heads", "paints", "sittings", "surfaces"])
def test_lists_find_their_data(installed, empty, what):
    listed = run([installed / "sitterlight", "list", what, "--json"], empty)
    assert (listed.returncode, listed.stderr) == (0, "")
    entries = json.loads(listed.stdout)
    assert len(entries) > 0
    assert all(entry["name"] for entry in entries)


def four_gigabytes() -> None:
    """Of address space, which is more than of memory."""
    if sys.platform.startswith("linux"):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (4 * 2**30, 4 * 2**30))


def test_a_study_runs_from_an_empty_folder(installed, empty):
    """Of the bust, with nothing remembered but compiled loops, on a machine of four gigabytes."""
    compiled = next(installed.parent.glob("lib*/**/sitterlight/shading")) / "__pycache__"
    compiled.mkdir(exist_ok=True)
    for kept in (ROOT / "shading" / "__pycache__").glob("*.nb[ci]"):  # numba asks whether they are of this source
        shutil.copy(kept, compiled)
    limit = {} if os.name == "nt" else {"preexec_fn": four_gigabytes}
    environment = {**os.environ, "SITTERLIGHT_CACHE": str(empty / "cache")}
    done = run([installed / "sitterlight", "study", "--out", "out"], empty, env=environment, **limit)
    assert (done.returncode, done.stderr) == (0, "")
    written = {path.name for path in (empty / "out").iterdir()}
    assert written >= {
        "sitting.toml", "head.png", "notes.png", "targets.csv", "targets.json", "sheet.pdf", "sheet.png"
    }  # fmt: skip
