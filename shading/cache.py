"""What is dear to calculate, kept in the user's cache folder and never believed without its checksum.

`SITTERLIGHT_CACHE` in the environment names another folder; an empty value keeps nothing.
"""

from __future__ import annotations

import hashlib
import io
import os
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from zipfile import BadZipFile

import numpy as np

from sitterlight.illuminants.files import read_bytes
from sitterlight.shading.atomic import write_bytes

MOST_KEPT = 2_000_000_000
"""Bytes of all that is remembered on disk."""

_HALF_WRITTEN = 3600.0
_MAGIC = b"sitterlight-cache/1\n"


def cache_folder() -> Path | None:
    """The folder for remembered results, made if need be; None where none can be written."""
    named = os.environ.get("SITTERLIGHT_CACHE")
    if named == "":
        return None
    if named is None:
        import platformdirs

        named = platformdirs.user_cache_dir("sitterlight")
    folder = Path(named)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return folder


def remember(name: str, arrays: dict[str, np.ndarray]) -> None:
    """Write `arrays` under `name`, whole or not at all; a folder that can't be written is passed over."""
    folder = cache_folder()
    if folder is None:
        return
    content = io.BytesIO()
    np.savez(content, **arrays)
    body = content.getvalue()
    with suppress(OSError):
        write_bytes(folder / f"{name}.npz", _MAGIC + hashlib.sha256(body).digest() + body)
    _tidy(folder)


def _tidy(folder: Path) -> None:
    """Take away what a killed program left half written, and the oldest of what is more than MOST_KEPT."""
    with suppress(OSError):
        files = sorted(_ages(folder), reverse=True)
        kept = 0
        for age, size, file in files:
            if file.suffix == ".part":
                outdated = time.time() - age > _HALF_WRITTEN
            else:
                kept += size
                outdated = kept > MOST_KEPT
            if outdated:
                file.unlink(missing_ok=True)


def _ages(folder: Path) -> Iterator[tuple[float, int, Path]]:
    """Time of the last change, size and path of each of our files."""
    for file in folder.iterdir():
        if file.suffix in (".npz", ".part"):
            with suppress(OSError):
                state = file.stat()
                yield state.st_mtime, state.st_size, file


def holds(name: str) -> bool:
    """Whether something is kept under `name`; it may still turn out to have rotted."""
    folder = cache_folder()
    return folder is not None and (folder / f"{name}.npz").is_file()


def recall(name: str) -> dict[str, np.ndarray] | None:
    """What was remembered under `name`, or None where there is nothing or it has rotted."""
    folder = cache_folder()
    if folder is None:
        return None
    try:
        content = read_bytes(folder / f"{name}.npz", MOST_KEPT)
    except ValueError:
        return None
    head = len(_MAGIC) + 32
    body = content[head:]
    if content[: len(_MAGIC)] != _MAGIC or hashlib.sha256(body).digest() != content[len(_MAGIC) : head]:
        return None
    try:
        with np.load(io.BytesIO(body), allow_pickle=False) as stored:
            return {key: stored[key] for key in stored.files}
    except (ValueError, OSError, EOFError, AttributeError, BadZipFile):
        return None
