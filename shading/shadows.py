"""What each vertex sees of a patch: few shadow rays where few are needed.

The transfer knows of every vertex which directions are open. Where all of them about a patch agree, at a vertex and at
those around it, they say what is seen of the patch, and no ray is cast. Elsewhere a packet of rays asks about a few
samples, which takes little longer than a single ray, and these tell of the others wherever they agree.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import loop, over_vertices
from sitterlight.shading.direction_map import cell_map, cell_toward
from sitterlight.shading.directions import equal_area_directions
from sitterlight.shading.embree import FOR_SHADOWS
from sitterlight.shading.rays import RayCaster, count_rays
from sitterlight.shading.rings import around_unlike, at_steps, with_ring
from sitterlight.shading.shadow_kernels import (
    ALL,
    NONE,
    SOME,
    WORD,
    cast_others,
    cast_probes,
    count_seen,
    find_nearest,
    tell_apart,
    tell_of_all,
    those,
)
from sitterlight.shading.sources import Patch
from sitterlight.shading.transfer import Transfer

LEAST_STEP = 0.12
"""How much more of the probes one corner of a face sees than another, where light ends between them."""
PROBES = FOR_SHADOWS
"""Samples that tell of the others: a packet of rays, and no more than a word has bits."""
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
    unsure, lit = _as_known(head, transfer, patch)
    seen, rays = np.zeros((count, -(-samples // WORD)), np.uint64), np.zeros(count, np.int64)
    seen[lit] = _all_bits(samples)
    about = caster.tree.scene, head.ray_origins, *head.in_single

    def ask(vertices: np.ndarray) -> None:
        over_vertices(
            cast_probes, len(vertices), vertices, *about, points[:probes], patch.distant, seen, rays, each=probes
        )

    ask(core := those(order, unsure))
    late = _belied(head.faces, core, lit, probes, seen) & ~unsure
    seen[late] = 0
    ask(those(order, late))
    asked = those(order, unsure | late)
    number, mixed = np.empty(count, np.uint8), np.zeros(count, dtype=bool)
    count_seen(0, count, seen, probes, number)
    edge = at_steps(head.faces, number, LEAST_STEP * probes)
    over_vertices(tell_apart, len(asked), asked, *head.in_single, points, patch.distant, probes, seen, mixed)
    if samples > probes:
        wholly = with_ring(head.faces, mixed) & ~mixed & ~edge
        tell = nearest_of(points[:probes], points[probes:], _ASKED_ABOUT)
        by_these = points, patch.distant, probes, *tell, edge, wholly, _all_bits(samples)
        over_vertices(cast_others, len(asked), asked, *about, *by_these, seen, rays, each=samples)
    count_rays(rays.sum())
    return Shadows(patch.order, seen, those(order, edge), (number > 0) & ~mixed)


def _belied(faces: np.ndarray, asked: np.ndarray, lit: np.ndarray, probes: int, seen: np.ndarray) -> np.ndarray:
    """The vertices (V,) at whose faces the probes of those that were `asked` tell that things are otherwise than known
    of the others, of which the `lit (V,)` see all."""
    sees = np.where(lit, np.uint8(ALL), np.uint8(NONE))
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
        *head.in_single,
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
    unsure |= at_steps(head.faces, share, LEAST_STEP)
    return unsure, (share == 1) & ~unsure


@lru_cache(maxsize=2)
def _by_nearness(resolution: int) -> np.ndarray:
    """The directions (N,N) int16 of a set, the nearest to each first."""
    directions = equal_area_directions(resolution)
    return np.argsort(-(directions @ directions.T), axis=1, kind="stable").astype(np.int16)


@loop
def _share_open(first, last, places, normals, bits, directions, cells, nearness, middle, distant, reach, about, share):
    """The share of the directions within `reach` and `about` of a patch's `middle` that are open."""
    one = np.float32(1)
    slack = np.float32(0.9) * about  # how far the middle of a cell may be from what lies in it, at most
    x, y, z, radius = middle[0], middle[1], middle[2], reach
    least, end = np.cos(radius + about), np.cos(radius + about + slack)
    behind = -np.sin(min(radius + about + slack, np.float32(np.pi / 2)))
    for v in range(first, last):
        if not distant:
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
