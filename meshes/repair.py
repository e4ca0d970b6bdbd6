"""Mending what scanners and sculpting programs leave behind: needles, flaps, edges of many faces, loose specks.

Each mending adds one sentence to `notes`, and none where there was nothing to mend.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from sitterlight.meshes.head import face_areas
from sitterlight.meshes.holes import filled
from sitterlight.meshes.triangles import Mesh, counted, edge_pairs, edges_of, used, was, without_twins
from sitterlight.meshes.winding import oriented

THIN = 0.01  # height of a needle over its longest edge
LEAST = 1e-3  # of the diagonal: nothing is moved farther when needles are taken out
FLAP_SHARE, SPECK_SHARE, SPECK_SIZE = 0.05, 5e-4, 0.02  # of the area; of the area; of the diagonal
ROUNDS = 8


def mended(vertices: NDArray[np.float64], faces: NDArray[np.int32], notes: list[str]) -> Mesh:
    """The mesh without needles, flaps and specks, wound alike, its small holes closed."""
    vertices, faces = without_needles(vertices, faces, notes)
    vertices, faces = without_flaps(vertices, faces, notes)
    vertices, faces = without_specks(vertices, faces, notes)
    faces = oriented(vertices, faces, notes)
    return filled(vertices, faces, notes)


def mended_before_gathering(vertices: NDArray[np.float64], faces: NDArray[np.int32], notes: list[str]) -> Mesh:
    """As mended, for a mesh whose faces are gathered into cells next: needles, which go in them, are counted only."""
    vertices, faces = without_flaps(vertices, faces, notes)
    vertices, faces = without_specks(vertices, faces, notes)
    short, flat = _needles(vertices, faces, LEAST * float(np.linalg.norm(np.ptp(vertices, axis=0))))
    found = int(np.sum(short | flat))
    if found:
        notes.append(f"{counted(found, 'needle-thin face')} {was(found)} joined with others")
    faces = oriented(vertices, faces, notes)
    return filled(vertices, faces, notes)


def without_needles(vertices: NDArray[np.float64], faces: NDArray[np.int32], notes: list[str]) -> Mesh:
    """Faces far longer than wide taken out: their short edge joined, or their long edge laid the other way."""
    least = LEAST * float(np.linalg.norm(np.ptp(vertices, axis=0)))
    found = 0
    for _ in range(ROUNDS):
        short, flat = _needles(vertices, faces, least)
        if not (short.any() or flat.any()):
            break
        before = len(faces)
        vertices, faces = _joined_short_edges(vertices, faces, short)
        found += before - len(faces)
        if len(faces) == 0:
            break
        _, flat = _needles(vertices, faces, least)
        laid = _laid_otherwise(vertices, faces, flat)
        if laid is None and before == len(faces):
            break
        if laid is not None:
            found += len(laid[1])
            vertices, faces = used(vertices, without_twins(laid[0]))
            if len(faces) == 0:
                break
    if len(faces) == 0:
        raise ValueError("the mesh has needle-thin faces only; a surface with some width was expected.")
    if found:
        notes.append(f"{counted(found, 'needle-thin face')} {was(found)} taken out")
    return vertices, faces


def _edges(vertices: NDArray, faces: NDArray) -> NDArray[np.float64]:
    """(F, 3) lengths of the edges that leave each corner."""
    return np.linalg.norm(vertices[faces] - vertices[np.roll(faces, -1, axis=1)], axis=2)


def _needles(vertices: NDArray, faces: NDArray, least: float) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(F,) needles with one edge that can be joined, and those with a corner that lies on the edge across."""
    length = _edges(vertices, faces)
    longest = length.max(axis=1)
    height = 2 * face_areas(vertices, faces) / np.maximum(longest, 1e-300)
    thin = (height < THIN * longest) & (height < least)
    short = thin & (length.min(axis=1) < least)
    return short, thin & ~short


def _joined_short_edges(vertices: NDArray, faces: NDArray, short: NDArray[np.bool_]) -> Mesh:
    if not short.any():
        return vertices, faces
    chosen = faces[short]
    rows = np.arange(len(chosen))
    place = _edges(vertices, chosen).argmin(axis=1)
    a, b = chosen[rows, place], chosen[rows, (place + 1) % 3]
    graph = sparse.coo_matrix((np.ones(len(a), np.int8), (a, b)), (len(vertices),) * 2)
    count, number = connected_components(graph, directed=False)
    share = np.bincount(number, minlength=count)
    means = np.stack([np.bincount(number, vertices[:, k], count) for k in range(3)], axis=1) / share[:, None]
    return used(means, without_twins(number[faces].astype(np.int32)))


