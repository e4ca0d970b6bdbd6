"""The bust's plane names and regions carried over to another head that lies on it.

The head is first bent softly toward the bust, so that a longer nose or a wider jaw does not shift the names; then each
of its places takes what the nearest place of the bust has that looks the same way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from scipy.spatial.distance import cdist

from sitterlight.meshes.bust_surface import EYES, bust_surface
from sitterlight.meshes.head import face_vectors, unit, vertex_normals
from sitterlight.meshes.nearest import Nearest
from sitterlight.meshes.regions import REGIONS
from sitterlight.meshes.similarity import Cloud, Similarity, cloud

SOFTNESS = ((60.0, 120), (40.0, 250), (28.0, 500), (20.0, 900), (14.0, 1500))
"""How widely the bending of a step is shared, mm, and by how many places it is held."""
NEAR = 16.0  # mm from the bust, after bending, within which names are carried over
NEAR_EYE = 4.0  # mm, for what is eye
SAME_WAY = 0.2  # cosine between the normals


@dataclass(frozen=True, eq=False)
class Carried:
    """`plane_of_face (F,)` numbers among the bust's planes, −1 for eyes, −2 where nothing could be carried over;
    `region_weights (V, 15)`; `origin (3,)` the bust's origin in the head's own frame."""

    plane_of_face: NDArray[np.int16]
    region_weights: NDArray[np.float32]
    origin: NDArray[np.float64]


def carried_over(vertices: NDArray[np.float64], faces: NDArray[np.int32], placing: Similarity) -> Carried:
    """Names and regions of the bust for a head that `placing` lays on it."""
    bust = bust_surface()
    points, normals = placing(vertices), placing.turned(vertex_normals(vertices, faces))
    bend = _bending(cloud(placing(vertices), faces, 4000))
    points = _bent(points, bend)
    middles = points[faces].mean(axis=1)
    looks = unit(face_vectors(points, faces))
    near = bust.surface.nearest(middles, looks)
    plane = bust.head.plane_of_face[bust.faces[near.face]].astype(np.int16)
    is_eye = _is_eye()[near.face]
    fits = _fits(near, looks, is_eye)
    plane = np.where(fits & (is_eye | (plane >= 0)), plane, np.int16(-2))
    weights = _weights(points, normals, faces, plane)
    return Carried(plane.astype(np.int16), weights, placing.back(np.zeros((1, 3)))[0])


def _is_eye() -> NDArray[np.bool_]:
    """(n,) which outer faces of the bust are of the eyes."""
    bust = bust_surface()
    region = bust.head.region_weights[bust.surface.faces].mean(axis=1).argmax(axis=1)
    return np.isin(region, [REGIONS.index(name) for name in EYES])


def _fits(near: Nearest, looks: NDArray, is_eye: NDArray[np.bool_]) -> NDArray[np.bool_]:
    same = np.einsum("ij,ij->i", bust_surface().surface.normals[near.face], looks)
    return (near.distance < np.where(is_eye, NEAR_EYE, NEAR)) & (same > SAME_WAY)


def _bending(places: Cloud) -> list[tuple[float, cKDTree, NDArray]]:
    """Steps of a soft bending toward the bust: (softness, tree of places, how each of them moves)."""
    surface, points = bust_surface().surface, places.points
    steps = []
    for softness, count in SOFTNESS:
        near = surface.nearest(points, places.normals)
        gap = near.place - points
        same = np.clip(np.einsum("ij,ij->i", surface.normals[near.face], places.normals), 0, 1)
        trust = same / (1 + (near.distance / softness) ** 2)
        held = points[:count]
        share = np.exp(-0.5 * cdist(held, points, "sqeuclidean") / softness**2) * trust
        moves = share @ gap / (share.sum(axis=1) + 1e-3)[:, None]
        steps.append((softness, cKDTree(held), moves))
        points = _moved(points, *steps[-1])
    return steps


def _moved(points: NDArray, softness: float, held: cKDTree, moves: NDArray) -> NDArray[np.float64]:
    away, number = held.query(points, k=12)
    share = np.exp(-0.5 * ((away - away[:, :1]) / (0.5 * softness)) ** 2)
    share /= share.sum(axis=1, keepdims=True)
    return points + np.einsum("nk,nkd->nd", share, moves[number])


def _bent(points: NDArray, steps: list[tuple[float, cKDTree, NDArray]]) -> NDArray[np.float64]:
    for step in steps:
        points = _moved(points, *step)
    return points


def _weights(points: NDArray, normals: NDArray, faces: NDArray, plane: NDArray) -> NDArray[np.float32]:
    """(V, 15): the bust's own where names were carried over, and plain neck or skin elsewhere."""
    bust = bust_surface()
    near = bust.surface.nearest(points, normals)
    corners = bust.surface.faces[near.face]
    weights = np.einsum("nk,nkr->nr", near.weights, bust.head.region_weights[corners].astype(float))
    eye, clothes = [REGIONS.index(name) for name in EYES], REGIONS.index("clothes")
    # A garment is the bust's own; what is an eye ends sharply where the faces end that are one.
    weights[:, REGIONS.index("neck")] += weights[:, clothes]
    weights[:, clothes] = 0
    in_eye = np.zeros(len(points), dtype=bool)
    in_eye[faces[plane == -1]] = True
    weights[np.ix_(~in_eye, eye)] = 0
    of_eye = np.zeros_like(weights[in_eye])
    of_eye[:, eye] = weights[np.ix_(in_eye, eye)]
    of_eye[of_eye.sum(axis=1) < 0.5, eye[0]] = 1
    weights[in_eye] = of_eye
    far = near.distance > NEAR
    weights[far] = 0
    weights[far, 0] = 1
    empty = weights.sum(axis=1) < 1e-6
    weights[empty, REGIONS.index("eyelid")] = 1
    return (weights / weights.sum(axis=1, keepdims=True)).astype(np.float32)
