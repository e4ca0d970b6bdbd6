"""The planes of a mesh that is not ours: by its shape, or after the bust where it is a head."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.bust import load_bust
from sitterlight.meshes.head import Plane, face_vectors
from sitterlight.meshes.plane_names import plane_names
from sitterlight.meshes.segmentation import Hierarchy, hierarchy, smoothed, without_islands

STRAY = 0.2  # of a plane's area: smaller pieces apart from the rest of it go over to their neighbours
LEAST_AREA = 12.0  # mm², of a plane that is carried over
UNNAMED = 1000  # labels from here on are of no plane of the bust


@dataclass(frozen=True, eq=False)
class PlaneFinder:
    """Every parting of a mesh into planes, for any count.

    `skin (F,)` False for eyes, which have no plane; `origin (faces of skin,)` the plane of the bust that each face's
    name comes from, −1 for none, or None where the mesh is no head.
    """

    vertices: NDArray[np.float64]
    faces: NDArray[np.int32]
    region_weights: NDArray[np.float32] | None
    skin: NDArray[np.bool_]
    origin: NDArray[np.int64] | None
    ways: Hierarchy

    def planes(self, count: int | None = None) -> tuple[tuple[Plane, ...], NDArray[np.int16]]:
        """Planes and plane_of_face (F,): `count` of them, or as many as the shape or the bust's names ask for."""
        faces = self.faces[self.skin]
        if self.origin is not None and count is None:
            label = self.ways.parted(self.ways.named_count)
        else:
            label = self.ways.flat_enough() if count is None else self.ways.parted(count)
        if self.origin is None:
            label = _quiet(self.vertices, faces, label)
            label = _by_area(self.vertices, faces, label)
            planes = plane_names(self.vertices, faces, label)
        else:
            label = _by_origin(label, self.origin)
            bust = load_bust().planes
            planes = plane_names(self.vertices, faces, label, self.origin, bust, self.region_weights)
        plane_of_face = np.full(len(self.faces), -1, dtype=np.int16)
        plane_of_face[self.skin] = label
        return planes, plane_of_face


def find_planes(
    vertices: NDArray[np.float64],
    faces: NDArray[np.int32],
    carried: NDArray[np.int16] | None = None,
    region_weights: NDArray[np.float32] | None = None,
) -> PlaneFinder:
    """A finder of planes; `carried (F,)`: planes of the bust, −1 for eyes, −2 where nothing was carried over."""
    if carried is None:
        whole = np.ones(len(faces), dtype=bool)
        return PlaneFinder(vertices, faces, region_weights, whole, None, hierarchy(vertices, faces))
    label = without_islands(vertices, faces, smoothed(vertices, faces, carried.astype(np.int64)), STRAY, LEAST_AREA)
    skin = label != -1
    label, inner = label[skin], faces[skin]
    unknown = label == -2
    if unknown.any():
        label[unknown] = UNNAMED + hierarchy(vertices, inner[unknown]).flat_enough(40.0, 10)
        label = without_islands(vertices, inner, label, 0.0, LEAST_AREA)
    origin = np.where(label < UNNAMED, label, -1)
    return PlaneFinder(
        vertices, faces, region_weights, skin, origin, hierarchy(vertices, inner, label, _families(label))
    )


def _families(label: NDArray) -> NDArray[np.int64]:
    """(n,) the region that each label's plane of the bust belongs to; labels of none are each their own."""
    regions = [plane.region for plane in load_bust().planes]
    number = np.array([sorted(set(regions)).index(region) for region in regions])
    return np.where(label < UNNAMED, number[np.clip(label, 0, len(number) - 1)], label)


def _quiet(vertices: NDArray, faces: NDArray, label: NDArray) -> NDArray[np.int64]:
    """Labels with quieter borders; none of them is lost."""
    quiet = smoothed(vertices, faces, label)
    return quiet if len(np.unique(quiet)) == len(np.unique(label)) else label


def _by_area(vertices: NDArray, faces: NDArray, label: NDArray) -> NDArray[np.int64]:
    """Labels numbered from the largest on."""
    totals = np.bincount(label, np.linalg.norm(face_vectors(vertices, faces), axis=1))
    order = np.argsort(-np.round(totals, 6), kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    return rank[label]


def _by_origin(label: NDArray, origin: NDArray) -> NDArray[np.int64]:
    """Labels numbered in the bust's order, those without a name last."""
    count = int(label.max()) + 1
    least = np.full(count, UNNAMED)
    named = origin >= 0
    np.minimum.at(least, label[named], origin[named])
    order = np.lexsort((np.arange(count), least))
    rank = np.empty(count, dtype=np.int64)
    rank[order] = np.arange(count)
    return rank[label]
