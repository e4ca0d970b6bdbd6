"""Ray casting against one triangle mesh: the only place that asks a ray library anything.

Embree answers, from compiled loops on every core (see `embree`); where `embreex`, which brings it, has no wheel, a
search tree of our own does (see `ray_tree`).
`cast_count` counts every ray cast in this process, so that a test can show that a remembered transfer casts none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.shading import embree
from sitterlight.shading.compiled import kernel, loop, over_vertices
from sitterlight.shading.embree import (
    FOR_HITS,
    FOR_SHADOWS,
    ask_blocked,
    ask_hits,
    face_met,
    is_blocked,
    length_met,
    new_packet,
    set_ray,
    weights_met,
)

cast_count = 0


@dataclass(frozen=True)
class Hits:
    """What rays met first. `face (N,)` int32, −1 where nothing; `u, v (N,)` barycentric weights of the
    face's second and third corner; `distance (N,)` mm, infinite where nothing."""

    face: np.ndarray
    u: np.ndarray
    v: np.ndarray
    distance: np.ndarray


class RayCaster:
    """Answers rays against `vertices (V,3)` mm and `faces (F,3)`. `tree` is for compiled loops."""

    def __init__(self, vertices: np.ndarray, faces: np.ndarray):
        if embree.library() is None:
            from sitterlight.shading.ray_tree import Tree
        else:
            from sitterlight.shading.embree import Tree
        self.tree = Tree(np.asarray(vertices), np.asarray(faces))

    def occluded(self, origins: np.ndarray, directions: np.ndarray, far: np.ndarray | None = None) -> np.ndarray:
        """True where the ray from `origins (N,3)` along `directions (N,3)` meets the mesh at any distance, or nearer
        than `far (N,)` times its direction. (N,)"""
        count_rays(len(origins))
        blocked = np.zeros(len(origins), dtype=bool)
        far = np.full(len(origins), np.inf, np.float32) if far is None else _float32(far)
        rays = _float32(origins), _float32(directions), far
        over_vertices(_blocked, len(origins), self.tree.scene, *rays, blocked)
        return blocked

    def first_hit(self, origins: np.ndarray, directions: np.ndarray) -> Hits:
        """The nearest face along each ray, `origins` and `directions (N,3)`."""
        count_rays(len(origins))
        face = np.empty(len(origins), np.int32)
        u, v, distance = np.empty((3, len(origins)), np.float32)
        rays = _float32(origins), _float32(directions)
        over_vertices(_hits, len(origins), self.tree.scene, *rays, face, u, v, distance)
        return Hits(face, u, v, distance)

    def reaches(self, origins: np.ndarray, points: np.ndarray) -> np.ndarray:
        """True where nothing stands between `origins (N,3)` and `points (N,3)`. (N,)"""
        toward = np.asarray(points, dtype=np.float64) - origins
        length = np.linalg.norm(toward, axis=1)
        return ~self.occluded(origins, toward / length[:, None], length * (1 - 1e-5))


def count_rays(rays: int) -> None:
    """Add to the count of rays cast in this process."""
    global cast_count
    cast_count += int(rays)


def spatial_order(places: np.ndarray) -> np.ndarray:
    """An order (N,) in which neighbours among `places (N,3)` follow each other, so that packets of rays stay
    together: by the interleaved bits of their coordinates (G. M. Morton, IBM, 1966)."""
    spread = np.ptp(places, axis=0).max() or 1.0
    cells = ((places - places.min(axis=0)) / spread * 1023).astype(np.int64)
    code = np.zeros(len(places), np.int64)
    for bit in range(10):
        for axis in range(3):
            code |= ((cells[:, axis] >> bit) & 1) << (3 * bit + axis)
    return np.argsort(code, kind="stable").astype(np.int32)


@loop
def _blocked(first, last, scene, origins, directions, far, blocked):
    packet = new_packet(FOR_SHADOWS)
    for start in range(first, last, FOR_SHADOWS):
        filled = min(FOR_SHADOWS, last - start)
        for lane in range(filled):
            o, d = origins[start + lane], directions[start + lane]
            set_ray(packet, FOR_SHADOWS, lane, o[0], o[1], o[2], d[0], d[1], d[2], far[start + lane])
        ask_blocked(scene, packet, filled)
        for lane in range(filled):
            blocked[start + lane] = is_blocked(packet, lane)


@kernel
def _hits(first, last, scene, origins, directions, face, u, v, distance):
    packet = new_packet(FOR_HITS)
    for start in range(first, last, FOR_HITS):
        filled = min(FOR_HITS, last - start)
        for lane in range(filled):
            o, d = origins[start + lane], directions[start + lane]
            set_ray(packet, FOR_HITS, lane, o[0], o[1], o[2], d[0], d[1], d[2], np.inf)
        ask_hits(scene, packet, filled)
        for lane in range(filled):
            face[start + lane] = face_met(packet, lane)
            u[start + lane], v[start + lane] = weights_met(packet, lane)
            distance[start + lane] = length_met(packet, lane)


def _float32(array: np.ndarray) -> np.ndarray:
    return np.ascontiguousarray(array, dtype=np.float32)
