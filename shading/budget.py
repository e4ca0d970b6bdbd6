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

OWN_GROUPS = Path("/proc/self/cgroup")
"""Where Linux says in which control groups this process is: "4:memory:/name" in the first version, "0::/name" in the
second (cgroups(7))."""

HELD_BY_GROUPS = Path("/sys/fs/cgroup")
_PLACES = {"memory": ("memory",), "": (".", "unified")}
_FILES = ("memory.limit_in_bytes", "memory.max", "memory.high")


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
    for group in _groups():
        for name in _FILES:
            with suppress(OSError, ValueError):  # "max": no bound
                yield float((group / name).read_text(encoding="ascii"))
    with suppress(ImportError, OSError, ValueError):
        import resource

        given = resource.getrlimit(resource.RLIMIT_AS)[0]
        if given != resource.RLIM_INFINITY:
            yield float(given)


def _groups() -> Iterator[Path]:
    """Folders of the control groups that may bound this process: its own and all above it. In a container the names
    may be those outside it; its own bound then stands in the uppermost folder."""
    try:
        lines = OWN_GROUPS.read_text(encoding="utf-8", errors="surrogateescape").splitlines()
    except OSError:
        return
    for line in lines:
        _, kinds, name = (*line.split(":", 2), "", "")[:3]
        for place in (place for kind in kinds.split(",") for place in _PLACES.get(kind, ())):
            own = Path(name.lstrip("/"))
            for group in (own, *own.parents):
                yield HELD_BY_GROUPS / place / group
