"""What one vertex mirrors of the light of a patch toward another that looks at it: small bright returns of sheen."""

from __future__ import annotations

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.bounce import Exchange
from sitterlight.shading.compiled import kernel, over_vertices, unsigned
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.sources import Patch
from sitterlight.shading.surface_kernels import lobe_of, unshadowed
from sitterlight.shading.transfer import Transfer


def glint_lobes(
    head: Head, transfer: Transfer, gloss: Gloss, between: Exchange, patch: Patch, plain: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Radiance (B,) float32 that each hit mirrors toward the vertex that looks at it, for an irradiance of one from a
    patch in the HEAD's frame; and the irradiance weights (V,K) that enter the bodies from all hits together.

    `plain (V,K)`: the irradiance of the patch itself. The patch is taken at its middle and its width added to the
    roughness (Karis 2013 widens lobes alike).
    """
    lobes = np.zeros(len(transfer.hit), np.float32)
    entered = np.zeros(plain.shape, np.float32)
    lit, mirrors = _mirrors(head, gloss, patch, plain)
    along = transfer.directions.astype(np.float32), transfer.start, transfer.direction, transfer.hit
    light = between.paths.leaving, between.receive, plain
    over_vertices(_glint, len(head.vertices), lit, mirrors, *along, *light, lobes, entered)
    return lobes, entered


def _mirrors(head: Head, gloss: Gloss, patch: Patch, plain: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which vertices mirror the patch, (V,) uint8: not those that it doesn't reach or that are turned away; and what a
    glint asks of them, together in memory, (V,8) float32: way to the middle of the patch, its cosine at the normal,
    the square of roughness, what Smith's shadowing makes of that cosine, strength."""
    normals = head.normals.astype(np.float32)
    middle = patch.points.mean(axis=0).astype(np.float32)
    mirrors = np.empty((len(normals), 8), np.float32)
    lit = np.empty(len(normals), np.uint8)
    surface = head.vertices.astype(np.float32), normals, gloss.roughness, gloss.oil
    over_vertices(
        _ready, len(normals), *surface, middle, patch.distant, np.float32(patch.spread / 2), plain, lit, mirrors
    )
    return lit, mirrors


@kernel
def _ready(first, last, places, normals, roughness, oil, middle, distant, widening, plain, lit, mirrors):
    one = np.float32(1)
    for v in range(first, last):
        x, y, z = middle[0], middle[1], middle[2]
        if not distant:
            x, y, z = x - places[v, 0], y - places[v, 1], z - places[v, 2]
        over = one / np.sqrt(x * x + y * y + z * z)
        x, y, z = x * over, y * over, z * over
        light = normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z
        square = min(roughness[v] * roughness[v] + widening * widening, one)
        mirrors[v, 0], mirrors[v, 1], mirrors[v, 2], mirrors[v, 3] = x, y, z, light
        mirrors[v, 4], mirrors[v, 5] = square, unshadowed(light, square)
        mirrors[v, 6], mirrors[v, 7] = square * oil[v], np.float32(0)
        reached = False
        for k in range(plain.shape[1]):
            reached = reached or plain[v, k] != 0
        lit[v] = reached and light > 0 and oil[v] > 0


@kernel
def _glint(first, last, lit, mirrors, directions, start, direction, hit, leaving, receive, plain, lobes, entered):
    # Numbers without a sign spare the loops a look at whether an index counts from the end.
    most, none = len(directions), np.float32(0)
    met, entry, lobe = np.empty((6, most), np.float32), np.empty(most + 1, np.uint32), np.empty(most, np.float32)
    for v in range(first, last):
        count = 0
        for j in range(unsigned(start[v]), unsigned(start[v + 1])):
            entry[count] = j
            count += lit[unsigned(hit[j])]
        for n in range(count):
            mirror, d = mirrors[unsigned(hit[entry[n]])], unsigned(direction[entry[n]])
            met[0, n] = -(mirror[0] * directions[d, 0] + mirror[1] * directions[d, 1] + mirror[2] * directions[d, 2])
            met[1, n], met[2, n], met[3, n], met[4, n] = mirror[3], mirror[4], mirror[5], mirror[6]
            met[5, n] = leaving[entry[n]]
        for n in range(count):
            mirrored = met[4, n] * lobe_of(met[1, n], met[5, n], met[0, n], met[2, n], met[3, n])
            lobe[n] = mirrored if met[5, n] > none else none
        for n in range(count):
            j = entry[n]
            lobes[j] = lobe[n]
            share = np.float32(np.pi) * receive[j] * lobe[n]
            for k in range(plain.shape[1]):
                entered[v, k] += share * plain[unsigned(hit[j]), k]
