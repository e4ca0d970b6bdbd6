"""Closing the small holes of a mesh with a patch that goes on as the surface around it does.

A patch is rings of triangles from the rim to its middle; its inner vertices are placed so that the squared
Laplacian vanishes (thin plate), with the rim and the vertices beside it held, after L. Kobbelt, S. Campagna,
J. Vorsatz and H.-P. Seidel, "Interactive multi-resolution modeling on arbitrary meshes", SIGGRAPH 1998.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import spsolve

from sitterlight.meshes.triangles import Mesh, counted, edges_of, was

LONGEST_RIM = 0.75  # of the diagonal of its part: the rim of a longer one is an opening, as of a neck
MOST_RIM_EDGES = 100_000  # a mesh with more is no surface with holes
MOST_RINGS = 40


def filled(vertices: NDArray[np.float64], faces: NDArray[np.int32], notes: list[str]) -> Mesh:
    """The mesh with its small holes closed; openings are left, and named."""
    rims = rims_of(faces)
    if not rims:
        return vertices, faces
    diagonal = _diagonals(vertices, faces)
    lengths = np.array([_length(vertices[rim]) for rim in rims])
    small = lengths <= LONGEST_RIM * diagonal[[rim[0] for rim in rims]]
    vertices, faces = _closed(vertices, faces, [rim for rim, closes in zip(rims, small, strict=True) if closes])
    if small.any():
        largest = lengths[small].max()
        size = f", the largest {_mm(largest)} mm round" if small.sum() > 1 else f" of {_mm(largest)} mm round"
        notes.append(f"{counted(small.sum(), 'hole')}{size}, {was(small.sum())} closed")
    if not small.all():
        rest = (~small).sum()
        notes.append(f"{counted(rest, 'large opening')} {was(rest)} left open")
    return vertices, faces


def _length(points: NDArray) -> float:
    """The length of a closed line through the points, its zigzag smoothed away."""
    for _ in range(3 if len(points) > 12 else 0):
        points = (np.roll(points, 1, axis=0) + 2 * points + np.roll(points, -1, axis=0)) / 4
    return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())


def _mm(length: float) -> str:
    return f"{length:.0f}" if length >= 10 else f"{length:.2g}"


def rims_of(faces: NDArray[np.int32]) -> list[NDArray[np.int64]]:
    """The rims of holes as closed rows of vertices, the way their patch has to run."""
    ends = np.stack([faces.ravel(), np.roll(faces, -1, axis=1).ravel()], axis=1).astype(np.int64)
    _, number, count = edges_of(ends)
    rim = ends[count[number] == 1]
    if len(rim) == 0 or len(rim) > MOST_RIM_EDGES:
        return []
    after: dict[int, list[int]] = {}
    for start, end in rim.tolist():
        after.setdefault(end, []).append(start)
    return [np.array(loop) for loop in _loops(after) if len(loop) > 2]


def _loops(after: dict[int, list[int]]) -> list[list[int]]:
    """Closed ways that meet no vertex twice, out of each vertex's following ones."""
    loops = []
    for first in list(after):
        way, place = [], {}
        here = first
        while after.get(here):
            place[here] = len(way)
            way.append(here)
            here = after[here].pop()
            if here in place:
                begin = place[here]
                loops.append(way[begin:])
                for gone in way[begin:]:
                    del place[gone]
                way = way[:begin]
    return loops


def _diagonals(vertices: NDArray, faces: NDArray) -> NDArray[np.float64]:
    """(V,) the diagonal of the part that each vertex belongs to."""
    ends = faces[:, [0, 1, 1, 2]].reshape(-1, 2)
    graph = sparse.coo_matrix((np.ones(len(ends), np.int8), (ends[:, 0], ends[:, 1])), (len(vertices),) * 2)
    count, part = connected_components(graph, directed=False)
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    np.minimum.at(low, part, vertices)
    np.maximum.at(high, part, vertices)
    return np.linalg.norm(high - low, axis=1)[part]


