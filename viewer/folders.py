"""Where the window keeps what it knows from one time to the next, and locks between windows. Without Qt."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

PATIENCE = 2.0
"""Seconds to wait for another window that is just writing."""


def settings_folder() -> Path:
    """The user's folder for settings, made or not; `SITTERLIGHT_SETTINGS` in the environment names another."""
    named = os.environ.get("SITTERLIGHT_SETTINGS")
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_config_dir("sitterlight"))


class Lock:
    """A file that only one program holds at a time. The system lets go of it when the program ends, however it ends."""

    def __init__(self, path: Path):
        self.path = path
        self._file: int | None = None

    def take(self) -> bool:
        """Hold the file if nobody else does; OSError where there can be no such file, or none that can be held."""
        if self._file is not None:
            return True
        file = os.open(self.path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o600)
        try:
            _hold(file)
        except (BlockingIOError, PermissionError):
            os.close(file)
            return False
        except OSError:
            os.close(file)
            raise
        self._file = file
        return True

    def let_go(self, remove: bool = False) -> None:
        """Hold it no longer; with `remove` the file is taken away as well."""
        if self._file is None:
            return
        if remove and os.name != "nt":  # removed while it is held, so that nobody takes it in between
            self.path.unlink(missing_ok=True)
        os.close(self._file)
        self._file = None
        if remove:
            with suppress(OSError):
                self.path.unlink(missing_ok=True)


@contextmanager
def one_at_a_time(path: Path) -> Iterator[None]:
    """Keep other windows out meanwhile; after PATIENCE, or where nothing can be locked, go on without."""
    lock, until = Lock(path), time.monotonic() + PATIENCE
    with suppress(OSError):
        while not lock.take() and time.monotonic() < until:
            time.sleep(0.005)
    try:
        yield
    finally:
        lock.let_go()


def _hold(file: int) -> None:
    """OSError where another program, or another opening of the file, holds it."""
    if os.name == "nt":
        import msvcrt

        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
