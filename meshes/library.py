"""Finding a head by its name, or reading one from a file."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from sitterlight.meshes.bust import load_bust
from sitterlight.meshes.foreign import AXES, UNITS, read_head
from sitterlight.meshes.head import Head
from sitterlight.meshes.mesh_file import EXTENSIONS
from sitterlight.meshes.simple import cube, sphere

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
    mesh: str = "bust", folder: str | Path | None = None, unit: str = "mm", up: str = "+y", front: str = "+z"
) -> Head:
    """A built-in head by name, or the head in an OBJ, PLY, STL or GLB file.

    A relative path is taken from `folder`. unit ("mm", "cm", "m", "in") and the axes up and front
    ("+y", "-z" …) say how the file is to be read; built-in heads need none. Heads are kept in
    memory and a file is read again when it has changed. Raises ValueError with one sentence.
    """
    if mesh in _BUILT_IN:
        return _BUILT_IN[mesh]()
    path = Path(folder or ".", mesh).expanduser()
    if path.suffix.lower() not in EXTENSIONS:
        raise ValueError(
            f'"{mesh}" is neither a built-in head ({", ".join(_BUILT_IN)}) nor a mesh file ({", ".join(EXTENSIONS)}).'
        )
    _check(unit, up, front)
    try:
        state = path.stat()
    except OSError:
        raise ValueError(f"{path}: there is no such mesh file.") from None
    return _read(path, unit, up, front, state.st_mtime_ns, state.st_size)


def _check(unit: str, up: str, front: str) -> None:
    if unit not in UNITS:
        raise ValueError(f'unit = "{unit}" is not known; allowed are {", ".join(UNITS)}.')
    for name, axis in (("up", up), ("front", front)):
        if axis not in AXES:
            raise ValueError(f'{name} = "{axis}" is not an axis; allowed are {", ".join(AXES)}.')
    if up[1] == front[1]:
        raise ValueError(f'up = "{up}" and front = "{front}" lie along the same axis; they must be at right angles.')


@lru_cache(maxsize=4)
def _read(path: Path, unit: str, up: str, front: str, _modified: int, _size: int) -> Head:
    return read_head(path, unit, up, front)
