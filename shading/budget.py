"""How much of the machine's memory remembered results may hold: a quarter, between two bounds.

`SITTERLIGHT_MEMORY` in the environment names another amount, in megabytes.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

LEAST, MOST = 256e6, 600e6
"""Bytes. The most is what a sitting on the bust with a second one held beside it uses, and some steps back from it."""

SHARE = 0.25
_GROUPS = (Path("/sys/fs/cgroup/memory.max"), Path("/sys/fs/cgroup/memory/memory.limit_in_bytes"))


def most_remembered() -> float:
    """Bytes that all remembered results together may hold. What is named but no number of megabytes counts as not
    named: a program is not ended for it."""
    with suppress(ValueError):
        named = float(os.environ.get("SITTERLIGHT_MEMORY", ""))
        if 0 <= named < float("inf"):
            return named * 1e6
    return min(max(SHARE * machine_memory(), LEAST), MOST)


def machine_memory() -> float:
    """Bytes that this program may use at most: what the machine has, or less where it has been given less; without
    bound where the system doesn't say."""
    return min(_limits(), default=float("inf"))


def _limits() -> Iterator[float]:
    with suppress(AttributeError, ValueError, OSError):
        yield float(os.sysconf("SC_PAGE_SIZE")) * os.sysconf("SC_PHYS_PAGES")
    for group in _GROUPS:
        with suppress(OSError, ValueError):
            yield float(group.read_text(encoding="ascii"))
    with suppress(ImportError, OSError, ValueError):
        import resource

        given = resource.getrlimit(resource.RLIMIT_AS)[0]
        if given != resource.RLIM_INFINITY:
            yield float(given)
