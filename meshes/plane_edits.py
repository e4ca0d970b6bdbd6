"""Planes joined and named by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from sitterlight.meshes.head import Plane


@dataclass(frozen=True)
class PlaneEdit:
    """Plane `number`, counted from 1 as the planes were found, with others `joined` to it or another `name`."""

    number: int
    name: str | None = None
    joined: tuple[int, ...] = ()


def edited(
    planes: tuple[Plane, ...], plane_of_face: NDArray[np.int16], edits: Sequence[PlaneEdit]
) -> tuple[tuple[Plane, ...], NDArray[np.int16]]:
    """The planes after the edits, in their order; those joined to another are gone.

    Raises ValueError, one sentence, for a plane that is not there or that is joined twice.
    """
    onto = np.arange(len(planes))
    names = {}
    for edit in edits:
        for number in (edit.number, *edit.joined):
            if not 1 <= number <= len(planes):
                raise ValueError(f"plane {number} is to be joined or named, but this head has {len(planes)} planes.")
        if edit.name is not None:
            names[edit.number - 1] = edit.name
        for number in edit.joined:
            if number == edit.number or onto[number - 1] != number - 1:
                raise ValueError(f"plane {number} is joined twice, or to itself; a plane can be joined to one other.")
            onto[number - 1] = edit.number - 1
    if np.any(onto[onto] != onto):
        number = int(np.flatnonzero(onto[onto] != onto)[0]) + 1
        raise ValueError(f"plane {number} is joined to a plane that is itself joined to another.")
    kept = np.flatnonzero(onto == np.arange(len(planes)))
    place = np.full(len(planes) + 1, -1)
    place[:-1][kept] = np.arange(len(kept))
    place[:-1] = place[:-1][onto]
    result = tuple(replace(planes[k], name=names[k]) if k in names else planes[k] for k in kept)
    return result, place[plane_of_face].astype(np.int16)


def numbers_as_found(count: int, edits: Sequence[PlaneEdit]) -> list[int]:
    """The number, from 1, that each plane left by the edits had when `count` planes were found."""
    gone = {number for edit in edits for number in edit.joined}
    return [number for number in range(1, count + 1) if number not in gone]


def with_name(edits: Sequence[PlaneEdit], number: int, name: str | None) -> tuple[PlaneEdit, ...]:
    """The edits with a name for a plane, by its number as found, or with None its found name again."""
    return _with(edits, replace(_of(edits, number), name=name))


def with_joined(edits: Sequence[PlaneEdit], numbers: Sequence[int]) -> tuple[PlaneEdit, ...]:
    """The edits with these planes, numbers as found, joined to the first of them, whatever was joined to them too."""
    first, *others = dict.fromkeys(numbers)
    more = [number for other in others for number in (other, *_of(edits, other).joined)]
    left = [edit for edit in edits if edit.number not in others]
    kept = _of(edits, first)
    return _with(left, replace(kept, joined=tuple(sorted({*kept.joined, *more}))))


def taken_apart(edits: Sequence[PlaneEdit], number: int) -> tuple[PlaneEdit, ...]:
    """The edits with nothing joined to a plane."""
    return _with(edits, replace(_of(edits, number), joined=()))


def _of(edits: Sequence[PlaneEdit], number: int) -> PlaneEdit:
    return next((edit for edit in edits if edit.number == number), PlaneEdit(number))


def _with(edits: Sequence[PlaneEdit], new: PlaneEdit) -> tuple[PlaneEdit, ...]:
    """The edits in order of number with one put in; an edit that changes nothing is left out."""
    others = [edit for edit in edits if edit.number != new.number]
    keep = [new] if new.name is not None or new.joined else []
    return tuple(sorted(others + keep, key=lambda edit: edit.number))
