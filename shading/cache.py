"""What is dear to calculate, kept in the user's cache folder and never believed without its checksum.

`SITTERLIGHT_CACHE` in the environment names another folder; an empty value keeps nothing.
"""

from __future__ import annotations

import hashlib
import io
import os
from pathlib import Path

import numpy as np

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
    temporary = folder / f"{name}.{os.getpid()}.part"
    try:
        temporary.write_bytes(_MAGIC + hashlib.sha256(body).digest() + body)
        os.replace(temporary, folder / f"{name}.npz")
    except OSError:
        temporary.unlink(missing_ok=True)


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
        content = (folder / f"{name}.npz").read_bytes()
    except OSError:
        return None
    head = len(_MAGIC) + 32
    body = content[head:]
    if content[: len(_MAGIC)] != _MAGIC or hashlib.sha256(body).digest() != content[len(_MAGIC) : head]:
        return None
    with np.load(io.BytesIO(body), allow_pickle=False) as stored:
        return {key: stored[key] for key in stored.files}
