"""Palettes as lists of paints: a few to begin with, and files of one's own. For instance

    format = "sitterlight-palette/1"
    title = "outdoors"
    paints = ["PW6", "PY43", "PR101 transparent", "PB29", "my red earth.toml"]

Files of measured tubes are found relative to the palette's file.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import tomli_w

from sitterlight.shading.atomic import write_text
from sitterlight.shading.file_names import relative_name
from sitterlight.shading.paints import DEFAULT_PALETTE, PaintError, paints
from sitterlight.shading.sitting_rules import check_is_here, shown
from sitterlight.shading.toml_file import read_toml

FORMAT = "sitterlight-palette/1"
MOST_TUBES = 200

PALETTES: dict[str, tuple[str, ...]] = {
    "for flesh": DEFAULT_PALETTE,
    "four tubes": ("PW6", "PY43", "PR108", "PBk9"),
    "earths and one blue": ("PW6", "PY43", "PBr7 raw sienna", "PBr7 burnt sienna", "PBr7 burnt umber", "PB29"),
    "transparent darks": ("PW6", "PY42 transparent", "PR101 transparent", "PV19", "PB29", "PG18", "PBr7 burnt umber"),
    "nothing marked toxic": (
        "PW6",
        "PY42 yellow oxide",
        "PR101 transparent",
        "PR101 red oxide",
        "PV19",
        "PB29",
        "PBk9",
    ),
}
"""Palettes to begin with, by their titles."""


@dataclass(frozen=True)
class PaletteFile:
    """A palette with its title; names of files in it are relative to `folder`."""

    title: str
    paints: tuple[str, ...]
    folder: Path


def read_palette(path: str | Path) -> PaletteFile:
    """The palette in a file. Raises PaintError, one sentence that begins with the file's name, for a bad one."""
    path = Path(path)
    try:
        given = read_toml(path, empty=f'is empty; a palette begins with format = "{FORMAT}"')
        unknown = [key for key in given if key not in ("format", "title", "paints")]
        if given.get("format") != FORMAT:
            raise PaintError(_wrong_format(given.get("format")))
        if unknown:
            raise PaintError(f"{shown(unknown[0])} is not a key of a palette; allowed are format, title, paints")
        names, title = given.get("paints"), given.get("title", path.stem)
        if not isinstance(names, list) or not 1 <= len(names) <= MOST_TUBES or not all(map(_is_name, names)):
            raise PaintError(f'paints must be an array of 1 to {MOST_TUBES} paints such as ["PW6", "PY43"]')
        if not _is_name(title):
            raise PaintError("title must be one line of 1 to 200 letters")
        for name in names:
            check_is_here(name, "a paint")
        folder = path.absolute().parent
        paints(tuple(names), folder)
    except ValueError as error:
        raise PaintError(f"{path}: {error}") from None
    return PaletteFile(title.strip(), tuple(names), folder)


def _wrong_format(written: object) -> str:
    if written is None:
        return f'format is missing; a palette begins with format = "{FORMAT}"'
    if isinstance(written, str) and re.fullmatch(r"sitterlight-palette/([2-9]|[1-9][0-9]{1,5})", written):
        return f'format is "{written}", from a newer Sitterlight; update this one, which reads "{FORMAT}"'
    return f'format is {shown(written)}; it must be "{FORMAT}"'


def write_palette(names: tuple[str, ...], folder: Path | None, path: str | Path, title: str = "") -> None:
    """Write a palette, its own tubes relative to the new file; `folder` is where they start from now.

    OSError where the file cannot be written, PaintError for a paint that cannot be found.
    """
    paints(names, folder)
    path = Path(path)
    kept = [moved(name, folder, path.absolute().parent) for name in names]
    write_text(path, tomli_w.dumps({"format": FORMAT, "title": title or path.stem, "paints": kept}))


def moved(name: str, folder: Path | None, to: Path | None) -> str:
    """The name of a paint as it is written in another folder: unchanged but for files of measured tubes."""
    if not name.lower().endswith(".toml"):
        return name
    here = (Path(folder or ".") / name).absolute()
    return str(here) if to is None else relative_name(here, to)


def is_palette(path: Path) -> bool:
    """Whether a file says that it is a palette."""
    try:
        return str(read_toml(path).get("format", "")).startswith("sitterlight-palette/")
    except ValueError:
        return False


def tubes_named(names: list[str], folder: Path | None = None) -> tuple[str, ...]:
    """The names with those of palette files replaced by what the files hold."""
    found: list[str] = []
    for name in names:
        path = Path(folder or ".") / name
        if name.lower().endswith(".toml") and is_palette(path):
            palette = read_palette(path)
            found += [moved(one, palette.folder, folder) for one in palette.paints]
        else:
            found.append(name)
    return tuple(found)


def _is_name(value: object) -> bool:
    return isinstance(value, str) and 1 <= len(value.strip()) <= 200 and value.isprintable()
