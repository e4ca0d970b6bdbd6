"""What each vertex sees of a patch: few shadow rays where few are needed.

The transfer knows of every vertex which directions are open. Where all of them about a patch agree, at a vertex and at
those around it, they say what is seen of the patch, and no ray is cast.
"""

from __future__ import annotations

from functools import lru_cache

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
_ASKED_ABOUT = 4
"""How many probes must agree about a sample."""


def shadows(
    head: Head, transfer: Transfer, caster: RayCaster, order: np.ndarray, patch: Patch
) -> tuple[np.ndarray, np.ndarray]:
    """Which samples of a patch in the HEAD's frame each vertex sees, (V,S) bool; and the vertices (E,) int32 at the
    edge of its light, over whose faces it comes or goes (see shadow_edges). `order (V,)` keeps neighbours together, see
    rays.spatial_order; the vertices at the edge are given in it.

    Some samples are probed where the transfer leaves it open whether all are seen or none. The rest are cast where the
    probes about them disagree, and from the vertices around, whose own probes agree; elsewhere they are as the probes.
    At an edge each is as the nearest probe: there the surface around the vertex is lit in its place, and only sheen
    asks.
    """
    visible = np.zeros((len(head.vertices), len(patch.points)), dtype=bool)
    samples = spread_order(patch.points)
    probes, rest = samples[:PROBES], samples[PROBES:]
    unsure, lit = _as_known(head, transfer, patch)
    visible[lit] = True
    asked = order[unsure[order]]
    places = head.vertices, head.normals, patch.points
    places = *(np.ascontiguousarray(each, np.float32) for each in places), patch.distant
    who = caster.tree.scene, asked, ray_origins(head), *places
    _cast(_cast_probes, len(asked) * len(probes), 1, who, probes, visible)
    seen = probes_seen(visible, probes)
    edge = np.zeros(len(visible), dtype=bool)
    edge[at_steps(head.faces, visible[:, probes].mean(axis=1, dtype=np.float32), LEAST_STEP)] = True
    if len(rest):
        mixed = np.zeros(len(visible), dtype=bool)
        over_vertices(_tell_apart, len(asked), asked, *places, probes, seen, mixed)
        wholly = with_ring(head.faces, mixed) & ~mixed & ~edge
        about = probes_about(patch, probes, rest, _ASKED_ABOUT)
        _cast(_cast_rest, len(asked), len(rest), who, rest, *about, seen, edge, wholly, visible)
    return visible, order[edge[order]]


def probes_seen(visible: np.ndarray, probes: np.ndarray) -> np.ndarray:
    """Which of the probes each vertex sees, (V,) uint32, a bit for each."""
    seen = np.zeros(len(visible), np.uint32)
    over_vertices(_as_bits, len(seen), visible, probes, seen)
    return seen


def probes_about(patch: Patch, probes: np.ndarray, samples: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """The probes that tell of each of `samples (N,)`: its nearest, and a bit for each of the `count` nearest, (N,)
    uint32; where all samples are probes, for each its own."""
    away = np.linalg.norm(patch.points[samples, None] - patch.points[None, probes], axis=2)
    nearest = np.argsort(away, axis=1)[:, : 1 if len(probes) == len(patch.points) else count]
    return probes[nearest[:, 0]], (np.uint32(1) << nearest.astype(np.uint32)).sum(axis=1, dtype=np.uint32)


def _cast(loop, count: int, each: int, who: tuple, *about) -> None:
    rays = np.zeros(1 + count, np.int32)
    over_vertices(loop, count, *who, *about, rays, each=each)
    count_rays(rays.sum())


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
def _as_bits(first, last, visible, samples, bits):
    for v in range(first, last):
        for n in range(len(samples)):
            bits[v] |= np.uint32(visible[v, samples[n]]) << np.uint32(n)


@kernel
def _tell_apart(first, last, order, places, normals, points, distant, samples, seen, mixed):
    """Where some of the samples that lie before a vertex are seen, not all."""
    for index in range(first, last):
        v = order[index]
        for n in range(len(samples)):
            unseen = seen[v] & (np.uint32(1) << np.uint32(n)) == 0
            if unseen and seen[v] > 0 and _is_before(v, samples[n], places, normals, points, distant):
                mixed[v] = True


@kernel
def _cast_probes(first, last, scene, order, origins, places, normals, points, distant, samples, visible, rays):
    """Every one of `samples` from every vertex of `order`, one vertex after the other: rays that leave one place for
    a small patch stay together longer than those of many places."""
    packet = new_packet()
    who, which = np.empty(LANES, np.int64), np.empty(LANES, np.int64)
    if last <= first:
        return
    index, turn, filled = first // len(samples), first % len(samples), 0
    for _ in range(first, last):
        v, s = order[index], samples[turn]
        turn += 1
        if turn == len(samples):
            index, turn = index + 1, 0
        if _is_before(v, s, places, normals, points, distant):
            _set_toward(packet, filled, origins, v, points, s, distant)
            who[filled], which[filled] = v, s
            filled = _see_if_full(scene, packet, filled + 1, who, which, visible)
            rays[first] += 1
    _see(scene, packet, filled, who, which, visible)


@kernel
def _cast_rest(
    first,
    last,
    scene,
    order,
    origins,
    places,
    normals,
    points,
    distant,
    rest,
    nearest,
    about,
    seen,
    edge,
    wholly,
    visible,
    rays,
):
    """The `rest` of the samples from the vertices of `order`: all of them where `wholly`, none at an `edge`, else those
    that the probes `about` them disagree on."""
    packet = new_packet()
    who, which, filled = np.empty(LANES, np.int64), np.empty(LANES, np.int64), 0
    for index in range(first, last):
        v = order[index]
        for n in range(len(rest)):
            s, told = rest[n], seen[v] & about[n]
            if (told == 0 and not wholly[v]) or not _is_before(v, s, places, normals, points, distant):
                continue
            if edge[v] or (told == about[n] and not wholly[v]):
                visible[v, s] = visible[v, nearest[n]]
                continue
            _set_toward(packet, filled, origins, v, points, s, distant)
            who[filled], which[filled] = v, s
            filled = _see_if_full(scene, packet, filled + 1, who, which, visible)
            rays[first] += 1
    _see(scene, packet, filled, who, which, visible)


@kernel
def _set_toward(packet, lane, origins, v, points, s, distant):
    """Put a ray from a vertex to a sample into a lane."""
    ox, oy, oz = origins[v, 0], origins[v, 1], origins[v, 2]
    x, y, z, far = points[s, 0], points[s, 1], points[s, 2], np.float32(np.inf)
    if not distant:
        x, y, z, far = x - ox, y - oy, z - oz, np.float32(1 - 1e-5)
    set_ray(packet, lane, ox, oy, oz, x, y, z, far)


@kernel
def _see(scene, packet, filled, who, which, visible):
    """Let a packet's rays tell whether vertices `who` see samples `which`."""
    if filled == 0:
        return
    ask_blocked(scene, packet, filled)
    for lane in range(filled):
        visible[who[lane], which[lane]] = not is_blocked(packet, lane)


@kernel
def _is_before(v, s, places, normals, points, distant):
    """Whether a sample lies before the face of a vertex."""
    x, y, z = points[s, 0], points[s, 1], points[s, 2]
    if not distant:
        x, y, z = x - places[v, 0], y - places[v, 1], z - places[v, 2]
    return normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z > 0


@kernel
def _see_if_full(scene, packet, filled, who, which, visible):
    """The same once no lane is free; how many lanes are filled then."""
    if filled < LANES:
        return filled
    _see(scene, packet, filled, who, which, visible)
    return 0