def _closed(vertices: NDArray, faces: NDArray, rims: list[NDArray]) -> Mesh:
    """The mesh with a patch in each rim. Only faces about the rims are looked at, of a mesh that may have millions."""
    about = np.zeros(len(vertices), dtype=bool)
    about[np.concatenate([*rims, np.zeros(0, np.int64)])] = True
    beside = faces[about[faces].any(axis=1)]
    places, patches, count = [vertices], [faces], len(vertices)
    order = np.argsort(beside, axis=None)
    corners = beside.ravel()[order]
    for rim in rims:
        first, last = np.searchsorted(corners, rim), np.searchsorted(corners, rim, side="right")
        at_rim = np.concatenate([order[a:b] for a, b in zip(first, last, strict=True)]) // 3
        own = beside[np.unique(at_rim)]
        rings, patch = _patch(vertices, own, rim, count)
        places.append(rings)
        patches.append(patch)
        count += len(rings)
    return np.vstack(places), np.vstack(patches)


def _patch(vertices: NDArray, beside: NDArray, rim: NDArray, first: int) -> Mesh:
    """New vertices, numbered from `first`, and the triangles of a patch, smooth with the faces `beside` its rim."""
    if len(rim) == 3:
        return np.zeros((0, 3)), rim[None].astype(np.int32)
    rings, triangles = _rings(vertices, rim)
    known, numbers = np.unique(beside, return_inverse=True)
    own = np.searchsorted(known, rim)
    patch = np.concatenate([own, len(known) + np.arange(len(rings))])[triangles]
    around = np.vstack([numbers.reshape(-1, 3), patch])
    rings = _thin_plate(np.vstack([vertices[known], rings]), around, len(known))
    return rings, np.concatenate([rim, first + np.arange(len(rings))])[triangles].astype(np.int32)


def _rings(vertices: NDArray, rim: NDArray) -> tuple[NDArray, NDArray]:
    """Inner vertices and triangles of a patch, numbered with the rim first."""
    border = vertices[rim]
    middle = border.mean(axis=0)
    edge = np.linalg.norm(np.roll(border, -1, axis=0) - border, axis=1).mean()
    radius = np.linalg.norm(border - middle, axis=1).mean()
    steps = int(np.clip(round(radius / edge), 1, MOST_RINGS))
    outer, points, triangles = np.arange(len(rim)), [], []
    next_number = len(rim)
    for step in range(1, steps):
        count = max(3, round(len(rim) * (1 - step / steps)))
        along = np.arange(count) / count * len(rim)
        low = along.astype(int)
        share = (along - low)[:, None]
        on_rim = border[low] * (1 - share) + border[(low + 1) % len(rim)] * share
        points.append(on_rim + (middle - on_rim) * (step / steps))
        inner = next_number + np.arange(count)
        triangles += _strip(outer, inner)
        outer, next_number = inner, next_number + count
    points.append(middle[None])
    triangles += [(a, b, next_number) for a, b in zip(outer, np.roll(outer, -1), strict=True)]
    return np.vstack(points), np.array(triangles)


def _strip(outer: NDArray, inner: NDArray) -> list[tuple[int, int, int]]:
    """Triangles between two closed rows that begin at the same place."""
    i = j = 0
    result = []
    while i < len(outer) or j < len(inner):
        a, b = outer[i % len(outer)], inner[j % len(inner)]
        if j == len(inner) or (i < len(outer) and (i + 1) / len(outer) <= (j + 1) / len(inner)):
            i += 1
            result.append((a, outer[i % len(outer)], b))
        else:
            j += 1
            result.append((a, inner[j % len(inner)], b))
    return result


def _thin_plate(vertices: NDArray, faces: NDArray, held: int) -> NDArray:
    """Places of the vertices from number `held` on; every vertex has a face."""
    count = len(vertices)
    ends = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    ends = np.concatenate([ends, ends[:, ::-1]])
    near = sparse.coo_matrix((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), (count, count)).tocsr()
    near.data[:] = 1
    laplacian = sparse.diags(1 / np.asarray(near.sum(axis=1)).ravel()) @ near - sparse.identity(count)
    inner = np.arange(count) >= held
    # The bending of vertices at the far border, whose neighbours are not all here, is not known.
    rows = inner | (np.asarray(near[:, inner].sum(axis=1)).ravel() > 0)
    bending = laplacian[rows]
    free, fixed = bending[:, inner], bending[:, ~inner]
    right = -(free.T @ (fixed @ vertices[:held]))
    system = (free.T @ free + 1e-9 * sparse.identity(int(inner.sum()))).tocsc()
    return np.asarray(spsolve(system, right)).reshape(-1, 3)
