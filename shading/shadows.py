"""What each vertex sees of a patch: few shadow rays where few are needed.

The transfer knows of every vertex which directions are open. Where all of them about a patch agree, at a vertex and at
those around it, they say what is seen of the patch, and no ray is cast. Elsewhere a few samples are asked about, by a
ray where not all about them is open, and these tell of the others wherever they agree.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.bits import WORD, ones
from sitterlight.shading.compiled import loop, over_vertices
from sitterlight.shading.direction_map import cell_map, cell_toward
from sitterlight.shading.directions import equal_area_directions
from sitterlight.shading.embree import FOR_SHADOWS
from sitterlight.shading.rays import RayCaster, count_rays
from sitterlight.shading.rings import around_unlike, at_steps, with_ring
from sitterlight.shading.shadow_kernels import (
    SOME,
    cast_others,
    cast_probes,
    count_seen,
    find_nearest,
    samples_of,
    see_as_known,
    tell_apart,
    tell_by_share,
    tell_of_all,
    those,
)
from sitterlight.shading.sources import Patch
from sitterlight.shading.transfer import Transfer

LEAST_STEP = 0.12
"""How much more of the probes one corner of a face sees than another, where light ends between them."""
PROBES = FOR_SHADOWS
"""Samples that tell of the others: a packet of rays, and no more than a word has bits."""
_FINER, _ABOUT = 32, 1.3
"""Where all of the transfer's directions within so many widths of a cell about a probe are open, or none, it is seen,
or not: four rays of ten are spared, and of 2.9 million probes of 41 lights rays saw 20 otherwise. Where a probe is, a
cell of the finer set tells."""
_ASKED_ABOUT = 4
"""How many probes must agree about a sample."""


@dataclass(frozen=True, eq=False)
class Shadows:
    """What the vertices of a head see of a patch.

    `seen (V,W)` uint64: which samples, a bit for each, in their `order (S,)`, in which each stands farthest from all
    before it; the first of them are its probes, which told of the others. `edge (E,)` int32: the vertices at the edge
    of its light, over whose faces it comes or goes (see shadow_edges). `free (V,)`: those that see probes, and before
    which nothing stands: what they don't see lies behind their faces.
    """

    order: np.ndarray
    seen: np.ndarray
    edge: np.ndarray
    free: np.ndarray

    @staticmethod
    def none(vertices: int, patch: Patch) -> Shadows:
        """All of a patch, seen from everywhere."""
        seen = np.tile(_all_bits(len(patch.order)), (vertices, 1))
        return Shadows(patch.order, seen, np.zeros(0, np.int32), np.ones(vertices, dtype=bool))

    @property
    def visible(self) -> np.ndarray:
        """Which of the patch's samples each vertex sees, (V,S) bool."""
        visible = np.empty((len(self.seen), len(self.order)), dtype=bool)
        for place, sample in enumerate(self.order):
            visible[:, sample] = self.seen[:, place // WORD] >> np.uint64(place % WORD) & np.uint64(1)
        return visible


def shadows(head: Head, transfer: Transfer, caster: RayCaster, order: np.ndarray, patch: Patch) -> Shadows:
    """What the vertices of a head see of a patch in its frame. `order (V,)` keeps neighbours together, see
    rays.spatial_order; the vertices at the edge are given in it.

    Probes are asked about where the transfer leaves it open whether all of the patch is seen or none of it. The other
    samples are, where the probes about them disagree, and from the vertices around, whose own probes agree; elsewhere
    they are as the probes. At an edge each is as the nearest probe: there the surface around the vertex is lit in its
    place, and only sheen asks.
    """
    count, points = len(head.vertices), np.ascontiguousarray(patch.rows[0].T)
    samples, probes = len(points), min(PROBES, len(points))
    known, around = _as_known(head, transfer, patch), _around_cells(round(np.sqrt(len(transfer.directions) / 12)))
    if not _is_beyond(head, patch):
        around = around[:0]
    seen, rays = np.empty((count, -(-samples // WORD)), np.uint64), np.zeros(1, np.int64)
    before = np.empty(count, np.uint64)
    see_as_known(0, count, known, _all_bits(samples), seen)
    about = caster.tree.scene, head.ray_origins, *head.in_single

    def ask(vertices: np.ndarray, around: np.ndarray) -> None:
        by_known = transfer.open_bits.view(np.uint64), cell_map(_FINER), around
        probe = points[:probes], patch.distant, *by_known, before, seen, rays
        over_vertices(cast_probes, len(vertices), vertices, *about, *probe, each=probes)

    ask(core := those(order, unsure := known == SOME), around)
    late = _belied(head.faces, core, known, probes, seen) & ~unsure
    seen[late] = 0
    ask(those(order, late), around[:0])  # what the transfer told of these was wrong
    asked = those(order, unsure | late)
    number, mixed = np.empty(count, np.uint8), np.zeros(count, dtype=bool)
    count_seen(0, count, seen, probes, number)
    edge = at_steps(head.faces, number, LEAST_STEP * probes)
    tell_apart(0, len(asked), asked, before, seen, mixed)
    if samples > probes:
        wholly = with_ring(head.faces, mixed) & ~mixed & ~edge
        of = np.zeros((probes, 2, seen.shape[1]), np.uint64)
        samples_of(*nearest_of(points[:probes], points[probes:], _ASKED_ABOUT), probes, of)
        by_these = points, patch.distant, probes, of, edge, wholly, _all_bits(samples)
        over_vertices(cast_others, len(asked), asked, *about, *by_these, seen, rays, each=samples)
    count_rays(rays[0])
    return Shadows(patch.order, seen, those(order, edge), (number > 0) & ~mixed)


def _belied(faces: np.ndarray, asked: np.ndarray, known: np.ndarray, probes: int, seen: np.ndarray) -> np.ndarray:
    """The vertices (V,) at whose faces the probes of those that were `asked` tell that things are otherwise than
    `known (V,)` of the others."""
    sees = known.copy()
    tell_of_all(0, len(asked), asked, probes, seen, sees)
    return around_unlike(faces, sees, SOME)


def nearest_of(probes: np.ndarray, samples: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Those of `probes (P,3)` that tell of each of `samples (N,3)`: its nearest (N,), and a bit for each of the `count`
    nearest, (N,) uint64."""
    nearest, bits = np.zeros(len(samples), np.int64), np.zeros(len(samples), np.uint64)
    find_nearest(np.ascontiguousarray(probes), np.ascontiguousarray(samples), count, nearest, bits)
    return nearest, bits


def _all_bits(samples: int) -> np.ndarray:
    """Words (W,) in which so many bits are set."""
    left = samples - WORD * np.arange(-(-samples // WORD))
    return np.array([2 ** min(bits, WORD) - 1 for bits in left.tolist()], np.uint64)


def _as_known(head: Head, transfer: Transfer, patch: Patch) -> np.ndarray:
    """What the transfer tells of what vertices see of a patch, (V,) uint8: ALL, NONE, or SOME where that is open."""
    count = len(head.vertices)
    if not _is_beyond(head, patch):
        return np.full(count, SOME, np.uint8)
    middle = patch.middle
    if patch.distant:
        middle = middle / math.hypot(*middle)
    reach = math.sqrt(((patch.points - middle) ** 2).sum(axis=1).max())
    cells = len(transfer.directions)
    resolution = round(math.sqrt(cells / 12))
    about = math.sqrt(4 * math.pi / cells)  # the width of a cell: some directions asked lie on every side of the patch
    share = np.empty(count, np.float32)
    if patch.distant:
        asked = np.packbits(transfer.directions @ middle >= math.cos(reach + about)).view(np.uint64)
        over_vertices(_share_of_these_open, count, transfer.open_bits.view(np.uint64), asked, share)
    else:
        near = middle.astype(np.float32), np.float32(reach), np.float32(about)
        directions = transfer.directions.astype(np.float32), cell_map(resolution), _by_nearness(resolution)
        over_vertices(_share_open, count, *head.in_single, transfer.open_bits, *directions, *near, share)
    known = np.empty(count, np.uint8)
    tell_by_share(0, count, share, at_steps(head.faces, share, LEAST_STEP), known)
    return known


def _is_beyond(head: Head, patch: Patch) -> bool:
    """Whether all of a patch lies beyond the head: else what blocks a direction may stand behind the patch."""
    if patch.distant:
        return True
    return (patch.points @ patch.middle).min() > (head.vertices @ patch.middle).max()


@lru_cache(maxsize=2)
def _around_cells(resolution: int) -> np.ndarray:
    """Of each cell of the _FINER set, the directions (M,N/64) of a set that lie around it, a bit for each."""
    directions = equal_area_directions(resolution).astype(np.float32)
    least = np.float32(np.cos(_ABOUT * np.sqrt(4 * np.pi / len(directions))))
    blocks = np.array_split(equal_area_directions(_FINER).astype(np.float32), 12)
    return np.concatenate([np.packbits(block @ directions.T >= least, axis=1) for block in blocks]).view(np.uint64)


@lru_cache(maxsize=2)
def _by_nearness(resolution: int) -> np.ndarray:
    """The directions (N,N) int16 of a set, the nearest to each first."""
    directions = equal_area_directions(resolution)
    return np.argsort(-(directions @ directions.T), axis=1, kind="stable").astype(np.int16)


@loop
def _share_of_these_open(first, last, bits, asked, share):
    """The share of the directions whose bits are set in `asked (N/64,)` that are open."""
    every = 0
    for word in range(len(asked)):
        every += ones(asked[word])
    for v in range(first, last):
        clear = 0
        for word in range(len(asked)):
            clear += ones(bits[v, word] & asked[word])
        share[v] = np.float32(clear) / np.float32(every)


@loop
def _share_open(first, last, places, normals, bits, directions, cells, nearness, middle, reach, about, share):
    """The share of the directions within the `reach` of a near patch about its `middle`, and `about` beyond, that are
    open."""
    one = np.float32(1)
    slack = np.float32(0.9) * about  # how far the middle of a cell may be from what lies in it, at most
    for v in range(first, last):
        x, y, z = middle[0] - places[v, 0], middle[1] - places[v, 1], middle[2] - places[v, 2]
        over = one / np.sqrt(x * x + y * y + z * z)
        x, y, z = x * over, y * over, z * over
        radius = np.arcsin(min(reach * over, one))
        least, end = np.cos(radius + about), np.cos(radius + about + slack)
        behind = -np.sin(min(radius + about + slack, np.float32(np.pi / 2)))
        if normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z < behind:
            share[v] = 0  # no direction about the patch lies before the vertex
            continue
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
