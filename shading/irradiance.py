"""Light that arrives straight at each vertex: from domes through the transfer, from patches where they are seen.

Every sum is taken twice: plain (what a light meter reads) and entered (what the sheen lets through to the body).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import kernel, loop, over_vertices
from sitterlight.shading.patch_samples import as_numbers, ways_from_afar, ways_to_samples
from sitterlight.shading.shadows import Shadows
from sitterlight.shading.sources import Patch
from sitterlight.shading.surface import directional_albedo, mean_albedo
from sitterlight.shading.surface_kernels import sheen_share
from sitterlight.shading.transfer import Transfer

SHEEN_NODES = 64
_BLOCK = 16384
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


def from_patch(
    head: Head, gloss: Gloss, patch: Patch, shadows: Shadows, without: np.ndarray | None = None
) -> np.ndarray:
    """Irradiance weights (2,V,K) float32 of a patch given in the HEAD's frame: plain, then entered. None are asked for
    at the vertices `without (E,)`."""
    both = np.zeros((2, len(head.vertices), patch.weights.shape[1]), np.float32)
    asked = np.ones(len(head.vertices), dtype=bool)
    if without is not None:
        asked[without] = False
    samples = patch.place_kind, *patch.rows, shadows.seen, asked
    over_vertices(_gather_patch, len(asked), *head.in_single, gloss.albedo, *samples, *both)
    return both


def _open_sky(head: Head, transfer: Transfer) -> tuple[np.ndarray, ...]:
    return head.in_single[1], transfer.directions.astype(np.float32), transfer.open_bits, transfer.unoccluded


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


@loop
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


@loop
def _gather_patch(first, last, places, normals, albedo, kind, points, facing, weights, seen, asked, plain, entered):
    basis, samples = weights.shape
    none, one = np.float32(0), np.float32(1)
    ways, place = np.empty((4, samples), np.float32), np.empty(samples, np.uint32)
    arrived, through = np.empty(samples, np.float32), np.empty(samples, np.float32)
    light_of = np.empty(samples, np.float32)
    ways_from_afar(kind, points, ways)
    for v in range(first, last):
        if not asked[v] or not seen[v].any():
            continue
        as_numbers(seen[v], light_of)
        ways_to_samples(kind, points, facing, places[v, 0], places[v, 1], places[v, 2], ways)
        meet_sheen(normals[v, 0], normals[v, 1], normals[v, 2], one, ways, albedo[v], place, arrived, through)
        for k in range(basis):
            light, inside = none, none
            for s in range(samples):
                lit = arrived[s] * light_of[s] * weights[k, s]
                light += lit
                inside += lit * through[s]
            plain[v, k], entered[v, k] = light, inside


@partial(kernel, forceinline=True)
def meet_sheen(nx, ny, nz, counts, ways, sheen, place, arrived, through):
    """What has `arrived (S,)` of samples, by the `ways (4,S)` to them, at a surface of normal n that `counts` for so
    much; and the share of each that goes `through (S,)` its `sheen (N+1,)`, a row of Gloss.albedo. The `place (S,)` in
    that table is found for all before one is looked up: twice as quick."""
    none, one, top = np.float32(0), np.float32(1), np.float32(SHEEN_NODES)
    for s in range(len(arrived)):
        cosine = min(max(nx * ways[0, s] + ny * ways[1, s] + nz * ways[2, s], none), one)
        low = min(np.int32(cosine * top), np.int32(SHEEN_NODES - 1))
        place[s], through[s] = low, cosine * top - np.float32(low)
        arrived[s] = counts * cosine * ways[3, s]
    for s in range(len(arrived)):
        low, high = sheen[place[s]], sheen[place[s] + np.uint32(1)]
        through[s] = one - low - through[s] * (high - low)


def in_head_frame(patch: Patch, rotation: np.ndarray) -> Patch:
    """The patch seen from a head turned by `rotation (3,3)`, head→room."""
    facing = None if patch.facing is None else patch.facing @ rotation
    return replace(patch, points=patch.points @ rotation, facing=facing)
