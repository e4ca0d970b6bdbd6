"""How much of the machine's memory remembered results may hold: a sixth, between two bounds.

`SITTERLIGHT_MEMORY` in the environment names another amount, in megabytes.
"""

from __future__ import annotations

import os
from contextlib import suppress

from sitterlight.meshes.machine import machine_memory

LEAST, MOST = 256e6, 600e6
"""Bytes. The most is what a sitting on the bust with a second one held beside it uses, and some steps back from it."""

SHARE = 1 / 6
"""With a quarter, a machine of 2 GB had too little left for a sheet of a second head."""


def most_remembered() -> float:
    """Bytes that all remembered results together may hold. What is named but no number of megabytes counts as not
    named: a program is not ended for it."""
    with suppress(ValueError):
        named = float(os.environ.get("SITTERLIGHT_MEMORY", ""))
        if 0 <= named < float("inf"):
            return named * 1e6
    return min(max(SHARE * machine_memory(), LEAST), MOST)
