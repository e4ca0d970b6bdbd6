"""Mending and preparing a triangle mesh that comes from elsewhere."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from sitterlight.meshes.head import face_vectors, unit, vertex_normals

SHARP_ANGLE = 40.0  # degrees between faces; sharper corners stay sharp
FINEST_SHARE = 1 / 24  # of the mesh's diagonal: no edge of a mesh of few faces stays longer
ENOUGH_FACES = 12_000  # meshes of more faces are not subdivided

Mesh = tuple[NDArray[np.float64], NDArray[np.int32]]


def welded(vertices: NDArray[np.float64], faces: NDArray[np.int32], notes: list[str]) -> Mesh:
    """Vertices at the same place joined; faces without area and doubled faces dropped."""
    step = max(float(np.ptp(vertices[np.unique(faces)], axis=0).max()) * 1e-6, 1e-9)
    _, first, number = np.unique(
        np.round(vertices / step).astype(np.int64), axis=0, return_index=True, return_inverse=True
    )
    faces = number.ravel()[faces].astype(np.int32)
    vertices = vertices[first]
    whole = np.all(faces != np.roll(faces, 1, axis=1), axis=1)
    whole &= np.linalg.norm(face_vectors(vertices, faces), axis=1) > step**2
    _, once = np.unique(np.sort(faces, axis=1), axis=0, return_index=True)
    single = np.zeros(len(faces), dtype=bool)
    single[once] = True
    if not np.all(whole):
        notes.append(f"{np.sum(~whole)} faces without area were left out")
    if not np.all(single | ~whole):
        notes.append(f"{np.sum(~single & whole)} doubled faces were left out")
    faces = faces[whole & single]
    if len(faces) == 0:
        raise ValueError("the mesh has no face with any area.")
    return _used(vertices, faces)


def _used(vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> Mesh:
    used, renumbered = np.unique(faces, return_inverse=True)
    return vertices[used], renumbered.reshape(faces.shape).astype(np.int32)


def decimated(vertices: NDArray[np.float64], faces: NDArray[np.int32], largest: int, notes: list[str]) -> Mesh:
    """The mesh with at most about `largest` faces, by quadric error."""
    if len(faces) <= largest:
        return vertices, faces
    import pyvista

    mesh = pyvista.PolyData.from_regular_faces(vertices, faces)
    smaller = mesh.decimate(1 - largest / len(faces))
    notes.append(f"{len(faces)} faces were brought down to {smaller.n_cells}")
    return _used(np.asarray(smaller.points, dtype=float), smaller.regular_faces.astype(np.int32))


def edge_pairs(faces: NDArray[np.int32]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(pairs, 2) corners 3·face + k whose leaving edge is shared by exactly two faces, and (edges, 2) vertices."""
    ends = np.stack([faces.ravel(), np.roll(faces, -1, axis=1).ravel()], axis=1).astype(np.int64)
    edges, number, count = np.unique(np.sort(ends, axis=1), axis=0, return_inverse=True, return_counts=True)
    number = number.ravel()
    order = np.argsort(number, kind="stable")
    shared = order[count[number[order]] == 2]
    return shared.reshape(-1, 2), edges


def oriented(vertices: NDArray[np.float64], faces: NDArray[np.int32], notes: list[str]) -> NDArray[np.int32]:
    """Faces wound alike within each connected part; a closed part that was inside out is turned."""
    import trimesh

    mesh = trimesh.Trimesh(vertices, faces, process=False)
    if not mesh.is_winding_consistent:
        trimesh.repair.fix_winding(mesh)
        notes.append("faces wound against their neighbours were turned")
    result = np.array(mesh.faces, dtype=np.int32)
    pairs, _ = edge_pairs(result)
    graph = sparse.coo_matrix((np.ones(len(pairs)), (pairs[:, 0] // 3, pairs[:, 1] // 3)), (len(faces),) * 2)
    count, part = connected_components(graph, directed=False)
    volume = np.bincount(part, np.einsum("ij,ij->i", *_corner_and_vector(vertices, result)), count)
    closed = np.bincount(part[pairs[:, 0] // 3], minlength=count) * 2 == 3 * np.bincount(part, minlength=count)
    turned = (closed & (volume < 0))[part]
    if turned.any():
        notes.append("a part that was inside out was turned")
        result[turned] = result[turned][:, ::-1]
    return result


def _corner_and_vector(vertices: NDArray, faces: NDArray) -> tuple[NDArray, NDArray]:
    return vertices[faces[:, 0]], face_vectors(vertices, faces)


def subdivided_flat(vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> Mesh:
    """Each triangle cut into four, all at once, until edges are short enough: shapes stay exactly as they are."""
    limit = FINEST_SHARE * np.linalg.norm(np.ptp(vertices, axis=0))
    while True:
        ends = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2)
        longest = np.linalg.norm(vertices[ends[:, 0]] - vertices[ends[:, 1]], axis=1).max()
        if longest <= limit or len(faces) * 2 > ENOUGH_FACES:
            return vertices, faces
        edges, number = np.unique(np.sort(ends, axis=1), axis=0, return_inverse=True)
        middle = (len(vertices) + number.reshape(-1, 3)).astype(np.int32)
        vertices = np.vstack([vertices, vertices[edges].mean(axis=1)])
        a, b, c = faces.T
        ab, bc, ca = middle.T
        faces = np.concatenate(
            [np.stack(corner, axis=1) for corner in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))]
        )


def smooth_pairs(vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> NDArray[np.int64]:
    """(pairs, 2) corners across each edge whose two faces meet at less than the sharp angle."""
    pairs, _ = edge_pairs(faces)
    normals = unit(face_vectors(vertices, faces))
    cosine = np.sum(normals[pairs[:, 0] // 3] * normals[pairs[:, 1] // 3], axis=1)
    return pairs[cosine > np.cos(np.radians(SHARP_ANGLE))]


def split_at_corners(
    vertices: NDArray[np.float64], faces: NDArray[np.int32]
) -> tuple[NDArray[np.float64], NDArray[np.int32], NDArray[np.float64]]:
    """Vertices doubled where faces meet sharply, so that each side has a normal of its own."""
    pairs = smooth_pairs(vertices, faces)
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
