"""What the figures were measured on, in words."""

from __future__ import annotations

import os
import platform
from pathlib import Path

from sitterlight.shading.compiled import cores


def processor() -> str:
    """The processor's own name, where the system tells it."""
    facts = Path("/proc/cpuinfo")
    if facts.exists():
        for line in facts.read_text(encoding="utf-8", errors="replace").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or platform.machine()


def load() -> float | None:
    """Programs that want to run, mean of the last minute; None where the system doesn't tell."""
    try:
        return os.getloadavg()[0]
    except (AttributeError, OSError):
        return None


def described(before: float | None, after: float | None) -> str:
    """The machine and its load before and after, in one line."""
    loads = [f"{value:.1f}" for value in (before, after) if value is not None]
    busy = f"; load {' before, '.join(loads)} after" if len(loads) == 2 else ""
    count = cores()
    return (
        f"{processor()}, {count} core{'s' if count > 1 else ''}, {platform.system()}, "
        f"Python {platform.python_version()}{busy}"
    )
