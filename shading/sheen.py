"""Sheen toward the eye: what the surface of each vertex mirrors of the lights, and of the skin that it sees.

Domes are looked up where an even set of the facets that the eye sees mirrors to, and scaled so that an even dome
returns the sheen's exact directional albedo; whether the way there is free the transfer says. Patches are summed over
their samples. Vertices just behind the edge of what is seen are given what the sheen before the edge runs on to, so
that what is shown between the last seen vertex and the edge has both its ends.
"""

from __future__ import annotations

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.bounce import Exchange
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.direction_map import cell_map, cell_toward
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.sources import Patch
from sitterlight.shading.surface import REFRACTIVE_INDEX
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
    way_to_sample,
)
from sitterlight.shading.transfer import Transfer

__all__ = ["LEAST_FACING", "counted", "glints", "mirrored_dome", "mirrored_domes", "mirrored_patch", "mirrored_skin"]

FACETS = 96
NEAR_SURFACE = 0.1


def mirrored_domes(
    head: Head, transfer: Transfer, gloss: Gloss, eye: np.ndarray, sees: np.ndarray, cells: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Sheen radiance weights (V,K) toward `eye (3,)` mm of all domes at once, their weights side by side in
    `cells (M,K)`; and the share (B,) of each blocked direction in what its vertex mirrors. In the head's frame.

    The cells may be the transfer's or any finer nested set, so that a sky is mirrored sharper than it is hidden.
    """
    radiance = np.zeros((len(head.vertices), cells.shape[1]), np.float32)
    share = np.zeros(len(transfer.hit), np.float32)
    over_vertices(
        _mirror_domes,
        len(head.vertices),
        head.vertices.astype(np.float32),
        head.normals.astype(np.float32),
        np.asarray(eye, np.float32),
        counted(head, sees),
        transfer.open_bits,
        transfer.start,
        transfer.direction,
        gloss.roughness,
        gloss.albedo,
        _fresnel_table(),
        half_disc(FACETS),
        transfer.directions.astype(np.float32),
        cell_map(round(np.sqrt(len(cells) / 12))),
        np.ascontiguousarray(cells, np.float32),
        radiance,
        share,
    )
    return radiance, share


mirrored_dome = mirrored_domes


def counted(head: Head, sees: np.ndarray) -> np.ndarray:
    """The vertices whose sheen is worked out, (V,) bool: those that the eye sees and the two rings around them."""
    near = np.array(sees, bool)
    for _ in range(2):
        near[head.faces[near[head.faces].any(axis=1)]] = True
    return near


def mirrored_skin(
    head: Head, transfer: Transfer, between: Exchange, share: np.ndarray, body: np.ndarray, glints: np.ndarray
) -> np.ndarray:
    """Sheen (V,C) of the skin that each vertex mirrors, each blocked direction counted by `share (B,)`: the hit's
    body, of radiance `body (V,C)` before the angle it is seen at, and what the hit itself mirrors, `glints (B,C)`."""
    result = np.zeros_like(body, dtype=np.float32)
    over_vertices(
        _gather_skin,
        len(head.vertices),
        transfer.start,
        transfer.hit,
        between.send,
        between.mirror,
        between.mirrored,
        share,
        np.ascontiguousarray(body, np.float32),
        np.ascontiguousarray(glints, np.float32),
        result,
    )
    return result


def mirrored_patch(
    head: Head, gloss: Gloss, eye: np.ndarray, sees: np.ndarray, patch: Patch, visible: np.ndarray
) -> np.ndarray:
    """Sheen radiance weights (V,K) of a patch toward `eye (3,)` mm, both in the head's frame, `visible (V,S)`."""
    radiance = np.zeros((len(head.vertices), patch.weights.shape[1]), np.float32)
    over_vertices(
        _mirror_patch,
        len(head.vertices),
        head.vertices,
        head.normals,
        np.asarray(eye, float),
        counted(head, sees),
        patch.points,
        np.zeros_like(patch.points) if patch.facing is None else np.ascontiguousarray(patch.facing),
        patch.weights,
        patch.place_kind,
        visible,
        gloss.roughness,
        gloss.oil,
        _fresnel_table(),
        radiance,
    )
    return radiance


def glints(head: Head, transfer: Transfer, gloss: Gloss, patch: Patch, plain: np.ndarray) -> np.ndarray:
    """Radiance weights (B,K) of a patch's light that each hit mirrors toward the vertex that looks at it.

    The patch is taken at its middle and its width added to the roughness (Karis 2013 widens lobes alike);
    `plain (V,K)` is its irradiance.
    """
    radiance = np.zeros((len(transfer.hit), plain.shape[1]), np.float32)
    middle = patch.points.mean(axis=0)
    over_vertices(
        _glint,
        len(head.vertices),
        head.vertices,
        head.normals,
        transfer.directions,
        transfer.start,
        transfer.direction,
        transfer.hit,
        middle,
        patch.distant,
        np.minimum(np.hypot(gloss.roughness, patch.spread / 2), 1.0).astype(np.float32),
        gloss.oil,
        _fresnel_table(),
        plain,
        radiance,
    )
    return radiance


def _fresnel_table() -> np.ndarray:
    from sitterlight.shading.surface import fresnel

    return fresnel(np.linspace(0, 1, 257), REFRACTIVE_INDEX).astype(np.float32)


@kernel
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
    mirror,
    disc,
    directions,
    cell_map,
    cells,
    radiance,
    share,
):
    basis = cells.shape[1]
    within = len(cells) // len(directions)
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
            for s in range(len(disc)):
                x, y, z, weight = mirror_of_facet(disc[s, 0], disc[s, 1], cosine, roughness[v], mirror)
                if weight <= 0:
                    continue
                # Facets come in pairs, one on each side of the eye's plane.
                for side in (-y, y):
                    px, py, pz = x * tx + side * bx + z * nx, x * ty + side * by + z * ny, x * tz + side * bz + z * nz
                    cell = cell_toward(cell_map, px, py, pz)
                    d = cell // within
                    if z < np.float32(NEAR_SURFACE):
                        # Hardly above the surface: a cell whose middle is below it has never been looked along.
                        up = np.float32(NEAR_SURFACE) - z
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


