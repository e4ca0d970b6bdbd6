"""The bust calculated on exactly twice the vertices: those of its control mesh's next level that lie on its corners and
in the middles of its quads, so that the surface is the one that is looked at."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy import sparse

from sitterlight.meshes.head import Head, make_head
from sitterlight.meshes.library import load_head


@lru_cache(maxsize=1)
def doubled_bust() -> Head:
    """Every quad is cut from its middle to its corners; looked at it is on the same display mesh."""
    head = load_head()
    fine, corners = head.display, len(head.vertices)
    quads = np.column_stack([head.faces[0::2], head.faces[1::2, 2]])  # a quad's two faces are (a, b, c) and (a, c, d)
    kept = np.r_[:corners, len(fine.vertices) - len(quads) : len(fine.vertices)]
    middle = corners + np.arange(len(quads))
    around = [np.column_stack([quads[:, k], quads[:, (k + 1) % 4], middle]) for k in range(4)]
    return make_head(
        "doubled bust",
        fine.vertices[kept],
        np.stack(around, axis=1).reshape(-1, 3).astype(np.int32),
        (head.to_display[kept] @ head.region_weights).astype(np.float32),
        head.planes,
        np.repeat(head.plane_of_face[0::2], 4),
        display=fine,
        to_display=_blend(fine.faces, kept, len(fine.vertices)),
        normals=fine.normals[kept],
    )


def _blend(faces: np.ndarray, kept: np.ndarray, count: int) -> sparse.csr_matrix:
    """(D, kept): each vertex that is kept is itself, each middle of an edge the mean of its ends and of the quads'
    middles beside it."""
    place = np.full(count, -1)
    place[kept] = np.arange(len(kept))
    pairs = np.concatenate([faces[:, [i, j]] for i in range(3) for j in range(3) if i != j])
    pairs = np.unique(pairs[(place[pairs[:, 0]] < 0) & (place[pairs[:, 1]] >= 0)], axis=0)
    beside = sparse.csr_matrix((np.ones(len(pairs)), (pairs[:, 0], place[pairs[:, 1]])), (count, len(kept)))
    share = 1 / np.maximum(np.asarray(beside.sum(axis=1)).ravel(), 1)
    itself = sparse.csr_matrix((np.ones(len(kept)), (kept, place[kept])), (count, len(kept)))
    return (sparse.diags(share) @ beside + itself).tocsr()
