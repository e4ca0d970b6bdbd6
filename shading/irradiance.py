"""Light that arrives straight at each vertex: from domes through the transfer, from patches by shadow rays.

Every sum is taken twice: plain (what a light meter reads) and entered (what the sheen lets through to the body).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.embree import LANES, ask_blocked, is_blocked, new_packet, set_ray
from sitterlight.shading.patch_samples import rows_of, ways_to_samples
from sitterlight.shading.rays import RayCaster, count_rays
from sitterlight.shading.rings import at_steps, with_ring
from sitterlight.shading.sources import Patch, spread_order
from sitterlight.shading.surface import directional_albedo, mean_albedo
from sitterlight.shading.surface_kernels import sheen_share
from sitterlight.shading.transfer import Transfer, ray_origins

SHEEN_NODES = 64
_BLOCK = 16384
_PROBES, _FIRST_PROBES = 16, 6
_SMALL = 0.15
"""Half-width up to which the first probes lie as close together as all do on a window, radians."""
LEAST_STEP = 0.12


MOST_MIRRORED = 0.99
"""Of the light, at any angle: no surface mirrors more than there is, and the body still gets, and gives, a little."""


@dataclass(frozen=True, eq=False)
class Gloss:
    """The surface of each vertex: `roughness (V,)`, `oil (V,)`, but no more than mirrors MOST_MIRRORED along the
    surface, `albedo (V,65)` oil·E at even cosines from 0 to 1, `mean (V,)` its mean. All float32."""

    roughness: np.ndarray
    oil: np.ndarray
    albedo: np.ndarray
    mean: np.ndarray

    @staticmethod
    def of(roughness: np.ndarray, oil: np.ndarray) -> Gloss:
        """The gloss of vertices with `roughness (V,)` and `oil (V,)`."""
        cosines = np.linspace(0, 1, SHEEN_NODES + 1)
        albedo = directional_albedo(roughness[:, None], cosines)
        oil = np.minimum(oil, MOST_MIRRORED / albedo.max(axis=1))
        surface = roughness, oil, oil[:, None] * albedo, oil * mean_albedo(roughness)
        return Gloss(*(np.ascontiguousarray(each, np.float32) for each in surface))

    def sheen_at(self, cosine: np.ndarray) -> np.ndarray:
        """oil·E of each vertex at its own `cosine (V,)`."""
        place = np.clip(cosine, 0, 1) * SHEEN_NODES
        low = np.minimum(place.astype(int), SHEEN_NODES - 1)
        row = np.arange(len(place))
        return self.albedo[row, low] * (1 - place + low) + self.albedo[row, low + 1] * (place - low)


def entering(head: Head, transfer: Transfer, gloss: Gloss, vertices: slice = slice(None)) -> np.ndarray:
    """The share of each direction's light that enters the body of each of `vertices`, (V,N) float32: a dome with
    radiance weights `cells (N,K)` enters as `entering @ cells`."""
    normals, directions, bits, unoccluded = _open_sky(head, transfer)
    shares = np.zeros((len(normals[vertices]), len(directions)), np.float32)
    places = normals[vertices], directions, bits[vertices], unoccluded[vertices]
    over_vertices(_enter, len(shares), *places, gloss.albedo[vertices], shares)
    return shares


def entered_from_dome(head: Head, transfer: Transfer, gloss: Gloss, cells: np.ndarray) -> np.ndarray:
    """`entering @ cells` (V,K), some vertices at a time, for heads whose shares would fill the memory."""
    count = len(head.vertices)
    blocks = [slice(first, first + _BLOCK) for first in range(0, count, _BLOCK)]
    return np.concatenate([entering(head, transfer, gloss, block) @ cells for block in blocks])


def plain_from_dome(head: Head, transfer: Transfer, cells: np.ndarray) -> np.ndarray:
    """Irradiance weights (V,K) float32 of a dome with radiance weights `cells (N,K)`, as a light meter reads it."""
    plain = np.zeros((len(head.vertices), cells.shape[1]), np.float32)
    over_vertices(_gather_plain, len(plain), *_open_sky(head, transfer), cells, plain)
    return plain


def from_patch(head: Head, gloss: Gloss, patch: Patch, visible: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Irradiance weights of a patch given in the HEAD's frame, `visible (V,S)` from `shadows`: plain and entered,
    (V,K) float32 each."""
    plain, entered = np.zeros((2, len(head.vertices), patch.weights.shape[1]), np.float32)
    surface = head.vertices.astype(np.float32), head.normals.astype(np.float32), gloss.albedo
    over_vertices(_gather_patch, len(plain), *surface, *rows_of(patch), visible, plain, entered)
    return plain, entered


