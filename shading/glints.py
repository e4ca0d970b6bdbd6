"""What one vertex mirrors of the light of a patch toward another that looks at it: small bright returns of sheen."""

from __future__ import annotations

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.sources import Patch
from sitterlight.shading.surface import fresnel_curve
from sitterlight.shading.surface_kernels import lobe_between
from sitterlight.shading.transfer import Transfer


def glint_lobes(head: Head, transfer: Transfer, gloss: Gloss, patch: Patch, lit: np.ndarray) -> np.ndarray:
    """Radiance (B,) that each hit mirrors toward the vertex that looks at it, for an irradiance of one from a patch
    in the HEAD's frame; `lit (V,)` says which vertices the patch reaches at all.

    The patch is taken at its middle and its width added to the roughness (Karis 2013 widens lobes alike).
    """
    lobes = np.zeros(len(transfer.hit), np.float32)
    over_vertices(
        _glint,
        len(head.vertices),
        head.vertices.astype(np.float32),
        head.normals.astype(np.float32),
        transfer.directions.astype(np.float32),
        transfer.start,
        transfer.direction,
        transfer.hit,
        patch.points.mean(axis=0).astype(np.float32),
        patch.distant,
        np.minimum(np.hypot(gloss.roughness, patch.spread / 2), 1.0).astype(np.float32),
        gloss.oil,
        fresnel_curve(),
        lit,
        lobes,
    )
    return lobes


@kernel
def _glint(
    first,
    last,
    places,
    normals,
    directions,
    start,
    direction,
    hit,
    middle,
    distant,
    roughness,
    oil,
    mirror,
    lit,
    lobes,
):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            u = hit[j]
            if not lit[u] or oil[u] <= 0:
                continue
            d = direction[j]
            ox, oy, oz = -directions[d, 0], -directions[d, 1], -directions[d, 2]
            x, y, z = middle[0], middle[1], middle[2]
            if not distant:
                x, y, z = x - places[u, 0], y - places[u, 1], z - places[u, 2]
            length = np.sqrt(x * x + y * y + z * z)
            x, y, z = x / length, y / length, z / length
            nx, ny, nz = normals[u, 0], normals[u, 1], normals[u, 2]
            if nx * x + ny * y + nz * z > 0 and nx * ox + ny * oy + nz * oz > 0:
                lobes[j] = oil[u] * lobe_between(nx, ny, nz, x, y, z, ox, oy, oz, roughness[u], mirror)
