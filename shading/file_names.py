"""Names of files as a sitting or a palette writes them: such that its folder can be moved with all that lies in it.

What lies in the folder or below is named from there, with forward slashes; an absolute name of a file elsewhere stays.
Symbolic links are named, never what they lead to.
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

FILE_ENDINGS = (".csv", ".tsv", ".txt", ".toml", ".obj", ".ply", ".stl", ".glb", ".gltf")


def looks_like_path(text: str) -> bool:
    """Whether a text names a file rather than something built in."""
    return "/" in text or "\\" in text or text.lower().endswith(FILE_ENDINGS)


def named_within(path: Path, folder: Path) -> str | None:
    """The name of an absolute path from a folder that it lies in or below, whatever the folder is called there; None
    where it lies elsewhere."""
    for above in path.parents:
        if above == folder or _is_same(above, folder):
            within = path.relative_to(above)
            return None if ".." in within.parts else _as_file(within)
    return None


def named_from(text: str, here: Path | None, there: Path, shorten: bool = True) -> str:
    """The name of a file as `there` has to write it, where `here` calls it `text`; what is built in keeps its name.

    `here` None: relative names start from `there` already. `shorten`: absolute names become relative within `there`.
    """
    if not looks_like_path(text):
        return text
    path = Path(text)
    if here is None and text.startswith("~"):
        with suppress(RuntimeError):  # of a user whom nobody knows
            path = path.expanduser()
    if path.is_absolute():
        return (named_within(path, there) if shorten else None) or str(path)
    if here is None or here == there:
        return text
    return relative_name((here / path).absolute(), there)


def relative_name(path: Path, folder: Path) -> str:
    """The name of an absolute path from a folder, absolute only where no relative one leads there."""
    return named_within(path, folder) or _around(path, folder) or str(path)


def _around(path: Path, folder: Path) -> str | None:
    """A relative name that leads out of the folder first; None where there is none: on another drive, or where a link
    on the way would lead elsewhere."""
    with suppress(ValueError, OSError):
        name = Path(os.path.relpath(path, folder))
        if os.path.realpath(folder / name) == os.path.realpath(path):
            return _as_file(name)
    return None


def _as_file(name: Path) -> str:
    """The relative name such that it is taken for that of a file, and for nothing else."""
    text = name.as_posix()
    plain = looks_like_path(text) and text == text.strip() and not text.startswith("~")
    return text if plain else f"./{text}"


def _is_same(one: Path, other: Path) -> bool:
    try:
        return os.path.samefile(one, other)
    except (OSError, ValueError):
        return False
