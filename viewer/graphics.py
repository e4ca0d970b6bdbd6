"""Whether the head can be drawn here, found out before VTK, which would end the program instead."""

from __future__ import annotations

import ctypes
import os
import sys

from PyQt6.QtCore import qInstallMessageHandler
from PyQt6.QtGui import QGuiApplication, QOffscreenSurface, QOpenGLContext, QSurfaceFormat

NEEDED = (3, 2)
"""The OpenGL that VTK asks for."""

FEWEST_BITS = 15
"""Bits of a pixel on the screen; with fewer its colours are a palette of 256, and nothing can be drawn as it is."""


def why_not_drawn() -> str | None:
    """Why nothing can be drawn, and what to do, as one sentence; None where it can. Wants an application."""
    screen = QGuiApplication.primaryScreen()
    if screen is not None and screen.depth() < FEWEST_BITS:
        colours = 2 ** screen.depth()
        return f"{_here()} shows only {colours} colours; set it, or the remote desktop, to 24 bits, or {_STUDY}"
    wanted = QSurfaceFormat()
    wanted.setVersion(*NEEDED)
    wanted.setProfile(QSurfaceFormat.OpenGLContextProfile.CoreProfile)
    surface, context = QOffscreenSurface(), QOpenGLContext()
    surface.setFormat(wanted)
    context.setFormat(wanted)
    if not _is_drawn_on(surface, context):
        return f"{_here()} has no OpenGL, with which the head is drawn; {_remedy()}"
    found, told = context.format(), _told_version(context)
    context.doneCurrent()
    if not told:  # with what Qt supposes instead, VTK would end the program
        return f"{_here()} has no OpenGL of its own that is new enough for the head to be drawn; {_remedy()}"
    version = (found.majorVersion(), found.minorVersion())
    if version < NEEDED:
        return f"{_here()} has OpenGL {version[0]}.{version[1]}, and the head is drawn with 3.2 or newer; {_remedy()}"
    return None


def _is_drawn_on(surface: QOffscreenSurface, context: QOpenGLContext) -> bool:
    """Whether the surface can be drawn on; what Qt says of it besides is said better afterwards."""
    before = qInstallMessageHandler(lambda *_told: None)
    try:
        surface.create()
        return context.create() and surface.isValid() and context.makeCurrent(surface)
    finally:
        qInstallMessageHandler(before)


_VERSION = 0x1F02  # GL_VERSION in the registry of OpenGL


def _told_version(context: QOpenGLContext) -> bytes:
    """What OpenGL itself says of its version: nothing where it is sent over the line to another machine and nobody
    there understands what was asked for."""
    asked = context.getProcAddress(b"glGetString")
    if not asked:
        return b""
    return ctypes.CFUNCTYPE(ctypes.c_char_p, ctypes.c_uint)(int(asked))(_VERSION) or b""


def _here() -> str:
    name = QGuiApplication.platformName()
    shown = os.environ.get("WAYLAND_DISPLAY" if name == "wayland" else "DISPLAY", "")
    return f"this screen ({name}{' ' + shown if shown else ''})"


_STUDY = "sitterlight study --out DIR writes everything without a window"


def _remedy() -> str:
    ways = [_STUDY]
    if QGuiApplication.platformName() in ("offscreen", "minimal"):
        ways.insert(0, "unset QT_QPA_PLATFORM to use a real screen")
    elif sys.platform.startswith("linux"):
        if os.environ.get("LIBGL_ALWAYS_INDIRECT"):
            ways.insert(0, "unset LIBGL_ALWAYS_INDIRECT")
        else:
            drawn = "" if os.environ.get("LIBGL_ALWAYS_SOFTWARE") else "LIBGL_ALWAYS_SOFTWARE=1 sitterlight lets "
            packages = "libgl1-mesa-dri libglx-mesa0 libegl-mesa0"
            ways.insert(0, f"{drawn or 'let '}the processor draw (Debian and Ubuntu: apt install {packages})")
    else:
        ways.insert(0, "install the graphics driver of its maker, or work at the machine instead of from afar")
    return ", or ".join(ways)
