"""Memory that the machine gives this program: at most, and what of it is left now."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

OWN_GROUPS = Path("/proc/self/cgroup")
"""Where Linux says in which control groups this process is: "4:memory:/name" in the first version, "0::/name" in the
second (cgroups(7))."""

HELD_BY_GROUPS = Path("/sys/fs/cgroup")
_PLACES = {"memory": ("memory",), "": (".", "unified")}
_BOUNDS = ("memory.limit_in_bytes", "memory.max", "memory.high")
_HELD = ("memory.usage_in_bytes", "memory.current")
_FILES_READ = ("total_inactive_file", "inactive_file")
"""Of what a group holds, the copies of files, which give way at once."""

MACHINE = Path("/proc/meminfo")
OURS = Path("/proc/self/statm")


def machine_memory() -> float:
    """Bytes that this program may use at most: what the machine has, or less where it has been given less; without
    bound where the system doesn't say."""
    return min(_limits(), default=float("inf"))


def memory_left() -> float:
    """Bytes that this program may still take now, before it or another is ended for it; without bound where the system
    doesn't say."""
    return max(min(_left(), default=float("inf")), 0.0)


def _limits() -> Iterator[float]:
    with suppress(AttributeError, ValueError, OSError):
        yield float(os.sysconf("SC_PAGE_SIZE")) * os.sysconf("SC_PHYS_PAGES")
    for group in _groups():
        yield from _numbers(group, _BOUNDS)
    yield from _address_space()


def _left() -> Iterator[float]:
    with suppress(OSError, ValueError, StopIteration, IndexError):
        lines = MACHINE.read_text(encoding="ascii").splitlines()
        yield 1024.0 * int(next(line for line in lines if line.startswith("MemAvailable:")).split()[1])
    for group in _groups():
        for bound in _numbers(group, _BOUNDS):
            for held in _numbers(group, _HELD):
                yield bound - held + _files_of(group)
    for bound in _address_space():
        with suppress(OSError, ValueError, IndexError):
            yield bound - int(OURS.read_text(encoding="ascii").split()[0]) * os.sysconf("SC_PAGE_SIZE")


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


def _numbers(group: Path, names: tuple[str, ...]) -> Iterator[float]:
    for name in names:
        with suppress(OSError, ValueError):  # "max": no bound
            yield float((group / name).read_text(encoding="ascii"))


def _files_of(group: Path) -> float:
    with suppress(OSError, ValueError):
        told = dict(line.split(" ", 1) for line in (group / "memory.stat").read_text(encoding="ascii").splitlines())
        return next((float(told[name]) for name in _FILES_READ if name in told), 0.0)
    return 0.0


def _address_space() -> Iterator[float]:
    with suppress(ImportError, OSError, ValueError):
        import resource

        given = resource.getrlimit(resource.RLIMIT_AS)[0]
        if given != resource.RLIM_INFINITY:
            yield float(given)
