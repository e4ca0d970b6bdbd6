"""Which side of a mesh is out: faces wound alike within each part, closed parts turned the right way round."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import breadth_first_order, connected_components

from sitterlight.meshes.head import face_vectors
from sitterlight.meshes.triangles import counted, edge_pairs, was

OPENNESS = 0.2  # an open part whose vector area is a smaller share of its area than this has an inside


def oriented(vertices: NDArray[np.float64], faces: NDArray[np.int32], notes: list[str]) -> NDArray[np.int32]:
    """Faces wound as most of their part is; a part with an inside that was inside out is turned."""
    pairs, _ = edge_pairs(faces)
    count, part, against = _against(faces, pairs)
    vectors = face_vectors(vertices, faces)
    area = np.linalg.norm(vectors, axis=1)
    # Of the two ways to wind a part alike, the one that fewer faces need be turned for.
    more = np.bincount(part, np.where(against, area, -area), count) > 0
    turned = against ^ more[part]
    if turned.any():
        number = int(turned.sum())
        its = "its" if number == 1 else "their"
        notes.append(f"{counted(number, 'face')} wound against {its} neighbours {was(number)} turned")
    result = faces.copy()
    result[turned] = result[turned][:, ::-1]
    vectors[turned] *= -1
    inside_out = _inside_out(vertices, result, vectors, area, part, count)
    if inside_out.any():
        number = int(inside_out.sum())
        parts = "a part that was" if number == 1 else f"{number} parts that were"
        notes.append(f"{parts} inside out {was(number)} turned")
        whole = inside_out[part]
        result[whole] = result[whole][:, ::-1]
    return result


def _against(faces: NDArray[np.int32], pairs: NDArray) -> tuple[int, NDArray, NDArray[np.bool_]]:
    """Number of parts, (F,) the part of each face, and whether it is wound against the first face of its part."""
    one, other = pairs[:, 0] // 3, pairs[:, 1] // 3
    flat = faces.ravel()
    # Neighbours wound alike run along their edge in opposite directions.
    differ = flat[pairs[:, 0]] == flat[pairs[:, 1]]
    _, once = np.unique(np.minimum(one, other) * len(faces) + np.maximum(one, other), return_index=True)
    one, other, differ = one[once], other[once], differ[once]
    shape = (len(faces),) * 2
    graph = sparse.coo_matrix((np.ones(len(one), np.int8), (one, other)), shape).tocsr()
    count, part = connected_components(graph, directed=False)
    first = np.full(count, len(faces))
    np.minimum.at(first, part, np.arange(len(faces)))
    # One more node is the neighbour of every part's first face, so that a single walk reaches all.
    root = len(faces)
    rows, columns = (
        np.concatenate([one, other, np.full(count, root), first]),
        np.concatenate([other, one, first, np.full(count, root)]),
    )
    graph = sparse.coo_matrix((np.ones(len(rows), np.int8), (rows, columns)), (root + 1,) * 2).tocsr()
    _, before = breadth_first_order(graph, root, directed=True)
    sign = sparse.coo_matrix((differ + 1, (one, other)), shape).tocsr()
    sign = sign.maximum(sign.T)
    child = np.flatnonzero(before[:-1] != root)
    against = np.zeros(root + 1, dtype=bool)
    if len(child):
        against[child] = np.asarray(sign[child, before[child]]).ravel() == 2
    before[root] = root
    while np.any(before != root):  # every step of the walk counts, twice as many at each round
        against ^= against[before] & (before != root)
        before = before[before]
    return count, part, against[:-1]


def _inside_out(
    vertices: NDArray, faces: NDArray, vectors: NDArray, area: NDArray, part: NDArray, count: int
) -> NDArray[np.bool_]:
    """(parts,) whether a part that is closed, or nearly, encloses less than nothing."""
    total = np.bincount(part, area, count)
    sums = np.stack([np.bincount(part, vectors[:, k], count) for k in range(3)], axis=1)
    middles = vertices[faces].mean(axis=1)
    centre = np.stack([np.bincount(part, area * middles[:, k], count) for k in range(3)], axis=1) / total[:, None]
    volume = np.bincount(part, np.einsum("ij,ij->i", middles - centre[part], vectors), count)
    return (np.linalg.norm(sums, axis=1) < OPENNESS * total) & (volume < 0)
