"""The head that a sitting names, with its planes as the sitting has them."""

from __future__ import annotations

from pathlib import Path

from sitterlight.meshes.head import Head
from sitterlight.meshes.library import load_head
from sitterlight.shading.sitting import HeadSetting


def head_of(setting: HeadSetting, folder: Path | None = None) -> Head:
    """The head of a setting; a relative path is taken from `folder`. ValueError, one sentence, where there is none."""
    return load_head(setting.mesh, folder, setting.unit, setting.up, setting.front, setting.planes, setting.plane)


def as_found(setting: HeadSetting, folder: Path | None = None) -> Head:
    """The head before any plane was joined or named by hand: edits count by its planes."""
    return load_head(setting.mesh, folder, setting.unit, setting.up, setting.front, setting.planes)
