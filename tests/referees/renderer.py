"""Mitsuba 3, made ready: a vectorised variant whose three channels carry any three bands of the spectrum."""

from __future__ import annotations

import ctypes.util
import os
from functools import lru_cache
from pathlib import Path

VARIANT = "llvm_ad_rgb"


@lru_cache(maxsize=1)
def mitsuba():
    """The module `mitsuba` with its variant set. Raises ImportError where it or its LLVM is missing."""
    if "DRJIT_LIBLLVM_PATH" not in os.environ and (found := _newest_llvm()):
        os.environ["DRJIT_LIBLLVM_PATH"] = found
    import mitsuba as mi

    mi.set_variant(VARIANT)
    mi.set_log_level(mi.LogLevel.Error)
    try:
        import drjit as dr

        dr.eval(mi.Float(1) + 1)
    except Exception as problem:  # whatever the backend says, without LLVM there is no referee
        raise ImportError(f"Mitsuba's vectorised variants need LLVM (Debian: libllvm19): {problem}") from problem
    return mi


def _newest_llvm() -> str | None:
    """Debian's file of a plain run-time package has a version in its name, which the search of its own misses."""
    if ctypes.util.find_library("LLVM"):
        return None
    found = [path for folder in Path("/usr/lib").glob("*-linux-gnu") for path in folder.glob("libLLVM*.so*")]
    return str(max(found, key=_version)) if found else None


def _version(path: Path) -> int:
    digits = "".join(part if part.isdigit() else " " for part in path.name).split()
    return int(digits[0]) if digits else 0
