"""What is written beside its place, and what a killed program left there: found by its name, held by its writer.

While a file or folder is being written it has a name of ours and is locked; the system lets go of the lock when the
writer ends, however it ends. So what can be locked by somebody else was left behind, and is taken away. Windows locks
no folders and keeps open files from being removed by itself: there only what is an hour old goes.
"""

from __future__ import annotations

import os
import platform
import shutil
import tempfile
import time
import zlib
from contextlib import suppress
from itertools import islice
from pathlib import Path

ENDING = ".sitterlight.part"
MOST_LOOKED_AT = 20_000
"""Names in one folder; a folder of more is not searched to its end."""

HOUR, DAY = 3600.0, 86400.0
_HOST = f"{zlib.crc32(platform.node().encode()):08x}"  # another machine's locks may not reach a shared folder
_TRIES = 20


def begin_file(path: Path) -> tuple[int, Path]:
    """A new file beside `path`, open and held: its descriptor and its path. OSError where there can be none."""
    for _ in range(_TRIES):
        descriptor, name = tempfile.mkstemp(prefix=_prefix(path), suffix=ENDING, dir=path.parent)
        if _is_held(descriptor, name):
            return descriptor, Path(name)
        os.close(descriptor)
    raise OSError(f"nothing can be held beside {path.name}")


def begin_folder(folder: Path, place: Path) -> tuple[int | None, Path]:
    """A new folder in `place` for what goes into `folder`, held where the system holds folders: its descriptor and
    its path."""
    for _ in range(_TRIES):
        name = tempfile.mkdtemp(prefix=_prefix(folder), suffix=ENDING, dir=place)
        if os.name == "nt":
            return None, Path(name)
        with suppress(FileNotFoundError):
            descriptor = os.open(name, os.O_RDONLY)
            if _is_held(descriptor, name):
                return descriptor, Path(name)
            os.close(descriptor)
    raise OSError(f"nothing can be held beside {folder.name}")


def clear(place: Path) -> None:
    """Take away what killed programs of ours left in a folder; what cannot be stays, and nobody is troubled."""
    with suppress(OSError), os.scandir(place) as entries:
        left = [entry for entry in islice(entries, MOST_LOOKED_AT) if _is_ours(entry.name)]
        for entry in left:
            with suppress(OSError):
                _clear(entry)


def _clear(entry: os.DirEntry) -> None:
    is_folder = entry.is_dir(follow_symlinks=False)
    if not is_folder and not entry.is_file(follow_symlinks=False):
        return
    age = time.time() - entry.stat(follow_symlinks=False).st_mtime
    if age < (HOUR if os.name == "nt" else 0.0 if f".{_HOST}-" in entry.name else DAY):
        return
    if os.name == "nt":
        _remove(entry.path, is_folder)
        return
    descriptor = os.open(entry.path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
    try:
        if _lock(descriptor):
            _remove(entry.path, is_folder)
    finally:
        os.close(descriptor)


def _remove(path: str, is_folder: bool) -> None:
    if is_folder:
        shutil.rmtree(path, ignore_errors=True)
    else:
        os.unlink(path)


def _is_ours(name: str) -> bool:
    return name.startswith(".") and name.endswith(ENDING)


def _prefix(path: Path) -> str:
    return f".{path.name[:40]}.{_HOST}-"


def _is_held(descriptor: int, name: str) -> bool:
    """Hold what was just made; False where somebody took it for a leftover in the moment before."""
    if os.name == "nt":
        return True
    try:
        if not _lock(descriptor):
            return False
    except OSError:  # a file system that knows no locks: nobody else can lock it either
        return True
    with suppress(FileNotFoundError):
        return os.path.samestat(os.fstat(descriptor), os.stat(name))
    return False


def _lock(descriptor: int) -> bool:
    """Whether this opening of the file now holds it. OSError where nothing can be locked."""
    import fcntl

    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
