"""Making one closed bust from the source body: lips closed, sockets shut, cut below, a garment, eyeballs.

Used only by make_bust.py. A `Cage` is the control mesh under construction; `kind` says of each
face what it is: "skin", "clothes", "mouth line", "hidden" (within the eye socket), "seam" (the garment's edge),
"eye white", "iris", "pupil".
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.polygon_cut import cut

REGION_OF_KIND = {"mouth line": "lips", "hidden": "eyelid", "seam": "skin"} | {
    name: name for name in ("clothes", "eye white", "iris", "pupil")
}
GARMENT_LIFT = 0.04  # mm off the skin: so little that its edge shades nothing
NECK_MIDDLE = -11.0  # mm, the z of the middle of the neckline
EYEBALL_SEGMENTS = 16
IRIS_RADIUS, PUPIL_RADIUS = 5.2, 2.0  # mm


@dataclass
class Cage:
    """The control mesh while it is being made. `plane` is one number a face, −1 for none."""

    vertices: NDArray[np.float64]
    faces: list[list[int]]
    kind: list[str]
    plane: list[int]
    region: list[str]
    crease_edges: list[tuple[int, int]] = field(default_factory=list)
    crease_sharpness: list[int] = field(default_factory=list)

    def add(self, points: NDArray[np.float64]) -> list[int]:
        """Adds vertices (n, 3) and returns their numbers."""
        first = len(self.vertices)
        self.vertices = np.vstack([self.vertices, np.atleast_2d(points)])
        return list(range(first, len(self.vertices)))

    def add_faces(self, faces: list[list[int]], kind: str) -> None:
        """Adds faces of one kind, without a plane."""
        self.faces += faces
        self.kind += [kind] * len(faces)
        self.plane += [-1] * len(faces)
        self.region += [REGION_OF_KIND[kind]] * len(faces)

    def keep(self, wanted: list[bool]) -> None:
        """Drops every face that is not wanted."""
        for name in ("faces", "kind", "plane", "region"):
            setattr(self, name, [item for item, yes in zip(getattr(self, name), wanted, strict=True) if yes])


def straight_loop(faces: list[list[int]], first: int, second: int) -> list[int]:
    """The edge loop of a quad mesh that starts with these two vertices, until it closes or ends."""
    faces_of_edge: dict[tuple[int, int], set[int]] = defaultdict(set)
    neighbours: dict[int, set[int]] = defaultdict(set)
    for number, face in enumerate(faces):
        for a, b in zip(face, face[1:] + face[:1], strict=True):
            faces_of_edge[min(a, b), max(a, b)].add(number)
            neighbours[a].add(b)
            neighbours[b].add(a)
    loop = [first, second]
    while len(loop) < 1000:
        before, here = loop[-2:]
        beside = faces_of_edge[min(before, here), max(before, here)]
        ahead = [n for n in neighbours[here] if not faces_of_edge[min(n, here), max(n, here)] & beside]
        if len(ahead) != 1 or len(neighbours[here]) != 4 or ahead[0] == first:
            break
        loop.append(ahead[0])
    return loop


def faces_inside(faces: list[list[int]], loop: list[int], seed: int) -> set[int]:
    """Numbers of the faces reached from the face `seed` without crossing the closed loop."""
    walls = {(min(a, b), max(a, b)) for a, b in zip(loop, loop[1:] + loop[:1], strict=True)}
    faces_of_edge: dict[tuple[int, int], list[int]] = defaultdict(list)
    for number, face in enumerate(faces):
        for a, b in zip(face, face[1:] + face[:1], strict=True):
            faces_of_edge[min(a, b), max(a, b)].append(number)
    found, waiting = {seed}, [seed]
    while waiting:
        face = faces[waiting.pop()]
        for a, b in zip(face, face[1:] + face[:1], strict=True):
            key = (min(a, b), max(a, b))
            if key in walls:
                continue
            for other in faces_of_edge[key]:
                if other not in found:
                    found.add(other)
                    waiting.append(other)
    return found


def close_mouth(cage: Cage, loop: list[int], behind: int) -> None:
    """Drops the inside of the mouth behind `loop` and joins upper to lower lip along it.

    `loop` starts at the middle of the upper lip; its second half comes back along the other side.
    `behind` is a vertex inside the mouth.
    """
    seed = next(i for i, face in enumerate(cage.faces) if behind in face)
    inside = faces_inside(cage.faces, loop, seed)
    cage.keep([i not in inside for i in range(len(cage.faces))])
    half = len(loop) // 2
    sides = [loop[: half + 1], [loop[0], *loop[: half - 1 : -1]]]
    for upper, lower in {(side[k], side[half - k]) for side in sides for k in range(half // 2 + 1)}:
        _meet(cage.vertices, upper, lower, seam_gap=0.25, depth=1.0)
    bridges = []
    for left_side, side in zip((True, False), sides, strict=True):
        for k in range(half // 2):
            quad = [side[k], side[k + 1], side[half - k - 1], side[half - k]]
            bridges.append(quad if not left_side else quad[::-1])
    cage.add_faces(bridges, "mouth line")


def _meet(vertices: NDArray, upper: int, lower: int, seam_gap: float, depth: float) -> None:
    middle = (vertices[upper] + vertices[lower]) / 2
    for vertex, sign in ((upper, 1), (lower, -1)):
        vertices[vertex] = middle + np.array([0, sign * seam_gap / 2, -depth])


def shut_socket(cage: Cage, loop: list[int], behind: int, centre: NDArray, radius: float) -> None:
    """Drops the socket behind the lid rim `loop`, lays the rim on the eyeball and closes the hole within it."""
    seed = next(i for i, face in enumerate(cage.faces) if behind in face)
    inside = faces_inside(cage.faces, loop, seed)
    cage.keep([i not in inside for i in range(len(cage.faces))])
    offsets = cage.vertices[loop] - centre
    directions = offsets / np.linalg.norm(offsets, axis=1, keepdims=True)
    cage.vertices[loop] = centre + directions * radius * 0.985
    within = cage.add(centre + directions * radius * 0.9)
    deeper = cage.add(centre + directions * radius * 0.6)
    middle = cage.add(centre[None])[0]
    outward = _winding(cage.faces, loop)
    cage.add_faces(_band(loop, within, outward) + _band(within, deeper, outward), "hidden")
    cage.add_faces(_fan(deeper, middle, outward), "hidden")


def _winding(faces: list[list[int]], loop: list[int]) -> bool:
    """Whether the faces left beside the loop run along it in its own direction."""
    for face in faces:
        for a, b in zip(face, face[1:] + face[:1], strict=True):
            if (a, b) == (loop[0], loop[1]):
                return True
            if (b, a) == (loop[0], loop[1]):
                return False
    raise ValueError("the loop does not bound the mesh.")


def _band(first: list[int], second: list[int], reverse: bool) -> list[list[int]]:
    quads = [
        [a, b, d, c] for a, b, c, d in zip(first, first[1:] + first[:1], second, second[1:] + second[:1], strict=True)
    ]
    return [quad[::-1] for quad in quads] if reverse else quads


def _fan(ring: list[int], middle: int, reverse: bool) -> list[list[int]]:
    count = len(ring)
    quads = [[ring[k], ring[k + 1], ring[(k + 2) % count], middle] for k in range(0, count - 1, 2)]
    return [quad[::-1] for quad in quads] if reverse else quads


def bust_line(points: NDArray) -> NDArray:
    """Positive above the cut of the bust: a round line across chest and shoulders, the same before and behind."""
    x, y = points[:, 0] / 186.0, np.minimum(points[:, 1] + 195.0, 0) / 108.0
    return 1 - np.hypot(x, y)


def neckline(points: NDArray) -> NDArray:
    """Positive within the edge of the garment: an oval around the neck, lower in front, higher behind."""
    x, y, z = points.T
    behind = NECK_MIDDLE - z
    ramp = np.clip(behind / 60.0, 0, 1) ** 2 * (3 - 2 * np.clip(behind / 60.0, 0, 1))
    depth = np.abs(behind) - 0.6 * (y + 150.0) * ramp
    return np.where(y > -115.0, 1.0, 1 - np.hypot(x / 100.0, depth / 74.0))


def cut_bust(cage: Cage) -> None:
    """Cuts the body below, lays a garment over what is below the neckline and closes the bottom."""
    for line in (bust_line, neckline):
        cage.vertices, cage.faces, parents, above = cut(cage.vertices, cage.faces, line)
        cage.kind = [cage.kind[i] for i in parents]
        cage.plane = [cage.plane[i] for i in parents]
        cage.region = [cage.region[i] for i in parents]
        if line is bust_line:
            cage.keep(above.tolist())
        else:
            _dress(cage, above)
    _close_bottom(cage)


def boundary_loop(faces: list[list[int]]) -> list[int]:
    """The one open border of the faces, in the direction in which the faces run along it."""
    edges = {(a, b) for face in faces for a, b in zip(face, face[1:] + face[:1], strict=True)}
    following = {a: b for a, b in edges if (b, a) not in edges}
    start = next(iter(sorted(following)))
    loop = [start]
    while following[loop[-1]] != start:
        loop.append(following[loop[-1]])
    if len(loop) != len(following):
        raise ValueError(f"one open border was expected, {len(following)} open edges found, {len(loop)} in a row.")
    return loop


def vertex_normals(vertices: NDArray, faces: list[list[int]]) -> NDArray:
    """(N, 3) unit normals, weighted by area."""
    total = np.zeros_like(vertices)
    for face in faces:
        corner = vertices[face]
        total[face] += np.cross(corner - corner.mean(0), np.roll(corner, -1, axis=0) - corner.mean(0)).sum(0)
    return total / np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-12)


def _dress(cage: Cage, skin: NDArray[np.bool_]) -> None:
    """Lifts everything below the neckline off the skin and joins it to the skin by a narrow standing edge."""
    hem = boundary_loop([face for face, above in zip(cage.faces, skin, strict=True) if above])
    normals = vertex_normals(cage.vertices, cage.faces)
    below = sorted({i for face, above in zip(cage.faces, skin, strict=True) if not above for i in face})
    copies = dict(zip(hem, cage.add(cage.vertices[hem]), strict=True))
    for number, above in enumerate(skin):
        if not above:
            cage.faces[number] = [copies.get(i, i) for i in cage.faces[number]]
            cage.kind[number], cage.plane[number], cage.region[number] = "clothes", -1, "clothes"
    for i in below:
        cage.vertices[copies.get(i, i)] = cage.vertices[i] + normals[i] * GARMENT_LIFT
    edge = [copies[i] for i in hem]
    cage.add_faces([quad[::-1] for quad in _band(hem, edge, False)], "seam")
    for ring, sharpness in ((hem, 3), (edge, 2)):
        pairs = list(zip(ring, ring[1:] + ring[:1], strict=True))
        cage.crease_edges += pairs
        cage.crease_sharpness += [sharpness] * len(pairs)


def _close_bottom(cage: Cage) -> None:
    rim = boundary_loop(cage.faces)
    points = cage.vertices[rim]
    middle = np.array([0.0, points[:, 1].min() + 6.0, points[:, 2].mean()])
    rings = [rim]
    for share in (0.04, 0.3, 0.65):
        rings.append(cage.add(points + share * (middle - points)))
    for outer, inner in pairwise(rings):
        cage.add_faces(_band(outer, inner, True), "clothes")
    cage.add_faces([[a, middle_number, b] for a, b, middle_number in _spokes(cage, rings[-1], middle)], "clothes")
    pairs = list(zip(rim, rim[1:] + rim[:1], strict=True))
    cage.crease_edges += pairs
    cage.crease_sharpness += [1] * len(pairs)


def _spokes(cage: Cage, ring: list[int], middle: NDArray) -> list[tuple[int, int, int]]:
    centre = cage.add(middle[None])[0]
    return [(a, b, centre) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]


def eyeball(centre: NDArray, radius: float) -> tuple[NDArray, list[list[int]], list[str]]:
    """Vertices, quads and kinds of one eyeball looking straight ahead, its rings following pupil and iris."""
    reach = [np.arcsin(mm / radius) for mm in (PUPIL_RADIUS, 3.6, IRIS_RADIUS, 6.4, 8.6)]
    rings = np.array([*reach, *np.radians([46, 63, 85, 110, 140, 162])])
    kinds = ["iris", "iris"] + ["eye white"] * (len(rings) - 3)
    around = (np.arange(EYEBALL_SEGMENTS) + 0.5) * 2 * np.pi / EYEBALL_SEGMENTS
    points = [[0.0, 0.0, 1.0]]
    for angle in rings:
        points += [[np.sin(angle) * np.cos(a), np.sin(angle) * np.sin(a), np.cos(angle)] for a in around]
    points.append([0.0, 0.0, -1.0])
    numbers = [list(range(1 + k * len(around), 1 + (k + 1) * len(around))) for k in range(len(rings))]
    faces = [[0, a, b] for a, b in zip(numbers[0], numbers[0][1:] + numbers[0][:1], strict=True)]
    kind = ["pupil"] * len(faces)
    for inner, outer, name in zip(numbers, numbers[1:], kinds, strict=False):
        band = _band(inner, outer, True)
        faces, kind = faces + band, kind + [name] * len(band)
    end = len(points) - 1
    last = [[end, b, a] for a, b in zip(numbers[-1], numbers[-1][1:] + numbers[-1][:1], strict=True)]
    return centre + radius * np.array(points), faces + last, kind + ["eye white"] * len(last)
