"""Guessing the unit of a mesh and which of its axes point up and ahead.

Where the mesh turns out to be a head, how it lies on the bust tells all three. Otherwise its size tells the unit, and
the habit of the file's format tells the axes; such a guess is not sure.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.alignment import Alignment, aligned
from sitterlight.meshes.mesh_file import AXES, GUESS, UNITS
from sitterlight.meshes.similarity import Similarity

USUAL_SIZE = 300.0  # mm, the longest side of a head with some neck
LIKELY_SIZE = (120.0, 900.0)  # mm
NEAR_UNIT = 1.5  # times the bust's size, either way, that a head may have
UPRIGHT = 0.8  # cosine: tilted farther, an axis is not sure
SURE_LIKENESS = 0.55


@dataclass(frozen=True)
class Guess:
    """`unit`, `up` and `front` as in a sitting, `scale` mm per unit of the file, and whether each is sure.

    `unit` is "guess" where no unit fits and the mesh has to be brought to the size of a head. `alignment` from the
    file's own coordinates to the bust, or None where the mesh was not laid on it.
    """

    unit: str
    up: str
    front: str
    scale: float
    unit_is_sure: bool
    axes_are_sure: bool
    alignment: Alignment | None

    @property
    def is_head(self) -> bool:
        return self.alignment is not None and self.alignment.is_head


def axes_matrix(up: str, front: str) -> NDArray[np.float64]:
    """Rotation from the file's axes to ours, rows x (left), y (up), z (front)."""
    y, z = _vector(up), _vector(front)
    return np.array([np.cross(y, z), y, z])


def _vector(axis: str) -> NDArray[np.float64]:
    result = np.zeros(3)
    result["xyz".index(axis[1])] = 1.0 if axis[0] == "+" else -1.0
    return result


def habit(kind: str) -> tuple[str, str]:
    """Up and front as files of this kind mostly have them: STL stands on z, the others on y."""
    return ("+z", "-y") if kind == "stl" else ("+y", "+z")


def guess(
    vertices: NDArray[np.float64],
    faces: NDArray[np.int32],
    kind: str,
    unit: str = GUESS,
    up: str = GUESS,
    front: str = GUESS,
) -> Guess:
    """What is not told, guessed: `unit`, `up` and `front` that are not "guess" are kept as they are."""
    found = _laid(vertices, faces, kind, up, front)
    if found.is_head:
        to_bust = found.placing.rotation
        guessed_up, up_cosine = _axis(to_bust[1], front)
        up_axis = guessed_up if up == GUESS else up
        guessed_front, front_cosine = _axis(to_bust[2], up_axis)
        front_axis = guessed_front if front == GUESS else front
        sure = min(up_cosine, front_cosine) > UPRIGHT
    else:
        up_axis, front_axis = _by_habit(kind, up, front)
        sure = False
    if unit != GUESS:
        return Guess(unit, up_axis, front_axis, UNITS[unit], True, sure, found)
    name, scale, unit_sure = _unit(vertices, faces, found)
    return Guess(name, up_axis, front_axis, scale, unit_sure, sure, found)


def _laid(vertices: NDArray, faces: NDArray, kind: str, up: str, front: str) -> Alignment:
    """How the mesh lies on the bust: as told or by habit, and only then along every axis."""
    turn = axes_matrix(*_by_habit(kind, up, front))
    best = from_file(aligned(vertices @ turn.T, faces), turn)
    if GUESS in (up, front) and not (best.is_head and best.likeness >= SURE_LIKENESS):
        best = max(best, aligned(vertices, faces, turned=True), key=lambda one: one.merit)
    return best


def from_file(found: Alignment, turn: NDArray, scale: float = 1.0) -> Alignment:
    """An alignment of turned and scaled vertices as one of the file's own."""
    placing = found.placing
    whole = Similarity(placing.scale * scale, placing.rotation @ turn, placing.shift)
    return Alignment(whole, found.likeness, found.covered)


def _by_habit(kind: str, up: str, front: str) -> tuple[str, str]:
    """Up and front with what is told kept, the rest by habit, at right angles."""
    usual_up, usual_front = habit(kind)
    if up == GUESS:
        up = usual_up
        if front != GUESS and front[1] == up[1]:
            up = "+z" if up[1] == "y" else "+y"
    if front == GUESS:
        front = next(axis for axis in (usual_front, "+z", "-y", "+x") if axis[1] != up[1])
    return up, front


def _axis(direction: NDArray, other: str) -> tuple[str, float]:
    """The axis nearest to a direction and the cosine between them; not along `other`, where that is an axis."""
    cosines = {axis: float(_vector(axis) @ direction) for axis in AXES if other == GUESS or axis[1] != other[1]}
    axis = max(cosines, key=cosines.get)
    return axis, cosines[axis]


def _unit(vertices: NDArray, faces: NDArray, found: Alignment) -> tuple[str, float, bool]:
    """Unit, mm per unit, and whether it is sure; "guess" with a scale that makes it a head's size where none fits."""
    member = vertices[np.unique(faces)]
    if found.is_head:
        wanted = found.placing.scale
        name = min(UNITS, key=lambda unit: abs(np.log(UNITS[unit] / wanted)))
        away = abs(np.log(UNITS[name] / wanted))
        return (name, UNITS[name], True) if away < np.log(NEAR_UNIT) else (GUESS, wanted, False)
    extent = float(np.ptp(member, axis=0).max())
    name = min(UNITS, key=lambda unit: abs(np.log(UNITS[unit] * extent / USUAL_SIZE)))
    size = UNITS[name] * extent
    if not 0.3 * LIKELY_SIZE[0] <= size <= 3 * LIKELY_SIZE[1]:
        return GUESS, USUAL_SIZE / extent, False
    return name, UNITS[name], LIKELY_SIZE[0] <= size <= LIKELY_SIZE[1]
