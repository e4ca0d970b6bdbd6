"""Points spread over the planes of a head, evenly by area: where a referee asks for the light."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from sitterlight.meshes.head import face_vectors


@dataclass(frozen=True, eq=False)
class Samples:
    """Points in the head's frame: `places (N,3)` mm, `normals (N,3)` of their faces, `plane (N,)`; the `face (N,)` and
    the weights of its corners, `corners (N,3)`."""

    places: np.ndarray
    normals: np.ndarray
    plane: np.ndarray
    face: np.ndarray
    corners: np.ndarray

    def between(self, faces: np.ndarray, values: np.ndarray) -> np.ndarray:
        """Values per vertex `(V,C)` at the points, (N,C)."""
        return np.einsum("nk,nkc->nc", self.corners, values[faces[self.face]])

    def only(self, rows: np.ndarray) -> Samples:
        """Some of the points."""
        return Samples(*(getattr(self, field.name)[rows] for field in fields(self)))

    @staticmethod
    def joined(groups: list[Samples]) -> Samples:
        """The points of all groups."""
        return Samples(*(np.concatenate([getattr(one, field.name) for one in groups]) for field in fields(Samples)))


def sample_planes(vertices, faces, plane_of_face, count: int, seed: int = 0, planes=None) -> Samples:
    """`count` points on every plane (or on `planes` alone), stratified along each plane's list of faces."""
    random = np.random.default_rng(seed)
    vectors = face_vectors(vertices, faces)
    area = np.linalg.norm(vectors, axis=1)
    chosen, label = [], []
    for plane in range(plane_of_face.max() + 1) if planes is None else planes:
        members = np.flatnonzero(plane_of_face == plane)
        running = np.cumsum(area[members])
        spots = (np.arange(count) + random.random(count)) / count * running[-1]
        chosen.append(members[np.minimum(np.searchsorted(running, spots), len(members) - 1)])
        label.append(np.full(count, plane))
    face, plane = np.concatenate(chosen), np.concatenate(label)
    u, v = random.random((2, len(face)))
    over = u + v > 1
    u, v = np.where(over, 1 - u, u), np.where(over, 1 - v, v)
    corners = np.stack([1 - u - v, u, v], axis=1)
    places = np.einsum("nk,nkc->nc", corners, np.asarray(vertices)[np.asarray(faces)[face]])
    return Samples(places, vectors[face] / area[face, None], plane, face, corners)


def plane_means(values: np.ndarray, plane: np.ndarray, weights: np.ndarray, planes: int):
    """Means (planes, C) of `values (N,C)` with `weights (N,)`, and the standard errors of the means."""
    total = np.maximum(np.bincount(plane, weights, planes), 1e-30)[:, None]
    columns = range(values.shape[1])
    mean = np.stack([np.bincount(plane, weights * values[:, c], planes) for c in columns], 1) / total
    squares = np.stack([np.bincount(plane, weights * (values[:, c] - mean[plane, c]) ** 2, planes) for c in columns], 1)
    return mean, np.sqrt(squares) / total
