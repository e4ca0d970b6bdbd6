"""Ray casting against one triangle mesh: the only place that asks a ray library anything.

Embree answers, from compiled loops on every core where its library can be reached (see `embree`), else through
`embreex`; where that has no wheel, `trimesh`'s own ray caster does, slower.
`cast_count` counts every ray cast in this process, so that a test can show that a remembered transfer casts none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.shading import embree
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.embree import HIT, RAY

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
    """Answers rays against `vertices (V,3)` mm and `faces (F,3)`. `tree` is for compiled loops, None where there is
    no library for them."""

    def __init__(self, vertices: np.ndarray, faces: np.ndarray):
        vertices, faces = np.asarray(vertices), np.asarray(faces)
        self.tree = embree.Tree(vertices, faces) if embree.library() is not None else None
        self._corners = np.ascontiguousarray(vertices[faces], np.float32) if self.tree is None else None
        self._scene = None if self.tree is not None else _embreex_scene(self._corners)

    def occluded(self, origins: np.ndarray, directions: np.ndarray, far: np.ndarray | None = None) -> np.ndarray:
        """True where the ray from `origins (N,3)` along `directions (N,3)` meets the mesh at any distance, or nearer
        than `far (N,)` times its direction. (N,)"""
        if self.tree is None:
            return self.first_hit(origins, directions).distance < (np.inf if far is None else far)
        count_rays(len(origins))
        blocked = np.zeros(len(origins), dtype=bool)
        far = np.full(len(origins), np.inf, np.float32) if far is None else _float32(far)
        rays = _float32(origins), _float32(directions), far
        over_vertices(_blocked, len(origins), self.tree.scene, *rays, blocked)
        return blocked

    def first_hit(self, origins: np.ndarray, directions: np.ndarray) -> Hits:
        """The nearest face along each ray, `origins` and `directions (N,3)`."""
        count_rays(len(origins))
        if self.tree is not None:
            face = np.empty(len(origins), np.int32)
            u, v, distance = np.empty((3, len(origins)), np.float32)
            rays = _float32(origins), _float32(directions)
            over_vertices(_hits, len(origins), self.tree.scene, *rays, face, u, v, distance)
            return Hits(face, u, v, distance)
        if self._scene is None:
            return _trimesh_hits(self._corners, origins, directions)
        found = self._scene.run(_float32(origins), _float32(directions), query="INTERSECT", output=True)
        face = np.asarray(found["primID"], dtype=np.int32)
        distance = np.where(face >= 0, found["tfar"], np.inf).astype(np.float32)
        return Hits(face, np.asarray(found["u"]), np.asarray(found["v"]), distance)

    def reaches(self, origins: np.ndarray, points: np.ndarray) -> np.ndarray:
        """True where nothing stands between `origins (N,3)` and `points (N,3)`. (N,)"""
        toward = np.asarray(points, dtype=np.float64) - origins
        length = np.linalg.norm(toward, axis=1)
        return ~self.occluded(origins, toward / length[:, None], length * (1 - 1e-5))


def why_slow() -> str | None:
    """Why rays take long here and what to do, as one sentence; None where a fast library answers them."""
    if embree.library() is None:
        try:
            import embreex  # noqa: F401 - asked one ray at a time it is fast enough
        except ImportError:
            return (
                "The ray library embreex is missing, so light on a new head takes an hour or more instead of seconds; "
                "pip install embreex helps."
            )
    return None


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


@kernel
def _blocked(first, last, scene, origins, directions, far, blocked):
    packet = embree.new_packet()
    for start in range(first, last, 16):
        filled = min(16, last - start)
        for lane in range(filled):
            o, d = origins[start + lane], directions[start + lane]
            embree.set_ray(packet, lane, o[0], o[1], o[2], d[0], d[1], d[2], far[start + lane])
        embree.ask_blocked(scene, packet, filled)
        for lane in range(filled):
            blocked[start + lane] = embree.is_blocked(packet, lane)


@kernel
def _hits(first, last, scene, origins, directions, face, u, v, distance):
    packet = embree.new_packet()
    for start in range(first, last, 16):
        filled = min(16, last - start)
        for lane in range(filled):
            o, d = origins[start + lane], directions[start + lane]
            embree.set_ray(packet, lane, o[0], o[1], o[2], d[0], d[1], d[2], np.inf)
        embree.ask_hits(scene, packet, filled)
        for lane in range(filled):
            face[start + lane] = embree.face_met(packet, lane)
            u[start + lane] = packet[HIT + 48 + lane]
            v[start + lane] = packet[HIT + 64 + lane]
            distance[start + lane] = packet[RAY + 128 + lane]


def _float32(array: np.ndarray) -> np.ndarray:
    return np.ascontiguousarray(array, dtype=np.float32)


def _embreex_scene(corners: np.ndarray):
    try:
        from embreex import rtcore_scene
        from embreex.mesh_construction import TriangleMesh
    except ImportError:
        return None
    scene = rtcore_scene.EmbreeScene()
    TriangleMesh(scene, corners)
    return scene


def _trimesh_hits(corners: np.ndarray, origins: np.ndarray, directions: np.ndarray) -> Hits:
    import trimesh

    mesh = trimesh.Trimesh(corners.reshape(-1, 3), np.arange(3 * len(corners)).reshape(-1, 3), process=False)
    caster = trimesh.ray.ray_triangle.RayMeshIntersector(mesh)
    faces, rays, places = caster.intersects_id(origins, directions, multiple_hits=False, return_locations=True)
    count = len(origins)
    face = np.full(count, -1, dtype=np.int32)
    u, v = np.zeros((2, count), dtype=np.float32)
    distance = np.full(count, np.inf, dtype=np.float32)
    if len(rays):
        face[rays] = faces
        weights = trimesh.triangles.points_to_barycentric(corners[faces], places)
        u[rays], v[rays] = weights[:, 1], weights[:, 2]
        distance[rays] = np.linalg.norm(places - np.asarray(origins)[rays], axis=1)
    return Hits(face, u, v, distance)
