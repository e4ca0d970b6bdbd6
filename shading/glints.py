"""What one vertex mirrors of the light of a patch toward another that looks at it: small bright returns of sheen."""

from __future__ import annotations

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.sources import Patch
from sitterlight.shading.surface_kernels import lobe_between
from sitterlight.shading.transfer import Transfer


def glint_lobes(
    head: Head, transfer: Transfer, gloss: Gloss, patch: Patch, plain: np.ndarray, receive: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Radiance (B,) float32 that each hit mirrors toward the vertex that looks at it, for an irradiance of one from a
    patch in the HEAD's frame; and the irradiance weights (V,K) that enter the bodies from all hits together.

    `plain (V,K)`: the irradiance of the patch itself; `receive (B,)`: see bounce.Exchange. The patch is taken at its
    middle and its width added to the roughness (Karis 2013 widens lobes alike).
    """
    lobes = np.empty(len(transfer.hit), np.float32)
    entered = np.zeros(plain.shape, np.float32)
    mirrors = _mirrors(head, gloss, patch, plain)
    along = transfer.directions.astype(np.float32), transfer.start, transfer.direction, transfer.hit
    over_vertices(_glint, len(head.vertices), mirrors, *along, receive, plain, lobes, entered)
    return lobes, entered


def _mirrors(head: Head, gloss: Gloss, patch: Patch, plain: np.ndarray) -> np.ndarray:
    """What a glint asks of the vertex that mirrors, together in memory, (V,8) float32: normal, way to the middle of the
    patch, roughness, oil; no oil where the patch doesn't reach or lies behind."""
    middle = patch.points.mean(axis=0)
    toward = np.broadcast_to(middle, head.normals.shape) if patch.distant else middle - head.vertices
    mirrors = np.empty((len(toward), 8), np.float32)
    mirrors[:, :3] = head.normals
    mirrors[:, 3:6] = toward / np.linalg.norm(toward, axis=1, keepdims=True)
    mirrors[:, 6] = np.minimum(np.hypot(gloss.roughness, patch.spread / 2), 1.0)
    lit = plain.any(axis=1) & ((mirrors[:, :3] * mirrors[:, 3:6]).sum(axis=1) > 0)
    mirrors[:, 7] = np.where(lit, gloss.oil, 0)
    return mirrors


@kernel
def _glint(first, last, mirrors, directions, start, direction, hit, receive, plain, lobes, entered):
    none = np.float32(0)
    most = len(directions)
    met, entry, lobe = np.empty((11, most), np.float32), np.empty(most, np.int64), np.empty(most, np.float32)
    for v in range(first, last):
        count = 0
        for j in range(start[v], start[v + 1]):
            lobes[j] = 0
            u, d = hit[j], direction[j]
            if mirrors[u, 7] > none:
                for column in range(8):
                    met[column, count] = mirrors[u, column]
                for axis in range(3):
                    met[8 + axis, count] = -directions[d, axis]
                entry[count] = j
                count += 1
        for n in range(count):
            nx, ny, nz, x, y, z = met[0, n], met[1, n], met[2, n], met[3, n], met[4, n], met[5, n]
            ox, oy, oz = met[8, n], met[9, n], met[10, n]
            mirrored = met[7, n] * lobe_between(nx, ny, nz, x, y, z, ox, oy, oz, met[6, n])
            lobe[n] = mirrored if nx * ox + ny * oy + nz * oz > none else none
        for n in range(count):
            j = entry[n]
            lobes[j] = lobe[n]
            share = np.float32(np.pi) * receive[j] * lobe[n]
            for k in range(plain.shape[1]):
                entered[v, k] += share * plain[hit[j], k]
