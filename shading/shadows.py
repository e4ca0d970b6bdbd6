"""What each vertex sees of a patch: few shadow rays where few are needed.

The transfer knows of every vertex which directions are open. Where all of them about a patch agree, at a vertex and at
those around it, they say what is seen of the patch, and no ray is cast.
"""

from __future__ import annotations

from functools import lru_cache, partial

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.direction_map import cell_map, cell_toward
from sitterlight.shading.directions import equal_area_directions
from sitterlight.shading.embree import LANES, ask_blocked, is_blocked, new_packet, set_ray
from sitterlight.shading.rays import RayCaster, count_rays
from sitterlight.shading.rings import at_steps, with_ring
from sitterlight.shading.sources import Patch, spread_order
from sitterlight.shading.transfer import Transfer, ray_origins

LEAST_STEP = 0.12
PROBES = 16
"""Samples that are asked first. 32 at most."""


def shadows(
    head: Head, transfer: Transfer, caster: RayCaster, order: np.ndarray, patch: Patch
) -> tuple[np.ndarray, np.ndarray]:
    """Which samples of a patch in the HEAD's frame each vertex sees, (V,S) bool; and the vertices (E,) int32 at the
    edge of its light, over whose faces it comes or goes (see shadow_edges). `order (V,)` keeps neighbours together, see
    rays.spatial_order; the vertices at the edge are given in it.

    Some samples are probed where the transfer leaves it open whether all are seen or none. The rest are cast only where
    the probes disagree, and in the two rings of vertices around; elsewhere they are as the probes. At an edge each is
    as the nearest probe: there the surface around the vertex is lit in its place, and only sheen asks.
    """
    visible = np.zeros((len(head.vertices), len(patch.points)), dtype=bool)
    samples = spread_order(patch.points)
    probes, rest = samples[:PROBES], samples[PROBES:]
    cast = partial(_cast, head, caster, patch, visible)
    unsure, lit = _as_known(head, transfer, patch)
    asked = order[unsure[order]]
    cast(asked, probes)
    clear, mixed = _told(head, patch, visible, asked, probes)
    clear[lit] = 1
    edge = np.zeros(len(visible), dtype=bool)
    edge[at_steps(head.faces, clear, LEAST_STEP)] = True
    mixed = with_ring(head.faces, with_ring(head.faces, mixed)) & unsure & ~edge
    cast(order[mixed[order]], rest)
    visible[lit] = True
    _fill_up(head, patch, asked[~mixed[asked]], rest, probes, visible)
    return visible, order[edge[order]]


def _as_known(head: Head, transfer: Transfer, patch: Patch) -> tuple[np.ndarray, np.ndarray]:
    """Of which vertices the transfer doesn't tell what they see of a patch, and which see all of it, (V,) bool each."""
    count = len(head.vertices)
    middle = patch.points.mean(axis=0)
    middle = middle / np.linalg.norm(middle)
    if not patch.distant and (patch.points @ middle).min() <= (head.vertices @ middle).max():
        # What blocks a direction may lie behind the patch.
        return np.ones(count, dtype=bool), np.zeros(count, dtype=bool)
    if not patch.distant:
        middle = patch.points.mean(axis=0)
    reach = np.linalg.norm(patch.points - middle, axis=1).max()
    cells = len(transfer.directions)
    resolution = round(np.sqrt(cells / 12))
    about = np.sqrt(4 * np.pi / cells)  # the width of a cell: some directions asked lie on every side of the patch
    share = np.empty(count, np.float32)
    over_vertices(
        _share_open,
        count,
        head.vertices.astype(np.float32),
        head.normals.astype(np.float32),
        transfer.open_bits,
        transfer.directions.astype(np.float32),
        cell_map(resolution),
        _by_nearness(resolution),
        middle.astype(np.float32),
        patch.distant,
        np.float32(reach),
        np.float32(about),
        share,
    )
    unsure = (share > 0) & (share < 1)
    unsure[at_steps(head.faces, share, LEAST_STEP)] = True
    unsure = with_ring(head.faces, unsure)
    return unsure, (share == 1) & ~unsure


@lru_cache(maxsize=2)
def _by_nearness(resolution: int) -> np.ndarray:
    """The directions (N,N) int16 of a set, the nearest to each first."""
    directions = equal_area_directions(resolution)
    return np.argsort(-(directions @ directions.T), axis=1, kind="stable").astype(np.int16)


