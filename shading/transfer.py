"""What each vertex of a head sees of the sphere around it: the part of the light that only geometry decides.

For every vertex and every one of 768 equal-area directions on its outer side: open, or blocked and by what.
A pure function of the mesh, so it is calculated once, by ray casting, and remembered.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading import cache
from sitterlight.shading.directions import equal_area_directions
from sitterlight.shading.rays import RayCaster

RESOLUTION = 8
_VERSION = 1


@dataclass(frozen=True)
class Transfer:
    """Visibility of a head from its own vertices.

    `directions (N,3)` unit vectors in the head's frame, each standing for the same solid angle;
    `open_bits (V, N/8)` uint8, a set bit where the direction is on the outer side and meets nothing;
    `unoccluded (V,)` Σ max(0, n·d) over all directions: what makes an open sphere sum to one;
    blocked directions, sorted by vertex and direction: `start (V+1,)` where each vertex's begin,
    `direction (B,)` int16, `hit (B,)` int32 the nearest corner of the face met, −1 where the ray met its back.
    """

    directions: np.ndarray
    open_bits: np.ndarray
    unoccluded: np.ndarray
    start: np.ndarray
    direction: np.ndarray
    hit: np.ndarray


def unoccluded_transfer(head: Head, resolution: int = RESOLUTION) -> Transfer:
    """The transfer that nothing blocks: what a first picture can be drawn from at once."""
    directions = equal_area_directions(resolution)
    front = head.normals @ directions.T > 0
    return _assemble(head, directions, np.packbits(front, axis=1), [], [], [])


def transfer(head: Head, resolution: int = RESOLUTION, progress: Callable[[float], None] | None = None) -> Transfer:
    """The transfer of `head`, from memory or disk where it is known, otherwise by ray casting.

    `progress` is told the share done, 0 to 1; what it raises stops the work and nothing is kept.
    """
    name = _name(head, resolution)
    known = cache.recall(name)
    if known is not None:
        return Transfer(directions=equal_area_directions(resolution), **known)
    result = cast_transfer(head, resolution, progress)
    kept = ("open_bits", "unoccluded", "start", "direction", "hit")
    cache.remember(name, {key: getattr(result, key) for key in kept})
    return result


def is_remembered(head: Head, resolution: int = RESOLUTION) -> bool:
    """Whether the transfer of `head` lies in the cache folder."""
    return cache.holds(_name(head, resolution))


def _name(head: Head, resolution: int) -> str:
    return f"transfer-{_VERSION}-{resolution}-{head.key}"


def cast_transfer(
    head: Head, resolution: int = RESOLUTION, progress: Callable[[float], None] | None = None
) -> Transfer:
    """The transfer of `head` by ray casting: one pass per direction, each over the vertices that face it."""
    directions = equal_area_directions(resolution)
    caster = RayCaster(head.vertices, head.faces)
    origins = ray_origins(head)
    normals = head.normals.astype(np.float32)
    front_bits = np.zeros((len(directions), len(origins)), dtype=bool)
    vertices, order, met = [], [], []
    for index, direction in enumerate(directions.astype(np.float32)):
        facing = np.flatnonzero(normals @ direction > 0)
        hits = caster.first_hit(origins[facing], np.broadcast_to(direction, (len(facing), 3)))
        blocked = hits.face >= 0
        front_bits[index, facing[~blocked]] = True
        vertices.append(facing[blocked].astype(np.int32))
        order.append(np.full(blocked.sum(), index, dtype=np.int16))
        met.append(_nearest_corner(head, direction, hits.face[blocked], hits.u[blocked], hits.v[blocked]))
        if progress is not None:
            progress((index + 1) / len(directions))
    return _assemble(head, directions, np.packbits(front_bits.T, axis=1), vertices, order, met)


def ray_origins(head: Head) -> np.ndarray:
    """Where rays leave from, (V,3) float32 mm: each vertex lifted off its surface by less than is seen."""
    lift = 1e-4 * np.linalg.norm(np.ptp(head.vertices, axis=0))
    return (head.vertices + lift * head.normals).astype(np.float32)


def _assemble(head, directions, open_bits, vertices, order, met) -> Transfer:
    unoccluded = np.maximum(head.normals @ directions.T, 0).sum(axis=1).astype(np.float32)
    vertices = np.concatenate([np.zeros(0, np.int32), *vertices])
    by_vertex = np.argsort(vertices, kind="stable")
    start = np.searchsorted(vertices[by_vertex], np.arange(len(head.vertices) + 1)).astype(np.int64)
    direction = np.concatenate([np.zeros(0, np.int16), *order])[by_vertex]
    hit = np.concatenate([np.zeros(0, np.int32), *met])[by_vertex]
    return Transfer(directions, open_bits, unoccluded, start, direction, hit)


def _nearest_corner(head: Head, direction: np.ndarray, face: np.ndarray, u: np.ndarray, v: np.ndarray):
    corner = np.argmax(np.stack([1 - u - v, u, v], axis=1), axis=1)
    met = head.faces[face, corner].astype(np.int32)
    a, b, c = (head.vertices[head.faces[face, i]] for i in range(3))
    from_behind = np.cross(b - a, c - a) @ direction > 0
    return np.where(from_behind, np.int32(-1), met)
