"""A screen without OpenGL: one sentence says what is missing and what to do, and nothing crashes."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

import pytest

pytest.importorskip("PyQt6.QtWidgets")

COMMAND = [sys.executable, "-m", "sitterlight.viewer", "lamp-and-dusk"]


def _told(command: list[str], **variables: str) -> str:
    done = subprocess.run(command, capture_output=True, text=True, env=os.environ | variables, timeout=200)
    assert done.returncode == 2, done.stderr
    assert done.stdout == "" and done.stderr.count("\n") == 1, done.stderr
    assert done.stderr.startswith("sitterlight: error: this screen (") and "OpenGL" in done.stderr
    assert "sitterlight study --out DIR writes everything without a window" in done.stderr
    return done.stderr


def test_no_screen_at_all_but_one_in_memory():
    assert "unset QT_QPA_PLATFORM" in _told(COMMAND, QT_QPA_PLATFORM="offscreen", DISPLAY="")


@pytest.mark.skipif(shutil.which("xvfb-run") is None, reason="no Xvfb to be without OpenGL")
def test_a_screen_without_opengl():
    """As over some remote desktops: an X server without GLX, and no EGL."""
    screen = ["xvfb-run", "-a", "-s", "-screen 0 1280x800x24 -extension GLX", *COMMAND]
    told = _told(screen, QT_QPA_PLATFORM="xcb", __EGL_VENDOR_LIBRARY_FILENAMES="/nowhere", LIBGL_ALWAYS_SOFTWARE="")
    assert "LIBGL_ALWAYS_SOFTWARE=1 sitterlight" in told and "apt install" in told


@pytest.mark.skipif(shutil.which("xvfb-run") is None, reason="no Xvfb to draw for others")
@pytest.mark.parametrize("allowed", ["+iglx", "-iglx"])
def test_opengl_that_is_sent_over_the_line(allowed):
    """As by ssh -X: what the machine that shows understands of it is older than what is needed."""
    screen = ["xvfb-run", "-a", "-s", f"-screen 0 1280x800x24 {allowed}", *COMMAND]
    told = _told(screen, QT_QPA_PLATFORM="xcb", LIBGL_ALWAYS_INDIRECT="1", LIBGL_ALWAYS_SOFTWARE="")
    assert "unset LIBGL_ALWAYS_INDIRECT" in told


@pytest.mark.skipif(shutil.which("xvfb-run") is None, reason="no Xvfb with few colours")
def test_a_screen_of_256_colours():
    """As a remote desktop that spares the line."""
    screen = ["xvfb-run", "-a", "-s", "-screen 0 1280x800x8", *COMMAND]
    done = subprocess.run(
        screen, capture_output=True, text=True, env=os.environ | {"QT_QPA_PLATFORM": "xcb"}, timeout=200
    )
    assert done.returncode == 2 and done.stderr.count("\n") == 1, done.stderr
    assert "shows only 256 colours; set it, or the remote desktop, to 24 bits" in done.stderr


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="screens as Linux has them")
@pytest.mark.parametrize("display", ["", ":97531"])
def test_no_screen_over_ssh(monkeypatch, display):
    """Where the window is not sent along, or the way back has been closed meanwhile."""
    from sitterlight.viewer.screen import why_no_window

    for name in ("WAYLAND_DISPLAY", "QT_QPA_PLATFORM", "SSH_CONNECTION"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("DISPLAY", display)
    assert "screen" in why_no_window() and "ssh" not in why_no_window()
    monkeypatch.setenv("SSH_CONNECTION", "127.0.0.1 50000 127.0.0.1 22")
    assert why_no_window().endswith(": connect anew with ssh -X to have the window at yours")


@pytest.mark.screen
def test_a_screen_with_opengl(qapp):
    from sitterlight.viewer.graphics import why_not_drawn

    assert why_not_drawn() is None
