"""Finding a head by its name, or reading one from a file."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from sitterlight.meshes.bust import load_bust
from sitterlight.meshes.head import Head
from sitterlight.meshes.mesh_file import AXES, EXTENSIONS, GUESS, UNITS
from sitterlight.meshes.plane_edits import PlaneEdit
from sitterlight.meshes.simple import cube, sphere

if TYPE_CHECKING:
    from sitterlight.meshes.foreign import Gathered, Prepared

_BUILT_IN = {"bust": load_bust, "sphere": sphere, "cube": cube}
_DESCRIPTIONS = {
    "bust": "a calm adult head with neck and shoulders, eyes and named planes",
    "sphere": "a ball of 200 mm across, eight planes",
    "cube": "a cube of 200 mm with sharp corners, six planes",
}


def head_names() -> tuple[str, ...]:
    """The names of the built-in heads."""
    return tuple(_BUILT_IN)


def head_description(name: str) -> str:
    """One line on a built-in head. ValueError when there is none of that name."""
    if name not in _DESCRIPTIONS:
        raise ValueError(f'there is no built-in head "{name}"; there are: {", ".join(_BUILT_IN)}.')
    return _DESCRIPTIONS[name]


def load_head(
    mesh: str = "bust",
    folder: str | Path | None = None,
    unit: str = "mm",
    up: str = "+y",
    front: str = "+z",
    planes: int | None = None,
    edits: Sequence[PlaneEdit] = (),
) -> Head:
    """A built-in head by name, or the head in an OBJ, PLY, STL or GLB file.

    A relative path is taken from `folder`. unit ("mm", "cm", "m", "in") and the axes up and front
    ("+y", "-z" …) say how the file is to be read, each may be "guess"; `planes` how many there are to be, and `edits`
    which of them are joined or named by hand. Built-in heads need none of these. Heads are kept in memory and a file is
    read again when it has changed. Raises ValueError with one sentence.
    """
    if mesh in _BUILT_IN:
        return _BUILT_IN[mesh]()
    path = _path(mesh, folder)
    _check(unit, up, front)
    return _head(path, unit, up, front, *_state(path), planes, tuple(edits))


def gathered_mesh(mesh: str | Path, folder: str | Path | None = None) -> Gathered:
    """What a mesh file holds, with a guess at unit and axes. Raises ValueError with one sentence."""
    from sitterlight.meshes.foreign import gather

    path = _path(str(mesh), folder)
    return gather(path, *_state(path))


def _path(mesh: str, folder: str | Path | None) -> Path:
    path = Path(folder or ".", mesh)
    with suppress(RuntimeError):  # of a user whom nobody knows
        path = path.expanduser()
    if path.suffix.lower() not in EXTENSIONS:
        raise ValueError(
            f'"{mesh}" is neither a built-in head ({", ".join(_BUILT_IN)}) nor a mesh file ({", ".join(EXTENSIONS)}).'
        )
    return path


def _state(path: Path) -> tuple[int, int]:
    try:
        state = path.stat()
    except UnicodeEncodeError:
        raise ValueError(
            f"{path}: the language that this terminal is set to has no such letters in names of files; set LC_ALL to"
            " C.UTF-8."
        ) from None
    except (OSError, ValueError):  # ValueError: a name with a zero byte
        raise ValueError(f"{path}: there is no such mesh file.") from None
    return state.st_mtime_ns, state.st_size


def _check(unit: str, up: str, front: str) -> None:
    if unit not in (*UNITS, GUESS):
        raise ValueError(f'unit = "{unit}" is not known; allowed are {", ".join(UNITS)}, {GUESS}.')
    for name, axis in (("up", up), ("front", front)):
        if axis not in (*AXES, GUESS):
            raise ValueError(f'{name} = "{axis}" is not an axis; allowed are {", ".join(AXES)}, {GUESS}.')
    if up[1] == front[1] and GUESS not in (up, front):
        raise ValueError(f'up = "{up}" and front = "{front}" lie along the same axis; they must be at right angles.')


@lru_cache(maxsize=8)
def _head(
    path: Path,
    unit: str,
    up: str,
    front: str,
    modified: int,
    size: int,
    planes: int | None,
    edits: tuple[PlaneEdit, ...],
) -> Head:
    prepared = _prepared(path, unit, up, front, modified, size)
    try:
        return prepared.head(planes, edits)
    except ValueError as problem:
        raise ValueError(f"{path}: {problem}") from None


@lru_cache(maxsize=3)
def _prepared(path: Path, unit: str, up: str, front: str, modified: int, size: int) -> Prepared:
    from sitterlight.meshes.foreign import prepare

    return prepare(path, unit, up, front, modified, size)
