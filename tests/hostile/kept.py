"""What the program keeps for itself: remembered results, settings, and a sitting that was not saved.

Nobody asked for these files to be read, so that nothing is said of a bad one: it is passed over, and a reader here says
so in a sentence of its own. What is told of a file must be what such a file can hold, and the file must stay.
"""

from __future__ import annotations

import json
import os
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from hypothesis import strategies as st
from PyQt6.QtCore import QByteArray

from sitterlight.shading import cache
from sitterlight.shading.sitting import Sitting
from sitterlight.viewer.memory import recent_files, settings
from sitterlight.viewer.recovery import FORMAT, left_unsaved, unsaved_folder

from . import sittings

KEPT = {"a": np.arange(40.0), "b": np.zeros((3, 5), np.uint8)}

_VALUES = st.recursive(
    st.one_of(
        st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=20),
        st.sampled_from(("/", "/dev/zero", "a\0b", "~", "AAAA", "x" * 6000)),
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=2),
    max_leaves=4,
)  # fmt: skip
_NAMES = ("recent", "last_file", "last_built_in", "surround", "geometry", "docks", "first_steps", "folder", "else")


def _as_json(value: object) -> bytes:
    return json.dumps(value).encode()


SETTINGS = st.dictionaries(st.sampled_from(_NAMES), _VALUES, min_size=1).map(_as_json)


def cache_file() -> bytes:
    """The content of a file of the cache."""
    cache.remember("hostile", KEPT)
    return Path(cache.cache_folder(), "hostile.npz").read_bytes()


def cached(path: Path) -> None:
    """The cache may forget, but never tells anything but what it was told."""
    Path(cache.cache_folder(), "hostile.npz").write_bytes(path.read_bytes())
    found = cache.recall("hostile")
    if found is None:
        raise ValueError(f"{path}: passed over")
    for name, values in KEPT.items():
        if not np.array_equal(found[name], values):
            raise AssertionError("the cache told what it was never told")


@contextmanager
def _settings_in(folder: Path):
    before = os.environ.get("SITTERLIGHT_SETTINGS")
    os.environ["SITTERLIGHT_SETTINGS"] = str(folder)
    try:
        yield
    finally:
        os.environ.pop("SITTERLIGHT_SETTINGS")
        if before is not None:
            os.environ["SITTERLIGHT_SETTINGS"] = before


def settings_file(path: Path) -> None:
    """Each setting is of its own kind, or as if it were not there."""
    with _settings_in(path.parent / "settings"):
        path.parent.joinpath("settings").mkdir(exist_ok=True)
        file = path.parent / "settings" / "window.json"
        file.write_bytes(path.read_bytes())
        kept = settings()
        files, held = recent_files(), [name for name in _NAMES if kept.contains(name)]
        for name in held:
            value = kept.value(name)
            rows = name in ("recent", "first_steps")
            texts = value if rows else [value]
            kind = QByteArray if name in ("geometry", "docks") else str
            if isinstance(value, list) != rows or not all(isinstance(text, kind) for text in texts):
                raise AssertionError(f"the setting {name} is of another kind")
        if not all(recent.is_file() for recent in files):
            raise AssertionError("a file that is not there counts as recent")
        if not held:
            raise ValueError(f"{path}: passed over")


@st.composite
def unsaved(draw: st.DrawFn) -> dict:
    """What a window writes beside its settings, one value of it perhaps another."""
    found = {
        "format": FORMAT,
        "path": draw(st.none() | st.just("/somewhere/a.toml")),
        "digest": draw(st.none() | st.text(max_size=10)),
        "when": draw(st.floats(0, 4e9)),
        "folder": draw(st.none() | st.just("/somewhere")),
        "sitting": draw(sittings.tables() | sittings.wrong_tables()),
    }
    if draw(st.booleans()):
        found[draw(st.sampled_from(tuple(found)))] = draw(_VALUES)
    return found


UNSAVED = unsaved().map(lambda found: json.dumps(found, default=str).encode())


def unsaved_file(path: Path) -> None:
    """A sitting is offered or none is, and the file stays as it is."""
    with _settings_in(path.parent / "settings"):
        unsaved_folder().mkdir(parents=True, exist_ok=True)
        file, content = unsaved_folder() / "1-aa.json", path.read_bytes()
        file.write_bytes(content)
        found = left_unsaved()
        for one in found:
            one.leave()
            if not isinstance(one.sitting, Sitting):
                raise AssertionError("what was offered is no sitting")
        if file.read_bytes() != content:
            raise AssertionError("the file is no longer what it was")
        if not found:
            raise ValueError(f"{path}: passed over")
