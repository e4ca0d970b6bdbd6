"""What decides a picture, as one short text: a picture kept under it is that of the sitting and of nothing else.

That is the sitting, all of it; what the files that it names hold; where it is looked at from and in which view; and the
program with the libraries that calculate, so that a newer one never shows what an older one found.
"""

from __future__ import annotations

import hashlib
import os
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from sitterlight.shading.file_names import looks_like_path
from sitterlight.shading.frame import Gaze, gaze_of
from sitterlight.shading.sitting import Sitting

_FORMAT = 1
_ROOMS = ("illuminants", "meshes", "shading", "viewer")
LARGEST_FILE = 200_000_000
"""Bytes of a file that is read for its key; no picture is kept of a sitting that names a larger one."""


def picture_key(sitting: Sitting, gaze: Gaze | None = None, view: str = "as seen", mark: bool = True) -> str | None:
    """The key of a picture from `gaze`, or from where the sitting's own eye stands; None where a file that decides it
    cannot be read, or the program's own files."""
    try:
        program, files = program_key(), [_content(path) for path in _files(sitting)]
    except OSError:
        return None
    looked = tuple(map(float, gaze or gaze_of(sitting)))
    told = repr((_FORMAT, program, replace(sitting, folder=None), files, looked, view, mark))
    return hashlib.sha256(told.encode()).hexdigest()[:32]


def _files(sitting: Sitting) -> Iterator[Path]:
    """The files that decide how a sitting looks."""
    skin, surround = sitting.skin, sitting.surround
    named = [sitting.head.mesh, skin.reflectance, skin.colour and skin.colour.light]
    named += [getattr(light, "spectrum", None) for light in sitting.lights]
    named += [surround.ground, surround.walls, surround.clothes]
    for text in named:
        if isinstance(text, str) and looks_like_path(text):
            yield Path(sitting.folder or ".", text).expanduser()


def _content(path: Path) -> str:
    if path.stat().st_size > LARGEST_FILE:
        raise OSError(f"{path} is larger than {LARGEST_FILE} bytes")
    return hashlib.sha256(path.read_bytes()).hexdigest()


@lru_cache(maxsize=1)
def program_key() -> str:
    """Changes with any file of the program and with what is installed beside it. OSError where these are no files."""
    digest = hashlib.sha256(f"{sys.version} {np.__version__}".encode())
    here, libraries = Path(__file__).parents[1], Path(np.__file__).parents[1]
    for line in (*_states(here), f"{libraries} {libraries.stat().st_mtime_ns}"):
        digest.update(line.encode("utf-8", "surrogateescape"))
    return digest.hexdigest()


def _states(folder: Path) -> list[str]:
    """Name, size and time of the last change of each file of the program."""
    told = []
    for room in _ROOMS:
        rest = [folder / room]
        while rest:
            with os.scandir(rest.pop()) as entries:
                for entry in entries:
                    if entry.is_dir():
                        if entry.name != "__pycache__":
                            rest.append(entry.path)
                        continue
                    state = entry.stat()
                    told.append(f"{room} {entry.path} {state.st_size} {state.st_mtime_ns}\n")
    return sorted(told)
