"""Simple heads for learning and for tests: a ball and a cube."""

from __future__ import annotations

from functools import lru_cache
from itertools import product

import numpy as np

from sitterlight.meshes.head import Head, Plane, make_head, unit
from sitterlight.meshes.regions import REGIONS

SPHERE_RADIUS = 100.0  # mm
SPHERE_STEPS = 32  # parts of each quarter circle
CUBE_EDGE = 200.0  # mm


@lru_cache(maxsize=1)
def sphere() -> Head:
    """A ball of 100 mm radius about the origin, its eight octants as planes, its normals exact."""
    vertices, faces, octant = _octahedron(SPHERE_STEPS)
    directions = unit(vertices)
    weights = np.zeros((len(vertices), len(REGIONS)), dtype=np.float32)
    weights[:, 0] = 1.0
    planes = tuple(
        Plane(f"{height} {depth}", side, "skin")
        for height, depth, side in product(("upper", "lower"), ("front", "back"), ("left", "right"))
    )
    return make_head("sphere", directions * SPHERE_RADIUS, faces, weights, planes, octant, normals=directions)


def _octahedron(steps: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Vertices, faces and octant of each face of an octahedron whose faces are cut into steps² triangles."""
    number: dict[tuple[int, int, int], int] = {}
    faces, octants = [], []
    for octant, (up, ahead, left) in enumerate(product((1, -1), repeat=3)):
        signs = np.array([left, up, ahead])
        outward = left * up * ahead > 0

        def vertex(i: int, j: int, signs: np.ndarray = signs) -> int:
            place = tuple(int(n) for n in signs * [i, j, steps - i - j])
            return number.setdefault(place, len(number))

        for i, j in [(row, place) for row in range(steps) for place in range(steps - row)]:
            cells = [[vertex(i + 1, j), vertex(i, j + 1), vertex(i, j)]]
            if i + j < steps - 1:
                cells.append([vertex(i + 1, j), vertex(i + 1, j + 1), vertex(i, j + 1)])
            faces += cells if outward else [cell[::-1] for cell in cells]
            octants += [octant] * len(cells)
    return np.array(list(number), dtype=float), np.array(faces, np.int32), np.array(octants, np.int16)


@lru_cache(maxsize=1)
def cube() -> Head:
    """A cube of 200 mm about the origin, six planes, sharp corners."""
    from sitterlight.meshes.foreign import head_from_triangles

    corners = np.array(list(product((-1.0, 1.0), repeat=3))) * CUBE_EDGE / 2
    quads = [[1, 5, 7, 3], [0, 2, 6, 4], [4, 6, 7, 5], [0, 1, 3, 2], [2, 3, 7, 6], [0, 4, 5, 1]]
    faces = [triangle for a, b, c, d in quads for triangle in ([a, b, c], [a, c, d])]
    return head_from_triangles("cube", corners, np.array(faces, dtype=np.int32))
