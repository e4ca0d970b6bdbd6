"""Sheen toward the eye: what the surface of each vertex mirrors of the lights, and how much of other skin.

Domes are looked up where an even set of the facets that the eye sees mirrors to, and scaled so that an even dome
returns the sheen's exact directional albedo; whether the way there is free the transfer says. Patches are summed over
their samples. Vertices just behind the edge of what is seen are given what the sheen before the edge runs on to, so
that what is shown between the last seen vertex and the edge has both its ends.
"""

from __future__ import annotations

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import loop, over_vertices
from sitterlight.shading.direction_map import cell_map, cell_toward, place_toward
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.memory import Memory
from sitterlight.shading.patch_samples import as_numbers, ways_from_afar, ways_to_samples
from sitterlight.shading.rings import with_ring
from sitterlight.shading.shadows import Shadows
from sitterlight.shading.sources import Patch
from sitterlight.shading.surface_kernels import (
    LEAST_FACING,
    across_normal,
    facing_way,
    half_disc,
    lobe_between,
    looking,
    mirror_of_facet,
    sheen_share,
    way_to_eye,
)
from sitterlight.shading.transfer import Transfer

__all__ = ["LEAST_FACING", "counted", "mirrored_domes", "mirrored_patch"]

FACETS = 96
"""Pairs of facets that each vertex is looked at by."""
NEAR_SURFACE = 0.1
"""Cosine below which a mirrored way is checked a little higher: half a cell of the transfer."""


def mirrored_domes(
    head: Head,
    transfer: Transfer,
    gloss: Gloss,
    eye: np.ndarray,
    sees: np.ndarray,
    cells: np.ndarray,
    facets: int = FACETS,
) -> tuple[np.ndarray, np.ndarray]:
    """Sheen radiance weights (V,K) toward `eye (3,)` mm of all domes at once, their weights side by side in
    `cells (M,K)`; and the share (B,) of each blocked direction in what its vertex mirrors. In the head's frame.

    The cells may be the transfer's or any finer nested set, so that a sky is mirrored sharper than it is hidden. With
    fewer `facets` it costs as much less and is as much coarser: a third will do while an eye moves.
    """
    radiance = np.zeros((len(head.vertices), cells.shape[1]), np.float32)
    share = np.zeros(len(transfer.hit), np.float32)
    over_vertices(
        _mirror_domes,
        len(head.vertices),
        *head.in_single,
        np.asarray(eye, np.float32),
        counted(head, sees),
        transfer.open_bits,
        transfer.start,
        transfer.direction,
        gloss.roughness,
        gloss.albedo,
        np.ascontiguousarray(half_disc(facets).T),
        transfer.directions.astype(np.float32),
        cell_map(round(np.sqrt(len(cells) / 12))),
        np.ascontiguousarray(cells, np.float32),
        radiance,
        share,
    )
    return radiance, share


def counted(head: Head, sees: np.ndarray) -> np.ndarray:
    """The vertices whose sheen is worked out, (V,) bool: those that the eye sees and the two rings around them."""
    key = head.shape_key, sees.tobytes()
    return _counted.of(key, lambda: with_ring(head.faces, with_ring(head.faces, sees)))


_counted = Memory(4)


def mirrored_patch(
    head: Head, gloss: Gloss, eye: np.ndarray, sees: np.ndarray, patch: Patch, shadows: Shadows
) -> np.ndarray:
    """Sheen radiance weights (V,K) of a patch with these `shadows` toward `eye (3,)` mm, in the head's frame."""
    surface = *head.in_single, gloss.roughness, gloss.oil
    return _mirrored_at(*surface, eye, counted(head, sees), patch, shadows)


def finer_patch(
    head: Head, gloss: Gloss, eye: np.ndarray, sees: np.ndarray, patch: Patch, mirrored: np.ndarray
) -> np.ndarray:
    """What the sheen of a patch is on the display mesh beyond a blend of `mirrored (V,K)` from `mirrored_patch`, (D,K).

    A fine highlight passes between the vertices that light is calculated at. Here every display vertex mirrors for
    itself, the whole patch, times the share of it that is seen around there.
    """
    near, blend, mesh = counted(head, sees), head.to_display, head.display
    whole = Shadows.none(1, patch)
    surface = head.vertices, head.normals, gloss.roughness, gloss.oil
    full = _mirrored_at(*surface, eye, near, patch, whole).sum(axis=1)
    tells = full > 0  # a vertex turned away from the patch doesn't tell how much of it is seen
    share = np.where(tells, np.clip(mirrored.sum(axis=1) / np.maximum(full, 1e-30), 0, 1), 0).astype(np.float32)
    gloss_there = (blend @ each for each in (gloss.roughness, gloss.oil))
    there = (blend @ near.astype(np.float32)) > 0
    own = _mirrored_at(mesh.vertices, mesh.normals, *gloss_there, eye, there, patch, whole)
    share = (blend @ share) / np.maximum(blend @ tells.astype(np.float32), 1e-6)
    return own * np.minimum(share, 1)[:, None] - blend @ mirrored


def _mirrored_at(places, normals, roughness, oil, eye, counted, patch: Patch, shadows: Shadows) -> np.ndarray:
    """Sheen (N,K) of a patch at `places (N,3)` that are `counted (N,)`, with `shadows` of each, or of one for all."""
    radiance = np.zeros((len(places), patch.weights.shape[1]), np.float32)
    surface = (np.ascontiguousarray(each, np.float32) for each in (places, normals, roughness, oil))
    about = np.asarray(eye, np.float32), counted, patch.place_kind, *patch.rows, shadows.seen
    over_vertices(_mirror_patch, len(places), *surface, *about, radiance)
    return radiance


