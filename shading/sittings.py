"""The built-in sittings: ordinary sitting files that come with the program."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sitting_file import read_sitting
from sitterlight.shading.sitting_rules import near_miss, shown

DEFAULT = "garden-overcast"
"""The sitting of `study` and of the window when none is asked for: deep skin under an overcast sky."""

_FOLDER = Path(__file__).parent / "sittings"


@lru_cache(maxsize=1)
def built_in_names() -> tuple[str, ...]:
    """The names of the built-in sittings, the default first, the others in order of the alphabet."""
    names = sorted(path.stem for path in _FOLDER.glob("*.toml"))
    return (DEFAULT, *(name for name in names if name != DEFAULT))


@lru_cache(maxsize=64)
def built_in(name: str = DEFAULT) -> Sitting:
    """The built-in sitting of that name; ValueError with near matches where there is none."""
    if name not in built_in_names():
        hint = near_miss(name, built_in_names())
        raise ValueError(f"there is no built-in sitting {shown(name)}{hint}; there are {', '.join(built_in_names())}")
    return replace(read_sitting(_FOLDER / f"{name}.toml"), folder=None)
