"""Sitting files: reading them strictly, writing them with every default filled in.

Reading runs nothing and opens no other file. Paths inside a sitting stay as written, relative to the file; where a
sitting is written into another folder, its relative paths are rewritten to lead to the same files. What lies in the
file's folder or below is written by a relative path, so that the folder can be moved. What `as_written` gives reads
back equal.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import fields, replace
from pathlib import Path

import tomli_w

from sitterlight.shading.atomic import write_text
from sitterlight.shading.file_names import looks_like_path, named_from
from sitterlight.shading.sitting import FORMAT, Sitting
from sitterlight.shading.sitting_check import MESH_KEYS, sitting_from
from sitterlight.shading.sitting_rules import SittingError
from sitterlight.shading.toml_file import read_toml


def read_sitting(path: str | os.PathLike[str]) -> Sitting:
    """The sitting in a TOML file; SittingError, one sentence that begins with the path, where it is none."""
    path = Path(path)
    try:
        return from_dict(read_toml(path), path.absolute().parent)
    except ValueError as error:
        raise SittingError(f"{path}: {error}") from None


def write_sitting(sitting: Sitting, path: str | os.PathLike[str]) -> None:
    """Write the sitting whole or not at all; relative paths in it still lead to the same files.

    SittingError where a value is not allowed, OSError where the file cannot be written.
    """
    write_text(path, to_toml(as_written(sitting, path)))


def as_written(sitting: Sitting, path: str | os.PathLike[str]) -> Sitting:
    """The sitting as it is read back from a file of that name."""
    path = Path(path)
    # Where a link leads to the file it is read from two folders: what was absolute leads to its file from both.
    return moved_to(sitting, path.absolute().parent, shorten=not os.path.islink(path))


def to_toml(sitting: Sitting) -> str:
    """The text of the sitting's file; SittingError where a value is not allowed, so that it can be read."""
    table = to_dict(sitting)
    from_dict(table, sitting.folder)
    return tomli_w.dumps(table)


def to_dict(sitting: Sitting) -> dict:
    """The sitting as the tables of its file, all defaults filled in; a daylight's `when` is a datetime."""
    table = {
        "format": FORMAT,
        "title": sitting.title,
        "head": _plain(sitting.head),
        "skin": _plain(sitting.skin),
        "light": [{"name": light.name, "kind": light.kind} | _plain(light) for light in sitting.lights],
        "surround": _plain(sitting.surround),
        "eye": _plain(sitting.eye),
        "easel": _plain(sitting.easel),
        "palette": _plain(sitting.palette),
    }
    if not looks_like_path(sitting.head.mesh):
        for key in MESH_KEYS:
            table["head"].pop(key, None)
    elif sitting.head.plane:
        edits = [_plain(edit) for edit in sitting.head.plane]
        table["head"]["plane"] = [{key: value for key, value in edit.items() if value != []} for edit in edits]
    else:
        del table["head"]["plane"]
    if sitting.skin.reflectance is None:
        del table["skin"]["sheen_included"]
    if sitting.skin.amounts is not None:
        table["skin"]["amounts"] = dict(sitting.skin.amounts)
    if sitting.skin.colour is not None:
        colour = _plain(sitting.skin.colour)
        if "srgb" in colour:
            del colour["light"]
        table["skin"]["colour"] = colour
    return table


def to_json(sitting: Sitting) -> dict:
    """As to_dict, with dates as text, for JSON; from_dict reads it too."""
    table = to_dict(sitting)
    for light in table["light"]:
        if "when" in light:
            light["when"] = light["when"].isoformat()
    return table


def from_dict(table: Mapping, folder: Path | None = None) -> Sitting:
    """The sitting that the tables describe; SittingError as in sitting_check.sitting_from."""
    return sitting_from(table, folder)


def moved_to(sitting: Sitting, folder: Path, shorten: bool = True) -> Sitting:
    """The sitting as it has to be written in that folder: its paths lead to the same files as before, and are relative
    where they lie in it or below, but for absolute ones without `shorten`."""

    def moved(text: object) -> object:
        return named_from(text, sitting.folder, folder, shorten) if isinstance(text, str) else text

    def with_moved(setting, *names: str):
        return replace(setting, **{name: moved(getattr(setting, name)) for name in names if hasattr(setting, name)})

    skin = with_moved(sitting.skin, "reflectance")
    if skin.colour is not None:
        skin = replace(skin, colour=with_moved(skin.colour, "light"))
    return replace(
        sitting,
        head=with_moved(sitting.head, "mesh"),
        skin=skin,
        lights=tuple(with_moved(light, "spectrum") for light in sitting.lights),
        surround=with_moved(sitting.surround, "ground", "walls", "clothes"),
        easel=with_moved(sitting.easel, "light", "second_light"),
        palette=replace(
            sitting.palette,
            paints=tuple(moved(paint) for paint in sitting.palette.paints),
            base=moved(sitting.palette.base),
        ),
        folder=folder,
    )


def _plain(setting: object) -> dict:
    """The fields that are set, as TOML has them: arrays instead of tuples."""
    values = {item.name: getattr(setting, item.name) for item in fields(setting)}
    return {
        name: list(value) if isinstance(value, tuple) else value for name, value in values.items() if value is not None
    }


__all__ = [
    "SittingError",
    "as_written",
    "from_dict",
    "moved_to",
    "read_sitting",
    "to_dict",
    "to_json",
    "to_toml",
    "write_sitting",
]