@loop
def _mirror_domes(
    first,
    last,
    places,
    normals,
    eye,
    counted,
    bits,
    start,
    direction,
    roughness,
    albedo,
    disc,
    directions,
    cell_map,
    cells,
    radiance,
    share,
):
    basis = cells.shape[1]
    within, of_place, facets = np.int32(len(cells) // len(directions)), cell_map.ravel(), disc.shape[1]
    ways, place = np.empty((2, 3, facets), np.float32), np.empty((2, facets), np.int32)
    height, part = np.empty(facets, np.float32), np.empty(facets, np.float32)
    hidden, looked = np.zeros(len(directions), np.float32), np.zeros(basis, np.float32)
    for v in range(first, last):
        if not counted[v] or albedo[v, 0] <= 0:
            continue
        nx, ny, nz = normals[v, 0], normals[v, 1], normals[v, 2]
        ox, oy, oz = way_to_eye(eye, places[v, 0], places[v, 1], places[v, 2])
        outgoing = nx * ox + ny * oy + nz * oz
        tx, ty, tz = across_normal(nx, ny, nz, ox, oy, oz, outgoing)
        bx, by, bz = ny * tz - nz * ty, nz * tx - nx * tz, nx * ty - ny * tx
        for look in range(2):
            cosine, gain = looking(outgoing, look)
            if gain == 0:
                continue
            total = np.float32(0)
            looked[:] = 0
            hidden[:] = 0
            rough = roughness[v]
            for s in range(facets):
                x, y, z, weight = mirror_of_facet(disc[0, s], disc[1, s], cosine, rough)
                height[s], part[s] = z, weight
                # Facets come in pairs, one on each side of the eye's plane.
                px, py, pz = x * tx + z * nx, x * ty + z * ny, x * tz + z * nz
                ways[0, 0, s], ways[0, 1, s], ways[0, 2, s] = px - y * bx, py - y * by, pz - y * bz
                ways[1, 0, s], ways[1, 1, s], ways[1, 2, s] = px + y * bx, py + y * by, pz + y * bz
            for side in range(2):
                for s in range(facets):
                    place[side, s] = place_toward(len(cell_map), ways[side, 0, s], ways[side, 1, s], ways[side, 2, s])
            for side in range(2):
                for s in range(facets):
                    z, weight = height[s], part[s]
                    if weight <= 0:
                        continue
                    cell = of_place[place[side, s]]
                    d = cell // within
                    if z < np.float32(NEAR_SURFACE):
                        # Hardly above the surface: a cell whose middle is below it has never been looked along.
                        up = np.float32(NEAR_SURFACE) - z
                        px, py, pz = ways[side, 0, s], ways[side, 1, s], ways[side, 2, s]
                        d = cell_toward(cell_map, px + up * nx, py + up * ny, pz + up * nz) // within
                        if directions[d, 0] * nx + directions[d, 1] * ny + directions[d, 2] * nz <= 0:
                            continue
                    total += weight
                    if bits[v, d >> 3] & (128 >> (d & 7)):
                        for k in range(basis):
                            looked[k] += weight * cells[cell, k]
                    else:
                        hidden[d] += weight
            scale = gain * sheen_share(albedo, v, cosine) / max(total, np.float32(1e-12))
            for k in range(basis):
                radiance[v, k] += looked[k] * scale
            for j in range(start[v], start[v + 1]):
                share[j] += hidden[direction[j]] * scale


@loop
def _mirror_patch(
    first, last, places, normals, roughness, oil, eye, counted, kind, points, facing, weights, seen, radiance
):
    basis, samples = weights.shape
    ways, arrived = np.empty((4, samples), np.float32), np.empty(samples, np.float32)
    light_of = np.empty(samples, np.float32)
    ways_from_afar(kind, points, ways)
    for v in range(first, last):
        words = seen[v if len(seen) > 1 else 0]
        if not counted[v] or oil[v] <= 0 or not words.any():
            continue
        as_numbers(words, light_of)
        px, py, pz, nx, ny, nz = places[v, 0], places[v, 1], places[v, 2], normals[v, 0], normals[v, 1], normals[v, 2]
        ox, oy, oz = way_to_eye(eye, px, py, pz)
        outgoing = nx * ox + ny * oy + nz * oz
        ways_to_samples(kind, points, facing, px, py, pz, ways)
        for look in range(2):
            cosine, gain = looking(outgoing, look)
            if gain == 0:
                continue
            lx, ly, lz = facing_way(nx, ny, nz, ox, oy, oz, outgoing, cosine)
            rough = roughness[v]
            for s in range(samples):
                x, y, z = ways[0, s], ways[1, s], ways[2, s]
                light = max(nx * x + ny * y + nz * z, np.float32(0))
                lobe = lobe_between(nx, ny, nz, x, y, z, lx, ly, lz, rough)
                arrived[s] = lobe * light * ways[3, s] * light_of[s]
            for k in range(basis):
                total = np.float32(0)
                for s in range(samples):
                    total += arrived[s] * weights[k, s]
                radiance[v, k] += gain * oil[v] * total