@kernel
def _gather_skin(first, last, start, hit, send, mirror, mirrored, share, body, glints, result):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            u, t = hit[j], mirrored[j]
            if share[j] == 0 or u < 0:
                continue
            for c in range(body.shape[1]):
                light = send[j] * body[u, c] + glints[j, c]
                if t >= 0:
                    light += mirror[j] * body[t, c]
                result[v, c] += share[j] * light


@kernel
def _mirror_patch(
    first,
    last,
    places,
    normals,
    eye,
    counted,
    points,
    facing,
    weights,
    kind,
    visible,
    roughness,
    oil,
    mirror,
    radiance,
):
    samples, basis = weights.shape
    for v in range(first, last):
        if not counted[v] or oil[v] <= 0:
            continue
        ox, oy, oz = way_to_eye(eye, places[v, 0], places[v, 1], places[v, 2])
        nx, ny, nz = normals[v, 0], normals[v, 1], normals[v, 2]
        outgoing = nx * ox + ny * oy + nz * oz
        for look in range(2):
            cosine, gain = looking(outgoing, look)
            if gain == 0:
                continue
            lx, ly, lz = facing_way(nx, ny, nz, ox, oy, oz, outgoing, cosine)
            for s in range(samples):
                if not visible[v, s]:
                    continue
                x, y, z, factor = way_to_sample(kind, points, facing, s, places[v, 0], places[v, 1], places[v, 2])
                light = nx * x + ny * y + nz * z
                if light <= 0:
                    continue
                lobe = lobe_between(nx, ny, nz, x, y, z, lx, ly, lz, roughness[v], mirror)
                for k in range(basis):
                    radiance[v, k] += gain * oil[v] * lobe * light * factor * weights[s, k]


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
    plain,
    radiance,
):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            u = hit[j]
            if u < 0 or oil[u] <= 0 or plain[u].max() <= 0:
                continue
            d = direction[j]
            ox, oy, oz = -directions[d, 0], -directions[d, 1], -directions[d, 2]
            x, y, z = middle[0], middle[1], middle[2]
            if not distant:
                x, y, z = x - places[u, 0], y - places[u, 1], z - places[u, 2]
            length = np.sqrt(x * x + y * y + z * z)
            x, y, z = x / length, y / length, z / length
            nx, ny, nz = normals[u, 0], normals[u, 1], normals[u, 2]
            light = nx * x + ny * y + nz * z
            outgoing = nx * ox + ny * oy + nz * oz
            if light <= 0 or outgoing <= 0:
                continue
            lobe = oil[u] * lobe_between(nx, ny, nz, x, y, z, ox, oy, oz, roughness[u], mirror)
            for k in range(plain.shape[1]):
                radiance[j, k] = lobe * plain[u, k]