def _laid_otherwise(vertices: NDArray, faces: NDArray, flat: NDArray[np.bool_]) -> tuple[NDArray, NDArray] | None:
    """Faces after the long edge of each flat one was laid across, and which; None where none could be."""
    if not flat.any():
        return None
    pairs, _ = edge_pairs(faces)
    across = np.full(3 * len(faces), -1)
    across[pairs[:, 0]], across[pairs[:, 1]] = pairs[:, 1], pairs[:, 0]
    chosen = np.flatnonzero(flat)
    corner = 3 * chosen + _edges(vertices, faces[chosen]).argmax(axis=1)
    other = across[corner]
    taken, kept = np.zeros(len(faces), dtype=bool), []
    for k, (one, two) in enumerate(zip(chosen, other // 3, strict=True)):
        if other[k] >= 0 and not (taken[one] or taken[two]):
            taken[one] = taken[two] = True
            kept.append(k)
    if not kept:
        return None
    corner, other = corner[kept], other[kept]
    flatly = faces.ravel()

    def at(place: NDArray, step: int) -> NDArray:
        return flatly[place // 3 * 3 + (place % 3 + step) % 3]

    start, end, apex, opposite = at(corner, 0), at(corner, 1), at(corner, 2), at(other, 2)
    result = faces.copy()
    result[corner // 3] = np.stack([start, opposite, apex], axis=1)
    result[other // 3] = np.stack([opposite, end, apex], axis=1)
    return result, corner


def without_flaps(vertices: NDArray[np.float64], faces: NDArray[np.int32], notes: list[str]) -> Mesh:
    """Flaps that stand on an edge of two other faces left out; other edges of many faces count as cut."""
    crowded = _crowded(faces)
    if not crowded.any():
        return vertices, faces
    patch_count, patch = _patches(faces)
    loose = _loose_edges(faces)
    area = face_areas(vertices, faces)
    share = np.bincount(patch, area, patch_count) / area.sum()
    stands = np.bincount(patch[np.flatnonzero(crowded) // 3], minlength=patch_count) > 0
    is_open = np.bincount(patch[np.flatnonzero(loose) // 3], minlength=patch_count) > 0
    flap = stands & is_open & (share < FLAP_SHARE)
    if flap.any() and not flap.all():
        faces = faces[~flap[patch]]
        notes.append(f"{counted(flap.sum(), 'flap')} that stood on the surface {was(flap.sum())} left out")
    rest = len(np.unique(edges_of(_ends(faces))[1][_crowded(faces)]))
    if rest:
        notes.append(f"{counted(rest, 'edge')} where more than two faces met {was(rest)} cut apart")
    return used(vertices, faces)


def _ends(faces: NDArray) -> NDArray:
    return np.stack([faces.ravel(), np.roll(faces, -1, axis=1).ravel()], axis=1)


def _crowded(faces: NDArray) -> NDArray[np.bool_]:
    """(3 F,) corners whose leaving edge more than two faces share."""
    _, number, count = edges_of(_ends(faces))
    return count[number] > 2


def _loose_edges(faces: NDArray) -> NDArray[np.bool_]:
    _, number, count = edges_of(_ends(faces))
    return count[number] == 1


def _patches(faces: NDArray[np.int32]) -> tuple[int, NDArray]:
    """Faces joined across edges of exactly two: their number, and (F,) the one of each face."""
    pairs = edge_pairs(faces)[0] // 3
    graph = sparse.coo_matrix((np.ones(len(pairs), np.int8), (pairs[:, 0], pairs[:, 1])), (len(faces),) * 2)
    return connected_components(graph, directed=False)


def parts_of(vertices: NDArray, faces: NDArray[np.int32]) -> tuple[int, NDArray]:
    """Pieces that share no vertex: their number, and (F,) the one of each face."""
    ends = faces[:, [0, 1, 1, 2]].reshape(-1, 2)
    graph = sparse.coo_matrix((np.ones(len(ends), np.int8), (ends[:, 0], ends[:, 1])), (len(vertices),) * 2)
    count, number = connected_components(graph, directed=False)
    return count, number[faces[:, 0]]


def without_specks(vertices: NDArray[np.float64], faces: NDArray[np.int32], notes: list[str]) -> Mesh:
    """Loose pieces that are tiny beside the whole left out."""
    count, part = parts_of(vertices, faces)
    if count == 1:
        return vertices, faces
    share = np.bincount(part, face_areas(vertices, faces), count)
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    part_of_vertex = np.full(len(vertices), -1)
    for k in range(3):
        part_of_vertex[faces[:, k]] = part
    member = part_of_vertex >= 0
    np.minimum.at(low, part_of_vertex[member], vertices[member])
    np.maximum.at(high, part_of_vertex[member], vertices[member])
    size = np.linalg.norm(high - low, axis=1) / np.linalg.norm(np.ptp(vertices, axis=0))
    speck = (share < SPECK_SHARE * share.sum()) & (size < SPECK_SIZE)
    if not speck.any() or speck.all():
        return vertices, faces
    notes.append(f"{counted(speck.sum(), 'loose speck')} {was(speck.sum())} left out")
    return used(vertices, faces[~speck[part]])
