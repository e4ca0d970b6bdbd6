"""What the window remembers from one time to the next, in a file of its own.

The file is JSON with texts, rows of texts and bytes; anything else in it is passed over, and reading it runs nothing.
`SITTERLIGHT_SETTINGS` in the environment names another folder for it.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from PyQt6.QtCore import QByteArray

from sitterlight.shading.atomic import write_text
from sitterlight.viewer.folders import one_at_a_time, settings_folder

MOST_RECENT = 8
LARGEST_FILE = 1_000_000
"""Bytes."""

_ROWS = ("recent", "first_steps", "day_planes")
_BYTES = ("geometry", "docks")
_unwritten: dict[str, dict[str, object]] = {}


class Settings:
    """Values by name: rows of texts, bytes, or one text, as their names demand.

    Every change is written at once, into the file as it then is, so that two windows keep what the other wrote. Where
    nothing can be written, what is set is remembered until the program ends.
    """

    def __init__(self, path: Path):
        self._path = path

    def fileName(self) -> str:
        """The file, whether it is there or not."""
        return str(self._path)

    def contains(self, name: str) -> bool:
        """Whether there is a value of that name."""
        return name in self._known()

    def value(self, name: str, default: object = None) -> object:
        """The value of that name: a list of texts, a QByteArray or a text."""
        return self._known().get(name, default)

    def setValue(self, name: str, value: object) -> None:
        """Keep a value."""
        self.change(name, lambda _old: value)

    def change(self, name: str, changed: Callable[[object], object]) -> None:
        """Keep what `changed` makes of the old value, None where there is none, while no other window writes."""
        with suppress(OSError):
            self._path.parent.mkdir(parents=True, exist_ok=True)
        with one_at_a_time(self._path.with_suffix(".lock")):
            known = self._known()
            value = changed(known.get(name))
            _unwritten.setdefault(self.fileName(), {})[name] = value
            try:
                written = {key: _written(one) for key, one in (known | {name: value}).items()}
                write_text(self._path, json.dumps(written, indent=1))
            except (OSError, ValueError):
                return
            _unwritten.pop(self.fileName(), None)

    def _known(self) -> dict[str, object]:
        return _read(self._path) | _unwritten.get(self.fileName(), {})


def _read(path: Path) -> dict[str, object]:
    """What the file holds, without what it should not."""
    try:
        if not path.is_file() or path.stat().st_size > LARGEST_FILE:
            return {}
        found = json.loads(path.read_bytes())
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    values = {name: _value(name, value) for name, value in found.items()}
    return {name: value for name, value in values.items() if value is not None}


def _value(name: str, value: object) -> object:
    """The value as its name demands; None where it is none."""
    if name in _BYTES:
        with suppress(ValueError, TypeError):
            return QByteArray(base64.b64decode(value, validate=True))
        return None
    if name in _ROWS:
        return value if isinstance(value, list) and all(_is_text(one) for one in value) else None
    return value if _is_text(value) else None


def _is_text(value: object) -> bool:
    return isinstance(value, str) and "\0" not in value and len(value) < 5000


def _written(value: object) -> object:
    return base64.b64encode(bytes(value)).decode() if isinstance(value, QByteArray) else value


def settings() -> Settings:
    """The settings of the window."""
    return Settings(settings_folder() / "window.json")


def recent_files() -> list[Path]:
    """Sittings opened or saved lately that are still there, the last first."""
    return [Path(name) for name in settings().value("recent", []) if _is_file(name)]


def _is_file(name: str) -> bool:
    try:
        return Path(name).is_file()
    except (OSError, ValueError):
        return False


def remember_file(path: Path) -> None:
    """Put a file at the head of the recent ones."""
    name = str(path.absolute())
    settings().change("recent", lambda old: [name, *(one for one in old or [] if one != name)][:MOST_RECENT])
    remember_folder(path)


def remember_folder(path: Path) -> None:
    """Propose this file's folder for the next one."""
    settings().setValue("folder", str(path.absolute().parent))
