"""Finding planes in the shape of a mesh: connected facets whose normals lie close together.

After D. Cohen-Steiner, P. Alliez and M. Desbrun, "Variational shape approximation", SIGGRAPH 2004:
facets grow from seeds over the nearest normals, their mean normals are taken anew, and a facet
that is still too round gets a second seed.
"""

from __future__ import annotations

import heapq

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from sitterlight.meshes.head import Plane, face_vectors, unit
from sitterlight.meshes.triangles import smooth_pairs

WIDEST = 25.0  # degrees, the area-weighted mean distance of a facet's normals from their mean
MOST = 80  # facets
ROUNDS = 12
WORDS = (("left", "right"), ("up", "down"), ("forward", "back"))


def facets(vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> NDArray[np.int16]:
    """(F,) number of each face's facet, the largest first; −1 for specks beyond the eightieth."""
    vectors = face_vectors(vertices, faces)
    area = np.linalg.norm(vectors, axis=1)
    normals = unit(vectors)
    neighbours = _neighbours(vertices, faces)
    count, part = connected_components(neighbours, directed=False)
    part_area = np.bincount(part, area, count)
    chosen = np.argsort(-part_area, kind="stable")[:MOST]
    seeds = [int(np.flatnonzero(part == k)[np.argmax(area[part == k])]) for k in chosen]
    means = [normals[seed] for seed in seeds]
    label = np.full(len(faces), -1)
    for _ in range(ROUNDS):
        label = _grow(neighbours, normals, area, seeds, means)
        means = _mean_normals(vectors, label, len(seeds))
        worst = _too_round(normals, area, label, means)
        room = MOST - len(seeds)
        seeds = _nearest_faces(normals, label, means)
        for face in worst[:room]:
            seeds.append(face)
            means.append(normals[face])
        if not worst[:room]:
            break
    return _by_area(label, area).astype(np.int16)


def _neighbours(vertices: NDArray, faces: NDArray) -> sparse.csr_matrix:
    """(F, F) faces that meet across a smooth edge."""
    pairs = smooth_pairs(vertices, faces) // 3
    ones = np.ones(len(pairs))
    half = sparse.coo_matrix((ones, (pairs[:, 0], pairs[:, 1])), (len(faces),) * 2)
    return (half + half.T).tocsr()


def _grow(
    neighbours: sparse.csr_matrix, normals: NDArray, area: NDArray, seeds: list[int], means: list[NDArray]
) -> NDArray[np.int64]:
    label = np.full(len(normals), -1)
    cost = [area * np.sum((normals - mean) ** 2, axis=1) for mean in means]
    waiting = [(0.0, seed, number) for number, seed in enumerate(seeds)]
    heapq.heapify(waiting)
    starts, ends = neighbours.indptr, neighbours.indices
    while waiting:
        _, face, number = heapq.heappop(waiting)
        if label[face] >= 0:
            continue
        label[face] = number
        for other in ends[starts[face] : starts[face + 1]]:
            if label[other] < 0:
                heapq.heappush(waiting, (cost[number][other], int(other), number))
    return label


def _mean_normals(vectors: NDArray, label: NDArray, count: int) -> list[NDArray]:
    member = label >= 0
    sums = np.stack([np.bincount(label[member], vectors[member, k], count) for k in range(3)], axis=1)
    return list(unit(sums))


def spread(normals: NDArray, area: NDArray) -> float:
    """Area-weighted mean angle of normals (n, 3) from their mean, degrees."""
    mean = unit((normals * area[:, None]).sum(axis=0, keepdims=True))[0]
    angle = np.degrees(np.arccos(np.clip(normals @ mean, -1, 1)))
    return float(np.average(angle, weights=area))


def _too_round(normals: NDArray, area: NDArray, label: NDArray, means: list[NDArray]) -> list[int]:
    """The farthest face of each facet that is too round, the largest facets first."""
    found = []
    for number, mean in enumerate(means):
        members = np.flatnonzero(label == number)
        if len(members) > 1 and spread(normals[members], area[members]) > WIDEST:
            farthest = members[np.argmin(normals[members] @ mean)]
            found.append((-area[members].sum(), int(farthest)))
    return [face for _, face in sorted(found)]


def _nearest_faces(normals: NDArray, label: NDArray, means: list[NDArray]) -> list[int]:
    seeds = []
    for number, mean in enumerate(means):
        members = np.flatnonzero(label == number)
        seeds.append(int(members[np.argmax(normals[members] @ mean)]))
    return seeds


def _by_area(label: NDArray, area: NDArray) -> NDArray[np.int64]:
    member = label >= 0
    totals = np.bincount(label[member], area[member])
    order = np.argsort(-np.round(totals, 6), kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    return np.where(member, rank[label], -1)


def plane_names(
    vertices: NDArray[np.float64], faces: NDArray[np.int32], plane_of_face: NDArray[np.int16]
) -> tuple[Plane, ...]:
    """Planes called by number and by where they face: "plane 7, facing up and left"."""
    vectors = face_vectors(vertices, faces)
    middles = vertices[faces].mean(axis=1)
    near = 0.05 * np.ptp(vertices[:, 0])
    middle = (vertices[:, 0].min() + vertices[:, 0].max()) / 2
    planes = []
    for number in range(int(plane_of_face.max()) + 1):
        member = plane_of_face == number
        normal = unit(vectors[member].sum(axis=0, keepdims=True))[0]
        weights = np.linalg.norm(vectors[member], axis=1)
        x = float(np.average(middles[member, 0], weights=weights)) - middle
        side = "centre" if abs(x) <= near else "left" if x > 0 else "right"
        planes.append(Plane(f"plane {number + 1}, facing {_facing(normal)}", side, "skin"))
    return tuple(planes)


def _facing(normal: NDArray) -> str:
    words = []
    for axis in (1, 2, 0):
        if abs(normal[axis]) > 0.4:
            words.append(WORDS[axis][0 if normal[axis] > 0 else 1])
    return " and ".join(words[:3]) if len(words) < 3 else f"{words[0]}, {words[1]} and {words[2]}"
