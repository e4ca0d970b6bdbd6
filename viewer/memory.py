"""What the window remembers from one time to the next, in a file of its own.

`SITTERLIGHT_SETTINGS` in the environment names another folder for it.
"""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs
from PyQt6.QtCore import QSettings

MOST_RECENT = 8


def settings() -> QSettings:
    """The settings of the window."""
    folder = Path(os.environ.get("SITTERLIGHT_SETTINGS") or platformdirs.user_config_dir("sitterlight"))
    folder.mkdir(parents=True, exist_ok=True)
    return QSettings(str(folder / "window.ini"), QSettings.Format.IniFormat)


def recent_files() -> list[Path]:
    """Sittings opened or saved lately that are still there, the last first."""
    names = settings().value("recent", []) or []
    names = [names] if isinstance(names, str) else names
    return [Path(name) for name in names if Path(name).is_file()]


def remember_file(path: Path) -> None:
    """Put a file at the head of the recent ones."""
    path = path.absolute()
    names = [str(path), *(str(other) for other in recent_files() if other != path)]
    settings().setValue("recent", names[:MOST_RECENT])
