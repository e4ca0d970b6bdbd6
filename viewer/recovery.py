"""A sitting that was being edited comes back after a crash, with the one held beside it. Without Qt.

Each running window keeps one file beside the settings with what it shows, as long as that is not saved, and holds a
lock that the system lets go of when the program ends. A file whose lock can be taken was left by a program that is
gone. Reading runs nothing; a file that is damaged is passed over, and stays.
"""

from __future__ import annotations

import json
import os
import secrets
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from sitterlight.illuminants.files import read_bytes
from sitterlight.shading.atomic import write_text
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sitting_file import from_dict, to_json
from sitterlight.viewer.folders import Lock, settings_folder

FORMAT = "sitterlight-unsaved/1"
LARGEST_FILE = 2_000_000
"""Bytes."""

MOST_OFFERED = 20


@dataclass(frozen=True, eq=False)
class Unsaved:
    """A sitting that a program left unsaved when it ended.

    `beside` is the sitting that was held beside it, or None; `path` the file it belongs to, or None; `digest` that
    file's content when it was read; `when` the time of the last change in seconds. Its file is locked, so that no other
    window offers it too.
    """

    sitting: Sitting
    beside: Sitting | None
    path: Path | None
    digest: str | None
    when: float
    file: Path
    lock: Lock

    def throw_away(self) -> None:
        """It has been brought back or is not wanted."""
        with suppress(OSError):
            self.file.unlink(missing_ok=True)
        self.lock.let_go(remove=True)

    def leave(self) -> None:
        """Leave it for the next window that opens."""
        self.lock.let_go()


def unsaved_folder() -> Path:
    """Where these files lie."""
    return settings_folder() / "unsaved"


class Recovery:
    """This window's own file, which is there while what the window shows is unsaved."""

    def __init__(self):
        self._lock: Lock | None = None
        self._file: Path | None = None

    def keep(
        self, sitting: Sitting, path: Path | None, digest: str | None = None, beside: Sitting | None = None
    ) -> bool:
        """Write the sitting and the one held beside it; whether that could be done. The window goes on where nothing
        can be written."""
        table = {
            "format": FORMAT,
            "path": None if path is None else str(path.absolute()),
            "digest": digest,
            "when": time.time(),
            **_written(sitting),
            "beside": None if beside is None else _written(beside),
        }
        try:
            if self._lock is None:
                self._begin()
            write_text(self._file, json.dumps(table, ensure_ascii=True, indent=1))
        except (OSError, ValueError):
            return False
        return True

    def _begin(self) -> None:
        folder = unsaved_folder()
        folder.mkdir(parents=True, exist_ok=True)
        name = f"{os.getpid()}-{secrets.token_hex(4)}"
        lock = Lock(folder / f"{name}.lock")
        if not lock.take():
            raise OSError("somebody else holds a name that nobody else can have")
        self._lock, self._file = lock, folder / f"{name}.json"

    def forget(self) -> None:
        """What the window shows is saved, or given up: nothing is to come back."""
        if self._file is not None:
            with suppress(OSError):
                self._file.unlink(missing_ok=True)

    def end(self) -> None:
        """The window closes as it should."""
        self.forget()
        if self._lock is not None:
            self._lock.let_go(remove=True)
        self._lock = self._file = None


def left_unsaved() -> list[Unsaved]:
    """What programs that are gone have left, the last first, each of them held from now on."""
    found = []
    with suppress(OSError):
        files = [path for path in unsaved_folder().iterdir() if path.suffix == ".json"]
        for file in sorted(files, key=_age)[:MOST_OFFERED]:
            one = _held(file)
            if one is not None:
                found.append(one)
        _tidy()
    return sorted(found, key=lambda one: -one.when)


def _age(file: Path) -> float:
    try:
        return -file.stat().st_mtime
    except OSError:
        return 0.0


def _held(file: Path) -> Unsaved | None:
    """What a file holds, where the program that wrote it is gone and it is whole."""
    lock = Lock(file.with_suffix(".lock"))
    try:
        if not lock.take():
            return None
        return Unsaved(*_read(file), file, lock)
    except (OSError, ValueError, TypeError, RecursionError, OverflowError):
        # Damaged; it may also have been taken away by the window that held it a moment ago.
        lock.let_go(remove=not file.exists())
        return None


def _written(sitting: Sitting) -> dict:
    return {"folder": None if sitting.folder is None else str(sitting.folder), "sitting": to_json(sitting)}


def _read(file: Path) -> tuple[Sitting, Sitting | None, Path | None, str | None, float]:
    """ValueError or TypeError where the file is not one of ours, or damaged."""
    table = json.loads(read_bytes(file, LARGEST_FILE).decode("utf-8"))
    if not isinstance(table, dict) or table.get("format") != FORMAT:
        raise ValueError(f"{file.name} holds no unsaved sitting.")
    path, digest = (_text(table.get(name)) for name in ("path", "digest"))
    when = table["when"] if isinstance(table.get("when"), int | float) else 0.0
    time.localtime(when)  # a time that a clock can show
    beside = None  # as in files of earlier versions
    if isinstance(table.get("beside"), dict):
        with suppress(ValueError, TypeError):
            beside = _sitting(table["beside"])
    return _sitting(table), beside, None if path is None else Path(path), digest, float(when)


def _sitting(table: dict) -> Sitting:
    folder = _text(table.get("folder"))
    return from_dict(table.get("sitting"), None if folder is None else Path(folder))


def _text(value: object) -> str | None:
    if value is not None and (not isinstance(value, str) or "\0" in value or len(value) > 5000):
        raise ValueError("A text was expected.")
    return value


def _tidy() -> None:
    """Take away the locks of programs that were killed before they had written anything, and half-written files."""
    for file in unsaved_folder().iterdir():
        age = time.time() - file.stat().st_mtime
        if file.suffix == ".lock" and age > 60 and not file.with_suffix(".json").exists():
            lock = Lock(file)
            if lock.take():
                lock.let_go(remove=True)
        elif file.suffix == ".part" and age > 3600:
            file.unlink(missing_ok=True)
