"""Mending and preparing a triangle mesh that comes from elsewhere."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from sitterlight.meshes.head import face_areas, face_vectors, unit, vertex_normals

SHARP_ANGLE = 40.0  # degrees between faces; sharper corners stay sharp
FINEST_SHARE = 1 / 24  # of the mesh's diagonal: no edge of a mesh of few faces stays longer
ENOUGH_FACES = 12_000  # meshes of more faces are not subdivided

Mesh = tuple[NDArray[np.float64], NDArray[np.int32]]


def welded(vertices: NDArray[np.floating], faces: NDArray[np.int32], notes: list[str]) -> Mesh:
    """Vertices at the same place joined; faces without area and doubled faces dropped."""
    low, extent = vertices.min(axis=0).astype(float), extent_of(vertices, faces)
    step = max(extent * 1e-6, 1e-9)
    first, number = joined_places(vertices, low, step)
    faces = number[faces]
    vertices = vertices[first].astype(float)
    whole = ~_has_twins(faces) & (face_areas(vertices, faces) > step**2)
    if not np.all(whole):
        notes.append(f"{counted(np.sum(~whole), 'face')} without area {was(np.sum(~whole))} left out")
        faces = faces[whole]
    single = _first_of_each(faces, len(vertices))
    if not np.all(single):
        notes.append(f"{counted(np.sum(~single), 'doubled face')} {was(np.sum(~single))} left out")
        faces = faces[single]
    if len(faces) == 0:
        raise ValueError("the mesh has no face with any area.")
    return used(vertices, faces)


def counted(number: int, what: str) -> str:
    """A number with its noun: "1 hole", "3 holes"."""
    return f"{int(number)} {what}{'' if number == 1 else 's'}"


def was(number: int) -> str:
    return "was" if number == 1 else "were"


def extent_of(vertices: NDArray[np.floating], faces: NDArray[np.int32]) -> float:
    """The longest side of the box around the faces."""
    member = np.zeros(len(vertices), dtype=bool)
    member[faces.ravel()] = True
    return float(np.ptp(vertices[member], axis=0).max())


def joined_places(vertices: NDArray, low: NDArray, step: float) -> tuple[NDArray[np.int64], NDArray[np.int32]]:
    """Vertices that round to the same place: the first of each, and (V,) the number of each vertex's place.

    Places are numbered by x, then y, then z. No side may be longer than two million steps.
    """
    key = np.zeros(len(vertices), dtype=np.int64)
    for axis in range(3):
        cells = np.round((vertices[:, axis] - low[axis]) / step)
        key = (key << 21) | np.clip(cells, 0, (1 << 21) - 1).astype(np.int64)
    # As np.unique does it, without what that holds besides.
    order = np.argsort(key, kind="stable")
    key = key[order]
    begins = np.append(True, key[1:] != key[:-1])
    del key
    number = np.empty(len(order), dtype=np.int32)
    number[order] = np.cumsum(begins, dtype=np.int32) - 1
    return order[begins], number


def _has_twins(faces: NDArray[np.int32]) -> NDArray[np.bool_]:
    a, b, c = faces.T
    return (a == b) | (b == c) | (c == a)


def without_twins(faces: NDArray[np.int32]) -> NDArray[np.int32]:
    """The faces whose three vertices differ, each set of three once."""
    faces = faces[~_has_twins(faces)]
    return faces[_first_of_each(faces, int(faces.max(initial=0)) + 1)]


def _first_of_each(faces: NDArray[np.int32], vertex_count: int) -> NDArray[np.bool_]:
    """(F,) False for faces whose three vertices an earlier face has."""
    ordered = np.sort(faces, axis=1).astype(np.int64)
    edge = ordered[:, 0] * vertex_count + ordered[:, 1]
    order = np.lexsort((np.arange(len(faces)), ordered[:, 2], edge))
    repeated = (np.diff(edge[order]) == 0) & (np.diff(ordered[order, 2]) == 0)
    single = np.ones(len(faces), dtype=bool)
    single[order[1:][repeated]] = False
    return single


def used(vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> Mesh:
    """The mesh without the vertices that no face has."""
    member = np.zeros(len(vertices), dtype=bool)
    member[faces.ravel()] = True
    number = np.cumsum(member, dtype=np.int64) - 1
    return vertices[member], number[faces].astype(np.int32)


def edges_of(ends: NDArray) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Of (n, 2) vertex pairs: the different edges, smaller number first, the edge of each pair, and how often it is."""
    low, high = np.sort(ends, axis=1).astype(np.int64).T
    span = int(high.max(initial=0)) + 1
    key, number, count = np.unique(low * span + high, return_inverse=True, return_counts=True)
    return np.stack([key // span, key % span], axis=1), number.ravel(), count


def edge_pairs(faces: NDArray[np.int32]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(pairs, 2) corners 3·face + k whose leaving edge is shared by exactly two faces, and (edges, 2) vertices."""
    ends = np.stack([faces.ravel(), np.roll(faces, -1, axis=1).ravel()], axis=1).astype(np.int64)
    edges, number, count = edges_of(ends)
    order = np.argsort(number, kind="stable")
    shared = order[count[number[order]] == 2]
    return shared.reshape(-1, 2), edges


def rounds_of_cutting(
    vertices: NDArray[np.float64], faces: NDArray[np.int32], share: float = FINEST_SHARE, enough: int = ENOUGH_FACES
) -> int:
    """How often triangles are to be cut into four until edges are a `share` of the diagonal, or faces are enough."""
    limit = share * np.linalg.norm(np.ptp(vertices, axis=0))
    ends = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2)
    longest, count, rounds = np.linalg.norm(vertices[ends[:, 0]] - vertices[ends[:, 1]], axis=1).max(), len(faces), 0
    while longest > limit and count * 2 <= enough:
        longest, count, rounds = longest / 2, count * 4, rounds + 1
    return rounds


def cut_in_four(values: NDArray[np.float64], faces: NDArray[np.int32], rounds: int) -> Mesh:
    """Triangles cut into four `rounds` times, all at once; values (V, …) at new vertices are the means along edges.

    Places given as values keep the shape exactly as it is. The order of faces depends on nothing but their own.
    """
    for _ in range(rounds):
        ends = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2)
        edges, number, _ = edges_of(ends)
        middle = (len(values) + number.reshape(-1, 3)).astype(np.int32)
        values = np.concatenate([values, values[edges].mean(axis=1)])
        a, b, c = faces.T
        ab, bc, ca = middle.T
        faces = np.concatenate(
            [np.stack(corner, axis=1) for corner in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))]
        )
    return values, faces


def smooth_pairs(
    vertices: NDArray[np.float64], faces: NDArray[np.int32], sharp: float = SHARP_ANGLE
) -> NDArray[np.int64]:
    """(pairs, 2) corners across each edge whose two faces meet at less than the `sharp` angle, degrees."""
    pairs, _ = edge_pairs(faces)
    normals = unit(face_vectors(vertices, faces))
    cosine = np.sum(normals[pairs[:, 0] // 3] * normals[pairs[:, 1] // 3], axis=1)
    return pairs[cosine > np.cos(np.radians(sharp))]


def split_at_corners(
    vertices: NDArray[np.float64], faces: NDArray[np.int32], sharp: float = SHARP_ANGLE
) -> tuple[NDArray[np.float64], NDArray[np.int32], NDArray[np.float64]]:
    """Vertices doubled where faces meet more sharply than `sharp` degrees: each side has a normal of its own."""
    pairs = smooth_pairs(vertices, faces, sharp)
    corner = np.arange(3 * len(faces)).reshape(-1, 3)
    following = np.roll(corner, -1, axis=1).ravel()
    flat = faces.ravel()
    links = []
    for first, second in ((pairs[:, 0], pairs[:, 1]), (following[pairs[:, 0]], following[pairs[:, 1]])):
        same = flat[first] == flat[second]
        links.append(np.stack([first[same], second[same]], axis=1))
    # Neighbours wound alike run along their edge in opposite directions.
    for first, second in ((pairs[:, 0], following[pairs[:, 1]]), (following[pairs[:, 0]], pairs[:, 1])):
        same = flat[first] == flat[second]
        links.append(np.stack([first[same], second[same]], axis=1))
    joined = np.concatenate(links)
    graph = sparse.coo_matrix((np.ones(len(joined)), (joined[:, 0], joined[:, 1])), (len(flat),) * 2)
    count, number = connected_components(graph, directed=False)
    place = np.empty(count, dtype=np.int64)
    place[number] = flat
    new_vertices, new_faces = vertices[place], number.reshape(-1, 3).astype(np.int32)
    return new_vertices, new_faces, vertex_normals(new_vertices, new_faces)