def shadows(head: Head, caster: RayCaster, order: np.ndarray, patch: Patch) -> tuple[np.ndarray, np.ndarray]:
    """Which samples of a patch in the HEAD's frame each vertex sees, (V,S) bool; and the vertices (E,) int32 at the
    edge of its light, over whose faces it comes or goes (see shadow_edges). `order (V,)` keeps neighbours together, see
    rays.spatial_order.

    A few samples are probed from everywhere, of a small patch fewer still and the others around where these disagree.
    The rest are cast only where the probes disagree, and in the two rings of vertices around; elsewhere they are as the
    probes. At an edge each is as the nearest probe: there the surface around the vertex is lit in its place, and only
    sheen asks.
    """
    visible = np.zeros((len(head.vertices), len(patch.points)), dtype=bool)
    samples = spread_order(patch.points)
    probes, rest = samples[:_PROBES], samples[_PROBES:]
    clear = np.zeros((2, len(visible)), np.int32)
    cast = partial(_cast, head, caster, patch, visible, clear)
    _probe(head, patch, cast, order, probes, visible, clear)
    edge = at_steps(head.faces, clear[0] / len(probes), LEAST_STEP)
    if len(rest):
        mixed = (clear[0] > 0) & (clear[0] < clear[1])
        mixed = with_ring(head.faces, with_ring(head.faces, mixed))
        mixed[edge] = False
        cast(order[mixed[order]], rest)
        _take_as_probed(head, patch, ~mixed, rest, probes, visible)
    return visible, edge


def _probe(head: Head, patch: Patch, cast, order: np.ndarray, probes: np.ndarray, visible, clear) -> None:
    """Cast the probes from everywhere or, where the patch is small, take some as the first ones, where these and those
    of the vertices around agree."""
    if patch.spread > _SMALL or len(probes) <= _FIRST_PROBES:
        cast(order, probes)
        return
    first, others = probes[:_FIRST_PROBES], probes[_FIRST_PROBES:]
    cast(order, first)
    unsure = (clear[0] > 0) & (clear[0] < len(first))
    unsure[at_steps(head.faces, clear[0] / len(first), LEAST_STEP)] = True
    unsure = with_ring(head.faces, with_ring(head.faces, unsure))
    lit = ~unsure & (clear[0] > 0)
    cast(order[unsure[order]], others)
    _take_as_probed(head, patch, lit, others, first, visible)
    clear[:, lit] = len(probes)


def _take_as_probed(head: Head, patch: Patch, guessed: np.ndarray, samples, probes, visible: np.ndarray) -> None:
    """Let `samples` be seen by `guessed (V,)` vertices as the nearest of the `probes` is."""
    away = np.linalg.norm(patch.points[samples, None] - patch.points[None, probes], axis=2)
    nearest = probes[away.argmin(axis=1)]
    over_vertices(_as_probed, len(guessed), guessed, *_places(head, patch), samples, nearest, visible)


def _cast(
    head: Head, caster: RayCaster, patch: Patch, visible, clear, vertices: np.ndarray, samples: np.ndarray
) -> None:
    rays = np.zeros(len(vertices), np.int32)
    who = caster.tree.scene, vertices, ray_origins(head)
    over_vertices(_cast_shadows, len(vertices), *who, *_places(head, patch), samples, visible, clear, rays)
    count_rays(rays.sum())


def _places(head: Head, patch: Patch) -> tuple:
    return head.vertices, head.normals, patch.points, patch.distant


def _open_sky(head: Head, transfer: Transfer) -> tuple[np.ndarray, ...]:
    normals, directions = head.normals.astype(np.float32), transfer.directions.astype(np.float32)
    return normals, directions, transfer.open_bits, transfer.unoccluded


