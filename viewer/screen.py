"""Whether a window can be opened here, found out before Qt, which would end the program instead."""

from __future__ import annotations

import ctypes
import os
import sys
from ctypes.util import find_library

QT_NEEDS = {
    "xcb-cursor": "libxcb-cursor0",
    "xkbcommon-x11": "libxkbcommon-x11-0",
    "GL": "libgl1",
    "EGL": "libegl1",
}
"""Libraries that Qt and VTK load on Linux, and the Debian packages that hold them."""


def why_no_window() -> str | None:
    """Why no window can be opened, as the beginning of a sentence; None where one can."""
    if not sys.platform.startswith("linux"):
        return None
    platform = os.environ.get("QT_QPA_PLATFORM", "")
    if platform and not platform.startswith(("xcb", "wayland")):
        return None
    has_x, has_wayland = bool(os.environ.get("DISPLAY")), bool(os.environ.get("WAYLAND_DISPLAY"))
    if not has_x and not has_wayland:
        return "there is no screen (neither DISPLAY nor WAYLAND_DISPLAY is set)"
    missing = [package for library, package in QT_NEEDS.items() if find_library(library) is None]
    if missing:
        return f"libraries for windows are missing (Debian and Ubuntu: apt install {' '.join(missing)})"
    if has_x and not has_wayland and not _answers():
        return f"the screen DISPLAY={os.environ['DISPLAY']} does not answer"
    return None


def _answers() -> bool:
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
