"""What is said of a mesh of the user's own, without Qt: what it is, how large with a unit, what was done to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sitterlight.meshes.mesh_file import GUESS, UNITS
from sitterlight.meshes.orientation import Guess, axes_matrix

if TYPE_CHECKING:
    from sitterlight.meshes.foreign import Gathered

UNIT_WORDS = {"mm": "millimetres", "cm": "centimetres", "m": "metres", "in": "inches"}
_DRESS = ("its own colours", "its materials")
_NO_REPAIR = ("guessed", "it is", "its origin", "the place between", *_DRESS)
_LEFT = ("left open", "brought down")


def described(mesh: Gathered) -> str:
    """One line: faces, parts, whether it is a head, unit and axes as guessed."""
    found = mesh.guess
    parts = "1 part" if mesh.parts == 1 else f"{mesh.parts} parts"
    what = "a head" if found.is_head else "a mesh"
    return f"{what} of {number(mesh.count)} faces in {parts}; {guessed(mesh)}"


def guessed(mesh: Gathered) -> str:
    """Unit and axes as guessed, and the size that follows."""
    found = mesh.guess
    size = millimetres(size_of(mesh, found.scale, found.up, found.front))
    if found.unit == GUESS:
        unit = f"no unit fits, brought to a head's size it is {size}"
    else:
        unit = f"unit probably {found.unit}" if found.unit_is_sure else f"unit perhaps {found.unit}"
        unit += f" ({size})"
    axes = "" if found.axes_are_sure else "perhaps "
    return f"{unit}, {axes}up {found.up}, front {found.front}"


def size_of(mesh: Gathered, scale: float, up: str, front: str) -> np.ndarray:
    """(3,) mm: width, height, depth."""
    member = mesh.vertices[np.unique(mesh.faces)]
    return np.ptp(member @ axes_matrix(up, front).T, axis=0) * scale


def millimetres(size: np.ndarray) -> str:
    """ "152 by 240 by 190 mm": width, height and depth."""
    return " by ".join(f"{length:.3g}" if length < 1000 else f"{length:.0f}" for length in size) + " mm"


def scale_of(unit: str, found: Guess) -> float:
    """mm per unit of the file."""
    return UNITS.get(unit, found.scale)


def judged(size: np.ndarray) -> str:
    """A sentence on a size: whether it is that of a head."""
    width, height, depth = size
    words = f"{width:.3g} mm wide, {height:.3g} mm high, {depth:.3g} mm deep"
    largest = float(size.max())
    if largest < 100:
        return f"{words}: small for a head."
    if largest > 1200:
        return f"{words}: large for a head."
    return f"{words}: about the size of a head or bust."


def number(count: int) -> str:
    """A number with spaces between thousands."""
    return f"{count:,}".replace(",", "\N{THIN SPACE}") if count >= 10_000 else str(count)


def repairs(notes: tuple[str, ...]) -> str:
    """What has to be mended, brought down or left as it is, out of a head's notes, in one phrase."""
    told = [note for note in notes if not note.startswith(_NO_REPAIR)]
    mended = [note for note in told if not any(word in note for word in _LEFT)]
    left = [note for note in told if note not in mended]
    dress = [note.split(":")[0] for note in notes if note.startswith(_DRESS)]
    return "; ".join([f"to mend: {', '.join(mended)}" if mended else "nothing to mend", *left, *dress])
