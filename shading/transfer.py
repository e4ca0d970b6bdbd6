"""What each vertex of a head sees of the sphere around it: the part of the light that only geometry decides.

For every vertex and every one of 768 equal-area directions on its outer side: open, or blocked and by what.
A pure function of the mesh, so it is calculated once, by ray casting, and remembered.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading import cache
from sitterlight.shading.compiled import each_at_once, kernel, over_vertices
from sitterlight.shading.directions import equal_area_directions
from sitterlight.shading.embree import FOR_HITS, ask_hits, face_met, new_packet, set_ray, weights_met
from sitterlight.shading.rays import RayCaster, count_rays, spatial_order

RESOLUTION = 8
_VERSION = 3
_GROUP, _BLOCK = 256, 8192
_OPEN, _BACK, _BEHIND = -1, -2, -3
"""What a direction met, other than a vertex: nothing; the back of a face; it points into the surface itself."""


@dataclass(frozen=True)
class Transfer:
    """Visibility of a head from its own vertices.

    `directions (N,3)` unit vectors in the head's frame, each standing for the same solid angle;
    `open_bits (V, N/8)` uint8, a set bit where the direction is on the outer side and meets nothing;
    `unoccluded (V,)` Σ max(0, n·d) over all directions: what makes an open sphere sum to one;
    blocked directions that return light, sorted by vertex and direction: `start (V+1,)` where each vertex's begin,
    `direction (B,)` int16, `hit (B,)` int32 the nearest corner of the face met. A direction on the outer side that is
    neither open nor among them met the back of a face, which returns nothing.
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
    bits = [
        np.packbits(part @ directions.T > 0, axis=1)
        for part in np.array_split(head.normals, 1 + len(head.normals) // _BLOCK)
    ]
    nothing = np.zeros(0, np.int16), np.zeros(0, np.int32)
    count = len(head.normals)
    return _assemble(head, directions, np.arange(count), np.concatenate(bits), np.zeros(count, int), *nothing)


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
    return f"transfer-{_VERSION}-{resolution}-{head.shape_key}"


def cast_transfer(
    head: Head, resolution: int = RESOLUTION, progress: Callable[[float], None] | None = None
) -> Transfer:
    """The transfer of `head` by ray casting, a group of neighbouring vertices at a time, on every core."""
    directions = equal_area_directions(resolution)
    caster, origins = RayCaster(head.vertices, head.faces), head.ray_origins
    order = spatial_order(head.vertices + head.size / 8 * head.normals)
    groups = [order[first : first + _GROUP] for first in range(0, len(order), _GROUP)]
    look = partial(_look_around, caster, head, origins, directions.astype(np.float32))
    found = []
    for index, group in enumerate(each_at_once(look, groups)):
        found.append(group)
        if progress is not None:
            progress((index + 1) / len(groups))
    bits, counts, direction, hit = (np.concatenate(each) for each in zip(*found, strict=True))
    return _assemble(head, directions, order, bits, counts, direction, hit)


def _look_around(caster, head, origins, directions, group) -> tuple[np.ndarray, ...]:
    """Open bits and number of blocked directions of each vertex of a `group`, and the directions and hits of those."""
    met = np.full((len(group), len(directions)), _BEHIND, np.int32)
    vertices, normals = head.in_single
    rays = _meet(caster.tree.scene, head.faces, vertices, origins[group], normals[group], directions, met)
    count_rays(rays)
    returns = met >= 0
    direction = np.nonzero(returns)[1].astype(np.int16)
    return np.packbits(met == _OPEN, axis=1), returns.sum(axis=1), direction, met[returns]


@kernel
def _meet(scene, faces, vertices, origins, normals, directions, met):
    packet = new_packet(FOR_HITS)
    who = np.empty(FOR_HITS, np.int64)
    rays, count = 0, len(origins)
    for d in range(len(directions)):
        x, y, z = directions[d, 0], directions[d, 1], directions[d, 2]
        filled = 0
        for v in range(count):
            if normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z > 0:
                set_ray(packet, FOR_HITS, filled, origins[v, 0], origins[v, 1], origins[v, 2], x, y, z, np.inf)
                who[filled] = v
                filled += 1
            if filled == FOR_HITS or (filled > 0 and v == count - 1):
                ask_hits(scene, packet, filled)
                for lane in range(filled):
                    face = face_met(packet, lane)
                    met[who[lane], d] = _OPEN if face < 0 else _corner_met(packet, lane, faces[face], vertices, x, y, z)
                rays += filled
                filled = 0
    return rays


@kernel
def _corner_met(packet, lane, corners, vertices, x, y, z):
    """The corner of a face that is nearest to where a ray along (x, y, z) met it; _BACK where it met the back."""
    a, b, c = vertices[corners[0]], vertices[corners[1]], vertices[corners[2]]
    b0, b1, b2 = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    c0, c1, c2 = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    if (b1 * c2 - b2 * c1) * x + (b2 * c0 - b0 * c2) * y + (b0 * c1 - b1 * c0) * z > 0:
        return np.int32(_BACK)
    u, v = weights_met(packet, lane)
    if 1 - u - v >= u and 1 - u - v >= v:
        return corners[0]
    return corners[1] if u >= v else corners[2]


def _assemble(head, directions, order, bits, counts, direction, hit) -> Transfer:
    """The transfer from what was found of the vertices in `order`."""
    unoccluded = np.zeros(len(order), np.float32)
    over_vertices(_sum_cosines, len(order), head.normals, directions, unoccluded)
    open_bits = np.empty_like(bits)
    open_bits[order] = bits
    ends = np.cumsum(counts)
    start = np.zeros(len(order) + 1, np.int64)
    start[1 + order] = counts
    start = np.cumsum(start)
    sorted_direction, sorted_hit = np.empty_like(direction), np.empty_like(hit)
    over_vertices(_place, len(order), order, ends - counts, start, direction, hit, sorted_direction, sorted_hit)
    return Transfer(directions, open_bits, unoccluded, start, sorted_direction, sorted_hit)


@kernel
def _sum_cosines(first, last, normals, directions, total):
    for v in range(first, last):
        cosines = 0.0
        for d in range(len(directions)):
            cosine = (
                normals[v, 0] * directions[d, 0] + normals[v, 1] * directions[d, 1] + normals[v, 2] * directions[d, 2]
            )
            cosines += max(cosine, 0.0)
        total[v] = cosines


@kernel
def _place(first, last, order, begin, start, direction, hit, sorted_direction, sorted_hit):
    for index in range(first, last):
        target = start[order[index]]
        for entry in range(start[order[index] + 1] - target):
            sorted_direction[target + entry] = direction[begin[index] + entry]
            sorted_hit[target + entry] = hit[begin[index] + entry]
