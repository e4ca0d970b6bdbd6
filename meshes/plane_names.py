"""What planes are called: by number and where they face, or as the planes of the bust that they are made of."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.head import Plane, face_vectors, unit
from sitterlight.meshes.regions import REGIONS

WORDS = (("left", "right"), ("up", "down"), ("forward", "back"))
NEAR_MIDDLE = 0.05  # of the width
NOTABLE = 0.2  # of a plane's area: a part of it that is worth a word


def named_by_facing(number: int, vectors: NDArray) -> str:
    """ "plane 7, facing up and left", from the vectors (n, 3) of its faces."""
    return f"plane {number}, facing {_facing(unit(vectors.sum(axis=0, keepdims=True))[0])}"


def _facing(normal: NDArray) -> str:
    words = [WORDS[axis][0 if normal[axis] > 0 else 1] for axis in (1, 2, 0) if abs(normal[axis]) > 0.4]
    return " and ".join(words) if len(words) < 3 else f"{words[0]}, {words[1]} and {words[2]}"


def side_of(x: float, low: float, high: float) -> str:
    """ "left", "right" or "centre" of a place between the sides of a head."""
    away = x - (low + high) / 2
    if abs(away) <= NEAR_MIDDLE * (high - low):
        return "centre"
    return "left" if away > 0 else "right"


def plane_names(
    vertices: NDArray[np.float64],
    faces: NDArray[np.int32],
    plane_of_face: NDArray,
    origin: NDArray | None = None,
    bust_planes: tuple[Plane, ...] = (),
    region_weights: NDArray | None = None,
) -> tuple[Plane, ...]:
    """The planes of a mesh. `origin (F,)`: the plane of the bust that each face takes its name from, −1 for none."""
    vectors = face_vectors(vertices, faces)
    area = np.linalg.norm(vectors, axis=1)
    across = vertices[faces][:, :, 0].mean(axis=1)
    low, high = float(vertices[:, 0].min()), float(vertices[:, 0].max())
    planes = []
    for number in range(int(plane_of_face.max(initial=-1)) + 1):
        member = np.flatnonzero(plane_of_face == number)
        side = side_of(float(np.average(across[member], weights=area[member])), low, high)
        made_of = [] if origin is None else _made_of(origin[member], area[member])
        if made_of:
            names = list(dict.fromkeys(bust_planes[k].name for k in made_of))
            name, side = _joined(names), bust_planes[made_of[0]].side if len(made_of) == 1 else side
        else:
            name = named_by_facing(number + 1, vectors[member])
        planes.append(Plane(name, side, _region(faces[member], area[member], region_weights)))
    return _told_apart(planes)


def _made_of(origin: NDArray, area: NDArray) -> list[int]:
    """The bust's planes that make up most of a plane, the largest first; none where most of it has no name."""
    total = np.bincount(origin + 1, area)
    if total[0] > 0.5 * total.sum():
        return []
    order = np.argsort(-total[1:], kind="stable")
    return [int(k) for k in order if total[1 + k] > NOTABLE * total.sum()] or [int(order[0])]


def _joined(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{names[0]} with {names[1]}"


def _region(faces: NDArray, area: NDArray, weights: NDArray | None) -> str:
    if weights is None:
        return "skin"
    return REGIONS[int((weights[faces].sum(axis=1) * area[:, None]).sum(axis=0).argmax())]


def _told_apart(planes: list[Plane]) -> tuple[Plane, ...]:
    """Planes of one name and side get a number behind it."""
    often, seen, result = Counter((plane.name, plane.side) for plane in planes), Counter(), []
    for plane in planes:
        key = (plane.name, plane.side)
        seen[key] += 1
        name = plane.name if often[key] == 1 else f"{plane.name} {seen[key]}"
        result.append(Plane(name, plane.side, plane.region))
    return tuple(result)
