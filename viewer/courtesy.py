"""Threads that calculate give way to the one that answers the user."""

from __future__ import annotations

import os
import sys
import threading
from contextlib import suppress

SWITCH = 0.001
"""Seconds after which a thread that calculates or loads modules in Python lets the window have its turn."""

LATER = 6
"""How much later than the window's own a thread has its turn, in the steps of Unix."""


def give_way() -> None:
    """Let the thread that calls this, and those it starts, come after the window's where both want a processor.

    Linux alone counts threads one by one; elsewhere nothing is done.
    """
    if sys.platform.startswith("linux"):
        with suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), LATER)


def take_short_turns() -> None:
    """Let no thread keep the window's waiting for long while it runs Python."""
    sys.setswitchinterval(SWITCH)