def _told(head: Head, patch: Patch, visible, vertices: np.ndarray, probes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The share (V,) float32 of the probes that each of `vertices` sees, none elsewhere; and where the probes before
    its face disagree, (V,) bool."""
    clear, mixed = np.zeros(len(visible), np.float32), np.zeros(len(visible), dtype=bool)
    over_vertices(_count_clear, len(vertices), vertices, *_places(head, patch), probes, visible, clear, mixed)
    return clear, mixed


def _fill_up(head: Head, patch: Patch, vertices: np.ndarray, rest, probes, visible: np.ndarray) -> None:
    """Let the `rest` of the samples be seen by `vertices` as the nearest of the `probes` is, as far as they are before
    the face."""
    away = np.linalg.norm(patch.points[rest, None] - patch.points[None, probes], axis=2)
    nearest = probes[away.argmin(axis=1)]
    over_vertices(_as_probed, len(vertices), vertices, *_places(head, patch), rest, nearest, visible)


def _cast(head: Head, caster: RayCaster, patch: Patch, visible, vertices: np.ndarray, samples: np.ndarray) -> None:
    count = len(vertices) * len(samples)
    if not count:
        return
    rays = np.zeros(1 + count // LANES, np.int32)
    who = caster.tree.scene, vertices, ray_origins(head)
    over_vertices(_cast_shadows, count, *who, *_places(head, patch), samples, visible, rays)
    count_rays(rays.sum())


def _places(head: Head, patch: Patch) -> tuple:
    """Vertices, their normals and samples, float32, and whether these are directions."""
    parts = (np.ascontiguousarray(each, np.float32) for each in (head.vertices, head.normals, patch.points))
    return *parts, patch.distant


@kernel
def _share_open(first, last, places, normals, bits, directions, cells, nearness, middle, distant, reach, about, share):
    """The share of the directions within `reach` and `about` of a patch's `middle` that are open."""
    one = np.float32(1)
    slack = np.float32(0.9) * about  # how far the middle of a cell may be from what lies in it, at most
    x, y, z, radius = middle[0], middle[1], middle[2], reach
    least, end = np.cos(radius + about), np.cos(radius + about + slack)
    for v in range(first, last):
        if not distant:
            x, y, z = middle[0] - places[v, 0], middle[1] - places[v, 1], middle[2] - places[v, 2]
            over = one / np.sqrt(x * x + y * y + z * z)
            x, y, z = x * over, y * over, z * over
            radius = np.arcsin(min(reach * over, one))
            least, end = np.cos(radius + about), np.cos(radius + about + slack)
        near = nearness[cell_toward(cells, x, y, z)]
        cx, cy, cz = directions[near[0], 0], directions[near[0], 1], directions[near[0], 2]
        asked, clear = np.int32(0), np.int32(0)
        for d in near:
            dx, dy, dz = directions[d, 0], directions[d, 1], directions[d, 2]
            if dx * cx + dy * cy + dz * cz < end:
                break
            if dx * x + dy * y + dz * z >= least:
                asked += 1
                clear += (bits[v, d >> 3] >> (7 - (d & 7))) & 1
        share[v] = np.float32(clear) / np.float32(asked)


@kernel
def _cast_shadows(first, last, scene, order, origins, places, normals, points, distant, samples, visible, rays):
    """Every one of `samples` from every vertex of `order`, one vertex after the other: rays that leave one place for
    a small patch stay together longer than those of many places."""
    packet = new_packet()
    who, which = np.empty(LANES, np.int64), np.empty(LANES, np.int64)
    index, turn, filled = first // len(samples), first % len(samples), 0
    for pair in range(first, last):
        v, s = order[index], samples[turn]
        turn += 1
        if turn == len(samples):
            index, turn = index + 1, 0
        x, y, z = points[s, 0], points[s, 1], points[s, 2]
        far = np.float32(np.inf)
        if not distant:
            x, y, z = x - places[v, 0], y - places[v, 1], z - places[v, 2]
        if normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z > 0:
            ox, oy, oz = origins[v, 0], origins[v, 1], origins[v, 2]
            if not distant:
                x, y, z = points[s, 0] - ox, points[s, 1] - oy, points[s, 2] - oz
                length = np.sqrt(x * x + y * y + z * z)
                x, y, z, far = x / length, y / length, z / length, length * np.float32(1 - 1e-5)
            set_ray(packet, filled, ox, oy, oz, x, y, z, far)
            who[filled], which[filled] = v, s
            filled += 1
        if filled == LANES or (filled > 0 and pair == last - 1):
            ask_blocked(scene, packet, filled)
            for lane in range(filled):
                visible[who[lane], which[lane]] = not is_blocked(packet, lane)
            rays[first // LANES] += filled
            filled = 0


@kernel
def _count_clear(first, last, order, places, normals, points, distant, samples, visible, clear, mixed):
    for index in range(first, last):
        v = order[index]
        seen, before = 0, 0
        for s in samples:
            seen += visible[v, s]
            before += _is_before(v, s, places, normals, points, distant)
        clear[v] = seen / len(samples)
        mixed[v] = 0 < seen < before


@kernel
def _as_probed(first, last, order, places, normals, points, distant, rest, nearest, visible):
    for index in range(first, last):
        v = order[index]
        for n in range(len(rest)):
            if visible[v, nearest[n]]:
                visible[v, rest[n]] = _is_before(v, rest[n], places, normals, points, distant)


@kernel
def _is_before(v, s, places, normals, points, distant):
    """Whether a sample lies before the face of a vertex."""
    x, y, z = points[s, 0], points[s, 1], points[s, 2]
    if not distant:
        x, y, z = x - places[v, 0], y - places[v, 1], z - places[v, 2]
    return normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z > 0
