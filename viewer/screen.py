"""Whether a window can be opened here, found out before Qt, which would end the program instead."""

from __future__ import annotations

import ctypes
import os
import socket
import sys
from ctypes.util import find_library
from pathlib import Path

QT_NEEDS = {
    "xcb-cursor": "libxcb-cursor0",
    "xkbcommon-x11": "libxkbcommon-x11-0",
    "GL": "libgl1",
    "EGL": "libegl1",
}
"""Libraries that Qt and VTK load on Linux, and the Debian packages that hold them."""

WITHOUT_A_SCREEN = ("offscreen", "minimal", "vnc")
"""Platforms of Qt that open anywhere; whether the head can be drawn on them is another question."""


def why_no_window() -> str | None:
    """Why no window can be opened, as the beginning of a sentence; None where one can."""
    if not sys.platform.startswith("linux"):
        return None
    platform = os.environ.get("QT_QPA_PLATFORM", "").partition(":")[0].partition(";")[0]
    if platform in WITHOUT_A_SCREEN:
        return _what_is_missing()
    if platform and not platform.startswith(("xcb", "wayland")):
        return f'QT_QPA_PLATFORM is "{platform}", on which no window opens; unset it, or set it to xcb or wayland'
    return _why_no_screen(platform) or _what_is_missing()


def _why_no_screen(platform: str) -> str | None:
    """Why no screen answers on a platform of Qt, either of the two where none is named."""
    tried = {
        "xcb": ("DISPLAY", _x_answers),
        "wayland": ("WAYLAND_DISPLAY", _wayland_answers),
    }
    asked = {name: tried[name] for name in tried if platform.startswith(name) or not platform}
    named = {variable: answers for variable, answers in asked.values() if os.environ.get(variable)}
    if not named:
        variables = [variable for variable, _ in asked.values()]
        which = f"{variables[0]} is not set" if len(asked) == 1 else f"neither {' nor '.join(variables)} is set"
        return f"there is no screen ({which}){_over_ssh()}"
    if any(answers() for answers in named.values()):
        return None
    silent = " and ".join(f"{variable}={os.environ[variable]}" for variable in named)
    return f"no screen answers at {silent}{_over_ssh()}"


def _over_ssh() -> str:
    """What to do where the program was begun from another machine."""
    return ": connect anew with ssh -X to have the window at yours" if os.environ.get("SSH_CONNECTION") else ""


def _what_is_missing() -> str | None:
    missing = [package for library, package in QT_NEEDS.items() if not _loads(library)]
    if missing:
        return f"libraries for windows are missing (Debian and Ubuntu: apt install {' '.join(missing)})"
    return None


def _loads(library: str) -> bool:
    """Whether a library is there and whole."""
    name = find_library(library)
    try:
        return name is not None and ctypes.CDLL(name) is not None
    except OSError:
        return False


def _wayland_answers() -> bool:
    """Whether the Wayland server that WAYLAND_DISPLAY names, in XDG_RUNTIME_DIR, takes a connection."""
    if os.environ.get("WAYLAND_SOCKET"):
        return True
    path = Path(os.environ.get("XDG_RUNTIME_DIR", ""), os.environ["WAYLAND_DISPLAY"])
    if not path.is_absolute():
        return False
    try:
        with socket.socket(socket.AF_UNIX) as connection:
            connection.settimeout(5)
            connection.connect(str(path))
    except OSError:
        return False
    return True


def _x_answers() -> bool:
    """Whether the X server that DISPLAY names takes a connection."""
    name = find_library("xcb")
    if name is None:
        return True
    xcb = ctypes.CDLL(name)
    xcb.xcb_connect.restype = ctypes.c_void_p
    xcb.xcb_connect.argtypes = [ctypes.c_char_p, ctypes.POINTER(ctypes.c_int)]
    xcb.xcb_connection_has_error.argtypes = [ctypes.c_void_p]
    xcb.xcb_disconnect.argtypes = [ctypes.c_void_p]
    connection = xcb.xcb_connect(None, None)
    error = xcb.xcb_connection_has_error(connection)
    xcb.xcb_disconnect(connection)
    return error == 0
