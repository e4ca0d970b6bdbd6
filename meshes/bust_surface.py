"""What of the bust is seen from outside, as something to lay another head against."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.bust import load_bust
from sitterlight.meshes.head import Head, face_vectors, unit
from sitterlight.meshes.nearest import Surface
from sitterlight.meshes.regions import REGIONS

LEAN = 12.0  # mm that a place counts as farther for each radian that it looks away
BELOW = ("neck", "clothes")
EYES = ("eye white", "iris", "pupil")


@dataclass(frozen=True, eq=False)
class BustSurface:
    """`faces (n,)` numbers of the outer faces of `head`; `surface` made of them; `is_head (n,)` above the neck."""

    head: Head
    faces: NDArray[np.int64]
    surface: Surface
    is_head: NDArray[np.bool_]


@lru_cache(maxsize=1)
def bust_surface() -> BustSurface:
    """The outer surface of the bust, kept in memory: without linings, the back of the eyes and what no eye meets."""
    head = load_bust()
    region = head.region_weights[head.faces].mean(axis=1).argmax(axis=1)
    of = {name: region == REGIONS.index(name) for name in REGIONS}
    eye = np.logical_or.reduce([of[name] for name in EYES])
    ahead = unit(face_vectors(head.vertices, head.faces))[:, 2] > 0.35
    within_lids = eye & ahead & _near_lids(head)
    outer = np.flatnonzero((head.plane_of_face >= 0) | of["clothes"] | within_lids)
    below = of["clothes"] | of["neck"]
    surface = Surface(head.vertices, head.faces[outer], LEAN)
    return BustSurface(head, outer, surface, ~below[outer])


def _near_lids(head: Head) -> NDArray[np.bool_]:
    """(F,) faces of the eyes that lie in the opening of the lids: nothing of the head is ahead of them."""
    from scipy.spatial import cKDTree

    skin = head.faces[head.plane_of_face >= 0]
    middles = head.vertices[skin].mean(axis=1)
    places = head.vertices[head.faces].mean(axis=1)
    near = cKDTree(middles[:, :2])
    away, number = near.query(places[:, :2], k=4)
    behind = (middles[number, 2] > places[:, 2, None] + 0.5) & (away < 3.0)
    return ~behind.all(axis=1)
