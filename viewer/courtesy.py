"""Threads that calculate give way to the one that answers the user."""

from __future__ import annotations

import os
import sys
import threading
from contextlib import suppress

LATER = 6
"""How much later than the window's own a thread has its turn, in the steps of Unix."""


def give_way() -> None:
    """Let the thread that calls this, and those it starts, come after the window's where both want a processor.

    Linux alone counts threads one by one; elsewhere nothing is done.
    """
    if sys.platform.startswith("linux"):
        with suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), LATER)
