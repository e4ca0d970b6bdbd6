"""Ray casting against one triangle mesh: the only place that asks a ray library anything.

Embree answers through `embreex` where it has a wheel; elsewhere `trimesh`'s own ray caster does, slower.
`cast_count` counts every ray cast in this process, so that a test can show that a remembered transfer casts none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

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
    """Answers rays against `vertices (V,3)` mm and `faces (F,3)`."""

    def __init__(self, vertices: np.ndarray, faces: np.ndarray):
        self._corners = np.ascontiguousarray(np.asarray(vertices)[np.asarray(faces)], dtype=np.float32)
        self._scene = _embree_scene(self._corners)

    def occluded(self, origins: np.ndarray, directions: np.ndarray) -> np.ndarray:
        """True where the ray from `origins (N,3)` along `directions (N,3)` meets the mesh at any distance. (N,)"""
        if self._scene is None:
            return self.first_hit(origins, directions).face >= 0
        _count(len(origins))
        return self._scene.run(_float32(origins), _float32(directions), query="OCCLUDED") >= 0

    def first_hit(self, origins: np.ndarray, directions: np.ndarray) -> Hits:
        """The nearest face along each ray, `origins` and `directions (N,3)`."""
        _count(len(origins))
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
        hits = self.first_hit(origins, toward / length[:, None])
        return hits.distance >= length * (1 - 1e-5)


def _count(rays: int) -> None:
    global cast_count
    cast_count += rays


def _float32(array: np.ndarray) -> np.ndarray:
    return np.ascontiguousarray(array, dtype=np.float32)


def _embree_scene(corners: np.ndarray):
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
