"""A window where none can open, or not as usual: no screen, no OpenGL, names of screens that lead nowhere."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time

import pytest
from odd_machines import ON_LINUX, no_opengl, odd_folder, started
from run import virtual_screen

pytestmark = pytest.mark.skipif(os.name == "nt", reason="limits and permissions as Unix has them")


folder = pytest.fixture(odd_folder)


@ON_LINUX
def test_a_window_without_a_screen_says_what_to_do(folder):
    done = started(str(folder / "mein Bild.toml"), without=["DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"])
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "no screen" in done.stderr and "sitterlight study --out DIR" in done.stderr


@ON_LINUX
def test_a_window_without_opengl_libraries_names_what_to_install(folder):
    without = ["WAYLAND_DISPLAY", "QT_QPA_PLATFORM"]
    done = started(str(folder / "mein Bild.toml"), without=without, DISPLAY=":0", LD_LIBRARY_PATH=no_opengl(folder))
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "apt install" in done.stderr or "no screen answers" in done.stderr
    assert "sitterlight study --out DIR" in done.stderr


@ON_LINUX
@pytest.mark.parametrize(
    ("variables", "words"),
    [
        ({"WAYLAND_DISPLAY": "wayland-99"}, "no screen answers at WAYLAND_DISPLAY=wayland-99"),
        (
            {"WAYLAND_DISPLAY": "w-99", "DISPLAY": ":6543"},
            "no screen answers at DISPLAY=:6543 and WAYLAND_DISPLAY=w-99",
        ),
        ({"DISPLAY": "nowhere.invalid:0"}, "no screen answers at DISPLAY=nowhere.invalid:0"),
        ({"WAYLAND_DISPLAY": "wayland-99", "QT_QPA_PLATFORM": "xcb"}, "there is no screen (DISPLAY is not set)"),
        ({"DISPLAY": ":6543", "QT_QPA_PLATFORM": "wayland"}, "there is no screen (WAYLAND_DISPLAY is not set)"),
        ({"DISPLAY": ":6543", "QT_QPA_PLATFORM": "eglfs"}, 'QT_QPA_PLATFORM is "eglfs", on which no window opens'),
    ],
)
def test_a_screen_that_is_named_and_not_there(monkeypatch, variables, words):
    """Qt would end the program; so would a desktop whose variables outlived it."""
    from sitterlight.viewer.screen import why_no_window

    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM", "WAYLAND_SOCKET", "XDG_RUNTIME_DIR"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert why_no_window().startswith(words)


@ON_LINUX
def test_a_wayland_screen_that_answers(monkeypatch, tmp_path):
    from sitterlight.viewer import screen

    for name in ("DISPLAY", "QT_QPA_PLATFORM", "WAYLAND_SOCKET"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("WAYLAND_DISPLAY", "wayland-0")
    monkeypatch.setattr(screen, "QT_NEEDS", {})
    with tempfile.TemporaryDirectory(dir="/tmp") as short, socket.socket(socket.AF_UNIX) as server:
        monkeypatch.setenv("XDG_RUNTIME_DIR", short)
        server.bind(f"{short}/wayland-0")
        server.listen()
        assert screen.why_no_window() is None


@ON_LINUX
@pytest.mark.skipif(shutil.which("Xvfb") is None, reason="needs Xvfb, a screen without OpenGL")
def test_a_screen_without_GLX_opens_all_the_same_or_says_what_to_do(folder, tmp_path):
    with virtual_screen("800x600x24", "-extension", "GLX") as display:
        environment = {**os.environ, "DISPLAY": display, "QT_QPA_PLATFORM": "xcb"}
        environment.pop("WAYLAND_DISPLAY", None)
        environment |= {"SITTERLIGHT_SETTINGS": str(tmp_path / "settings"), "SITTERLIGHT_CACHE": str(tmp_path / "kept")}
        window = subprocess.Popen(
            [sys.executable, "-m", "sitterlight.viewer", str(folder / "mein Bild.toml")],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            env=environment,
        )
        for _ in range(600):
            is_open = any((tmp_path / "kept").glob("picture-*"))  # it drew its first picture: Mesa draws by EGL
            if is_open or window.poll() is not None:
                break
            time.sleep(0.1)
        if window.poll() is None:
            window.terminate()
            _, error = window.communicate()
            assert is_open and "Traceback" not in error
            return
        _, error = window.communicate()
    assert window.returncode == 2, error[-500:]
    assert error.count("sitterlight: error: ") == 1
    assert "sitterlight study --out DIR" in error
