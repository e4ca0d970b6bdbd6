"""Laying one surface on another by turning, moving and scaling it: iterated closest points.

After P. Besl and N. McKay, "A method for registration of 3-D shapes", IEEE PAMI 14 (1992), toward the planes of the
nearest places (Y. Chen and G. Medioni, 1992), from both surfaces, far pairs weighing less (S. Geman and D. McClure).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from sitterlight.meshes.head import face_vectors, unit


@dataclass(frozen=True)
class Similarity:
    """place ↦ scale · rotation @ place + shift."""

    scale: float
    rotation: NDArray[np.float64]
    shift: NDArray[np.float64]

    def __call__(self, points: NDArray) -> NDArray[np.float64]:
        return self.scale * points @ self.rotation.T + self.shift

    def back(self, points: NDArray) -> NDArray[np.float64]:
        """The places that come to lie on these."""
        return (points - self.shift) @ self.rotation / self.scale

    def turned(self, normals: NDArray) -> NDArray[np.float64]:
        return normals @ self.rotation.T


@dataclass(frozen=True, eq=False)
class Cloud:
    """Places spread evenly over a surface, (n, 3) mm, with their normals (n, 3)."""

    points: NDArray[np.float64]
    normals: NDArray[np.float64]

    def some(self, count: int) -> Cloud:
        """The first `count`; places lie in random order."""
        return Cloud(self.points[:count], self.normals[:count])


def cloud(vertices: NDArray[np.float64], faces: NDArray[np.int32], count: int, seed: int = 0) -> Cloud:
    """Places drawn evenly by area, always the same ones for a mesh."""
    vectors = face_vectors(vertices, faces)
    area = np.linalg.norm(vectors, axis=1)
    dice = np.random.default_rng(seed)
    along = np.cumsum(area)
    face = np.minimum(np.searchsorted(along, dice.random(count) * along[-1]), len(faces) - 1)
    root, other = np.sqrt(dice.random(count)), dice.random(count)
    weights = np.stack([1 - root, root * (1 - other), root * other], axis=1)
    return Cloud(np.einsum("nk,nkd->nd", weights, vertices[faces[face]]), unit(vectors[face]))


class Target:
    """The surface that lies still: `whole` is looked for near the moving one, `wanted` is what has to be met."""

    def __init__(self, whole: Cloud, wanted: Cloud, lean: float):
        self.whole, self.wanted, self.lean = whole, wanted, lean
        self.tree = cKDTree(np.hstack([whole.points, lean * whole.normals]))


def laid_on(moving: Cloud, target: Target, start: Similarity, reaches: NDArray, free_scale: bool = True) -> Similarity:
    """The similarity that lays `moving` on the target, from `start`; each step has its reach in mm."""
    found = start
    own = cKDTree(moving.points)
    for reach in reaches:
        pairs = [_toward(moving, target, found), _from(moving, own, target, found)]
        system, right = np.zeros((7, 7)), np.zeros(7)
        for points, normals, gaps, agree in pairs:
            weight = agree * (reach**2 / (reach**2 + np.einsum("ij,ij->i", gaps, gaps))) ** 2 / len(points)
            along = np.einsum("ij,ij->i", gaps, normals)
            centred = points - found.shift
            rows = np.hstack([np.cross(centred, normals), normals, np.einsum("ij,ij->i", centred, normals)[:, None]])
            system += (rows * weight[:, None]).T @ rows
            right += (rows * weight[:, None]).T @ along
        if not free_scale:
            system[6], system[:, 6], right[6], system[6, 6] = 0, 0, 0, 1
        damping = 1e-4 * np.diag(np.maximum(np.diag(system), 1e-12))
        step = np.linalg.solve(system + damping, right)
        found = _stepped(found, step)
    return found


def _stepped(found: Similarity, step: NDArray) -> Similarity:
    angle = min(float(np.linalg.norm(step[:3])), 0.4)
    turn = _rotation(step[:3], angle)
    growth = float(np.clip(1 + step[6], 0.8, 1.25))
    return Similarity(found.scale * growth, turn @ found.rotation, found.shift + step[3:6])


def _rotation(axis: NDArray, angle: float) -> NDArray[np.float64]:
    """Rodrigues' formula."""
    length = np.linalg.norm(axis)
    if length < 1e-12:
        return np.eye(3)
    x, y, z = axis / length
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross


def _toward(moving: Cloud, target: Target, found: Similarity) -> tuple[NDArray, NDArray, NDArray, NDArray]:
    """From places of the moving surface to the still one: places, normals, gaps, agreement of normals."""
    points, normals = found(moving.points), found.turned(moving.normals)
    _, nearest = target.tree.query(np.hstack([points, target.lean * normals]))
    there = target.whole.normals[nearest]
    agree = np.clip(np.einsum("ij,ij->i", normals, there), 0, 1)
    return points, there, target.whole.points[nearest] - points, agree


def _from(moving: Cloud, own: cKDTree, target: Target, found: Similarity) -> tuple[NDArray, NDArray, NDArray, NDArray]:
    """From what has to be met to the moving surface."""
    wanted = target.wanted
    _, nearest = own.query(found.back(wanted.points))
    points, normals = found(moving.points[nearest]), found.turned(moving.normals[nearest])
    agree = np.clip(np.einsum("ij,ij->i", normals, wanted.normals), 0, 1)
    return points, wanted.normals, wanted.points - points, agree
