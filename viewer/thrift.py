"""Memory that is no longer used, given back to the system. Without Qt.

The allocator of Linux keeps what large arrays have left free; while the window is used it would hold some hundreds of
megabytes that nothing needs. Elsewhere nothing has to be done.
"""

from __future__ import annotations

import ctypes
import sys
from contextlib import suppress


def give_back() -> bool:
    """Give back what is free; whether that could be asked for. Takes some milliseconds."""
    if sys.platform.startswith("linux"):
        with suppress(OSError, AttributeError):  # a C library without it
            ctypes.CDLL(None).malloc_trim(0)
            return True
    return False