@kernel
def _cast_shadows(first, last, scene, order, origins, places, normals, points, distant, samples, visible, clear, rays):
    packet = new_packet()
    who = np.empty(LANES, np.int64)
    for s in samples:
        filled = 0
        for index in range(first, last):
            v = order[index]
            x, y, z = points[s, 0], points[s, 1], points[s, 2]
            far = np.inf
            if not distant:
                x, y, z = x - places[v, 0], y - places[v, 1], z - places[v, 2]
            if normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z > 0:
                ox, oy, oz = origins[v, 0], origins[v, 1], origins[v, 2]
                if not distant:
                    x, y, z = points[s, 0] - ox, points[s, 1] - oy, points[s, 2] - oz
                    length = np.sqrt(x * x + y * y + z * z)
                    x, y, z, far = x / length, y / length, z / length, length * (1 - 1e-5)
                set_ray(packet, filled, ox, oy, oz, x, y, z, far)
                who[filled] = v
                filled += 1
            if filled == LANES or (filled > 0 and index == last - 1):
                ask_blocked(scene, packet, filled)
                for lane in range(filled):
                    v = who[lane]
                    visible[v, s] = not is_blocked(packet, lane)
                    clear[0, v] += visible[v, s]
                    clear[1, v] += 1
                rays[first] += filled
                filled = 0


@kernel
def _as_probed(first, last, guessed, places, normals, points, distant, samples, nearest, visible):
    for v in range(first, last):
        if not guessed[v]:
            continue
        for index in range(len(samples)):
            s = samples[index]
            x, y, z = points[s, 0], points[s, 1], points[s, 2]
            if not distant:
                x, y, z = x - places[v, 0], y - places[v, 1], z - places[v, 2]
            facing = normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z > 0
            visible[v, s] = facing and visible[v, nearest[index]]


@kernel
def _enter(first, last, normals, directions, bits, unoccluded, albedo, shares):
    for v in range(first, last):
        scale = np.float32(np.pi) / unoccluded[v]
        for d in range(len(directions)):
            if bits[v, d >> 3] & (128 >> (d & 7)):
                cosine = (
                    normals[v, 0] * directions[d, 0]
                    + normals[v, 1] * directions[d, 1]
                    + normals[v, 2] * directions[d, 2]
                )
                if cosine > 0:
                    shares[v, d] = cosine * scale * (1 - sheen_share(albedo, v, cosine))


@kernel
def _gather_plain(first, last, normals, directions, bits, unoccluded, cells, plain):
    for v in range(first, last):
        nx, ny, nz = normals[v, 0], normals[v, 1], normals[v, 2]
        scale = np.float32(np.pi) / unoccluded[v]
        for byte in range(bits.shape[1]):
            mask = bits[v, byte]
            if mask == 0:
                continue
            for bit in range(8):
                if mask & (128 >> bit):
                    d = byte * 8 + bit
                    cosine = nx * directions[d, 0] + ny * directions[d, 1] + nz * directions[d, 2]
                    if cosine > 0:
                        for k in range(cells.shape[1]):
                            plain[v, k] += cosine * scale * cells[d, k]


@kernel
def _gather_patch(first, last, places, normals, albedo, kind, points, facing, weights, visible, plain, entered):
    basis, samples = weights.shape
    none, one, top = np.float32(0), np.float32(1), np.float32(SHEEN_NODES)
    ways = np.empty((4, samples), np.float32)
    arrived, kept = np.empty(samples, np.float32), np.empty(samples, np.float32)
    for v in range(first, last):
        if not visible[v].any():
            continue
        nx, ny, nz, sheen = normals[v, 0], normals[v, 1], normals[v, 2], albedo[v]
        ways_to_samples(kind, points, facing, places[v, 0], places[v, 1], places[v, 2], ways)
        for s in range(samples):
            cosine = min(max(nx * ways[0, s] + ny * ways[1, s] + nz * ways[2, s], none), one)
            low = min(np.int32(cosine * top), np.int32(SHEEN_NODES - 1))
            part = cosine * top - np.float32(low)
            arrived[s] = cosine * ways[3, s] * np.float32(visible[v, s])
            kept[s] = arrived[s] * (one - sheen[low] * (one - part) - sheen[low + 1] * part)
        for k in range(basis):
            light, inside = none, none
            for s in range(samples):
                light += arrived[s] * weights[k, s]
                inside += kept[s] * weights[k, s]
            plain[v, k], entered[v, k] = light, inside


def in_head_frame(patch: Patch, rotation: np.ndarray) -> Patch:
    """The patch seen from a head turned by `rotation (3,3)`, head→room."""
    facing = None if patch.facing is None else patch.facing @ rotation
    return replace(patch, points=patch.points @ rotation, facing=facing)
