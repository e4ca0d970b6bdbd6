"""Which face of a mesh lies under a point of the picture, found among the faces projected onto it.

Casting a ray would ask for a tree over the faces first, and building that holds the whole window up. Projecting
72 000 vertices takes some milliseconds once for each place of the camera, and a question then less than one.
"""

from __future__ import annotations

import numpy as np

from sitterlight.shading.view import View

NEAREST = 1e-3


class Picker:
    """Answers for one mesh, `vertices (N,3)` mm and `faces (G,3)`."""

    def __init__(self, vertices: np.ndarray, faces: np.ndarray):
        self._vertices, self._faces = np.asarray(vertices, np.float32), np.asarray(faces)
        self._seen_from: tuple | None = None

    def face_at(self, view: View, x: float, y: float) -> tuple[int, np.ndarray]:
        """The face under the pixel place `x, y` of the view, −1 for none, and its corners' weights (3,).

        Weights are those of the place on the face itself, not on its picture.
        """
        self._project(view)
        place = view.directions(np.array([x]), np.array([y]))[0]
        depth = place @ view.forward
        at = np.array([place @ view.right, place @ view.up]) / depth
        near = np.flatnonzero(
            (self._low[:, 0] <= at[0])
            & (self._high[:, 0] >= at[0])
            & (self._low[:, 1] <= at[1])
            & (self._high[:, 1] >= at[1])
        )
        corners, depths = self._places[self._faces[near]], self._depths[self._faces[near]]
        weights = _weights(corners, at)
        inside = (weights >= -1e-6).all(axis=1) & (depths > NEAREST).all(axis=1)
        if not inside.any():
            return -1, np.zeros(3)
        weights, depths, near = weights[inside] / depths[inside], depths[inside], near[inside]
        found = int(np.argmax(weights.sum(axis=1)))  # the sum is one over the depth of the place
        return int(near[found]), weights[found] / weights[found].sum()

    def _project(self, view: View) -> None:
        seen_from = (*view.eye, *view.right, *view.up)
        if seen_from == self._seen_from:
            return
        away = self._vertices - view.eye.astype(np.float32)
        axes = np.stack([view.right, view.up, view.forward], axis=1).astype(np.float32)
        along = away @ axes
        self._depths = along[:, 2]
        self._places = along[:, :2] / np.maximum(self._depths, NEAREST)[:, None]
        a, b, c = (self._places[self._faces[:, corner]] for corner in range(3))
        self._low, self._high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
        self._seen_from = seen_from


def _weights(corners: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Barycentric weights (n,3) of a point (2,) in triangles (n,3,2); negative outside, far out where a triangle
    has no area."""
    a, b, c = (corners[:, k].astype(float) - at for k in range(3))
    areas = np.stack([_cross(b, c), _cross(c, a), _cross(a, b)], axis=1)
    whole = areas.sum(axis=1, keepdims=True)
    return np.where(np.abs(whole) > 1e-18, areas / np.where(whole == 0, 1, whole), -1.0)


def _cross(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    return one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
