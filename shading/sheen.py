"""Sheen toward the eye: what the surface of each vertex mirrors of the lights, and of the skin that it sees.

Domes are summed over the transfer's directions and scaled so that an even dome returns the sheen's exact directional
albedo; patches are summed over their samples. A surface smoother than the directions are dense is summed as if it
were a little rougher: its share stays exact, only the edges of what it mirrors soften.
"""

from __future__ import annotations

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.bounce import Exchange
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.sources import Patch
from sitterlight.shading.surface import REFRACTIVE_INDEX
from sitterlight.shading.transfer import Transfer

SMOOTHEST_OVER_CELLS = 0.12


def mirrored_dome(
    head: Head, transfer: Transfer, gloss: Gloss, eye: np.ndarray, sees: np.ndarray, cells: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Sheen radiance weights (V,K) of domes with `cells (N,K)` toward `eye (3,)` mm, both in the head's frame, and
    the share (B,) of each blocked direction in what its vertex mirrors."""
    radiance = np.zeros((len(head.vertices), cells.shape[1]), np.float32)
    share = np.zeros(len(transfer.hit), np.float32)
    over_vertices(
        _mirror_dome,
        len(head.vertices),
        head.vertices.astype(np.float32),
        head.normals.astype(np.float32),
        np.asarray(eye, np.float32),
        sees,
        transfer.directions.astype(np.float32),
        transfer.open_bits,
        transfer.start,
        transfer.direction,
        np.maximum(gloss.roughness, SMOOTHEST_OVER_CELLS).astype(np.float32),
        gloss.albedo,
        _fresnel_table(),
        cells,
        radiance,
        share,
    )
    return radiance, share


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
        sees,
        patch.points,
        np.zeros_like(patch.points) if patch.facing is None else np.ascontiguousarray(patch.facing),
        patch.weights,
        0 if patch.distant else (1 if patch.facing is None else 2),
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
def _lobe(light, eye, facing, at_facet, roughness, mirror):
    """The sheen's BRDF from the four cosines; `mirror` is Fresnel's curve at even cosines."""
    square = roughness * roughness
    bend = facing * facing * (square - 1) + 1
    facets = square / (np.float32(np.pi) * bend * bend)
    at_light = eye * np.sqrt(square + (1 - square) * light * light)
    at_eye = light * np.sqrt(square + (1 - square) * eye * eye)
    place = min(at_facet, np.float32(1)) * (len(mirror) - 1)
    low = min(int(place), len(mirror) - 2)
    reflected = mirror[low] + (mirror[low + 1] - mirror[low]) * (place - low)
    return reflected * facets * 0.5 / (at_light + at_eye)


@kernel
def _mirror_dome(
    first,
    last,
    places,
    normals,
    eye,
    sees,
    directions,
    bits,
    start,
    direction,
    roughness,
    albedo,
    mirror,
    cells,
    radiance,
    share,
):
    count, basis = cells.shape
    top = albedo.shape[1] - 1
    for v in range(first, last):
        if not sees[v]:
            continue
        ox, oy, oz = eye[0] - places[v, 0], eye[1] - places[v, 1], eye[2] - places[v, 2]
        length = np.sqrt(ox * ox + oy * oy + oz * oz)
        ox, oy, oz = ox / length, oy / length, oz / length
        nx, ny, nz = normals[v, 0], normals[v, 1], normals[v, 2]
        outgoing = nx * ox + ny * oy + nz * oz
        if outgoing <= 0:
            continue
        total = np.float32(0)
        blocked, end = start[v], start[v + 1]
        for d in range(count):
            x, y, z = directions[d, 0], directions[d, 1], directions[d, 2]
            cosine = nx * x + ny * y + nz * z
            if cosine <= 0:
                continue
            hx, hy, hz = x + ox, y + oy, z + oz
            length = max(np.sqrt(hx * hx + hy * hy + hz * hz), np.float32(1e-6))
            facing = (nx * hx + ny * hy + nz * hz) / length
            at_facet = (x * hx + y * hy + z * hz) / length
            weight = cosine * _lobe(cosine, outgoing, facing, at_facet, roughness[v], mirror)
            total += weight
            if bits[v, d >> 3] & (128 >> (d & 7)):
                for k in range(basis):
                    radiance[v, k] += weight * cells[d, k]
            else:
                while blocked < end and direction[blocked] < d:
                    blocked += 1
                if blocked < end and direction[blocked] == d:
                    share[blocked] = weight
        place = min(outgoing, np.float32(1)) * top
        low = min(int(place), top - 1)
        part = place - low
        scale = (albedo[v, low] * (1 - part) + albedo[v, low + 1] * part) / max(total, np.float32(1e-12))
        for k in range(basis):
            radiance[v, k] *= scale
        for j in range(start[v], end):
            share[j] *= scale


@kernel
def _gather_skin(first, last, start, hit, send, mirror, mirrored, share, body, glints, result):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            u, t = hit[j], mirrored[j]
            if share[j] <= 0 or u < 0:
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
    sees,
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
        if not sees[v] or oil[v] <= 0:
            continue
        ox, oy, oz = eye[0] - places[v, 0], eye[1] - places[v, 1], eye[2] - places[v, 2]
        length = np.sqrt(ox * ox + oy * oy + oz * oz)
        ox, oy, oz = ox / length, oy / length, oz / length
        nx, ny, nz = normals[v, 0], normals[v, 1], normals[v, 2]
        outgoing = nx * ox + ny * oy + nz * oz
        if outgoing <= 0:
            continue
        for s in range(samples):
            if not visible[v, s]:
                continue
            x, y, z = points[s, 0], points[s, 1], points[s, 2]
            factor = 1.0
            if kind > 0:
                x, y, z = x - places[v, 0], y - places[v, 1], z - places[v, 2]
                square = x * x + y * y + z * z
                length = np.sqrt(square)
                x, y, z = x / length, y / length, z / length
                factor = 1.0 / square
                if kind == 2:
                    factor *= max(-(x * facing[s, 0] + y * facing[s, 1] + z * facing[s, 2]), 0.0)
            cosine = nx * x + ny * y + nz * z
            if cosine <= 0:
                continue
            hx, hy, hz = x + ox, y + oy, z + oz
            length = max(np.sqrt(hx * hx + hy * hy + hz * hz), 1e-9)
            to_facet = (nx * hx + ny * hy + nz * hz) / length
            at_facet = (x * hx + y * hy + z * hz) / length
            lobe = _lobe(cosine, outgoing, to_facet, at_facet, roughness[v], mirror)
            for k in range(basis):
                radiance[v, k] += oil[v] * lobe * cosine * factor * weights[s, k]


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
            hx, hy, hz = x + ox, y + oy, z + oz
            length = max(np.sqrt(hx * hx + hy * hy + hz * hz), 1e-9)
            facing = (nx * hx + ny * hy + nz * hz) / length
            at_facet = (x * hx + y * hy + z * hz) / length
            lobe = oil[u] * _lobe(light, outgoing, facing, at_facet, roughness[u], mirror)
            for k in range(plain.shape[1]):
                radiance[j, k] = lobe * plain[u, k]
