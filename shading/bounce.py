"""Light that other skin returns: bounces, from every blocked direction's hit back to the vertex that looks there.

A bounce keeps the region that sent it last, so that its colour is the exact product of two albedos, receiver times
sender. Paths of n bounces count the sender's albedo n times: exact where both ends of the path are of one region,
close where regions differ little. What skin mirrors on its way to other skin has the colour of the light and is kept
apart, as bounce 0.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.directions import cell_of
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.surface_kernels import sheen_share
from sitterlight.shading.transfer import Transfer

BOUNCES = 4


@dataclass(frozen=True, eq=False)
class Exchange:
    """How vertices see each other, for one gloss. For every blocked direction (B,), float32 and int32:

    `receive`: share of the irradiance at the receiver that enters its body there; `send`: (1 − E(o)) / (1 − Ē) of the
    sender's body toward it; `mirror`: oil·E(o) of the sender's sheen toward it; `cell`: the open direction that the
    sender mirrors, −1 where none; `mirrored`: the vertex that it mirrors instead, −1 where none.
    """

    receive: np.ndarray
    send: np.ndarray
    mirror: np.ndarray
    cell: np.ndarray
    mirrored: np.ndarray


@dataclass(frozen=True, eq=False)
class Bounced:
    """Irradiance weights that entered the body after bounces, for the K basis spectra of one source.

    `mirrored (V,K)`: by way of other skin's sheen; `by_region (n,V,R,K)`: bounce 1 … n, by the region that sent it.
    """

    mirrored: np.ndarray
    by_region: np.ndarray


def exchange(head: Head, transfer: Transfer, gloss: Gloss) -> Exchange:
    """What passes along every blocked direction. Cheap: no ray is cast."""
    count = len(transfer.hit)
    receive, send, mirror = np.zeros((3, count), np.float32)
    cell, mirrored = np.full((2, count), -1, np.int32)
    over_vertices(
        _exchange,
        len(head.vertices),
        head.normals.astype(np.float32),
        transfer.directions.astype(np.float32),
        transfer.open_bits,
        transfer.unoccluded,
        transfer.start,
        transfer.direction,
        transfer.hit,
        gloss.albedo,
        gloss.mean,
        np.int64(round(np.sqrt(len(transfer.directions) / 12))),
        receive,
        send,
        mirror,
        cell,
        mirrored,
    )
    return Exchange(receive, send, mirror, cell, mirrored)


def mirrored_light(transfer: Transfer, between: Exchange, cells: np.ndarray) -> np.ndarray:
    """Radiance weights (B,K) float32 of a dome's light that each hit mirrors back, `cells (N,K)`."""
    seen = np.where(between.cell[:, None] >= 0, cells[np.maximum(between.cell, 0)], 0)
    return (seen * between.mirror[:, None]).astype(np.float32)


def bounced(
    head: Head,
    transfer: Transfer,
    between: Exchange,
    entered: np.ndarray,
    mirrored_radiance: np.ndarray,
    bounces: int,
) -> Bounced:
    """Bounces of one source, from direct light `entered (V,K)` and what each hit mirrors (B,K)."""
    vertices, basis = entered.shape
    regions = head.region_weights.shape[1]
    weights = head.region_weights.astype(np.float32)
    mirrored = np.zeros((vertices, basis), np.float32)
    over_vertices(_gather_mirrored, vertices, transfer.start, between.receive, mirrored_radiance, mirrored)
    by_region = np.zeros((bounces, vertices, regions, basis), np.float32)
    sent = entered + mirrored
    for index in range(bounces):
        over_vertices(
            _gather_bounce,
            vertices,
            transfer.start,
            transfer.hit,
            between.receive,
            between.send,
            between.mirror,
            between.mirrored,
            weights,
            np.ascontiguousarray(sent, dtype=np.float32),
            by_region[index],
        )
        sent = by_region[index].sum(axis=1)
    return Bounced(mirrored, by_region)


@kernel
def _exchange(
    first,
    last,
    normals,
    directions,
    bits,
    unoccluded,
    start,
    direction,
    hit,
    albedo,
    mean,
    resolution,
    receive,
    send,
    mirror,
    cell,
    mirrored,
):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            u = hit[j]
            if u < 0:
                continue
            d = direction[j]
            x, y, z = directions[d, 0], directions[d, 1], directions[d, 2]
            cosine = normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z
            receive[j] = max(cosine, np.float32(0)) / unoccluded[v] * (1 - sheen_share(albedo, v, cosine))
            nx, ny, nz = normals[u, 0], normals[u, 1], normals[u, 2]
            out = min(max(-(nx * x + ny * y + nz * z), np.float32(0)), np.float32(1))
            sheen = sheen_share(albedo, u, out)
            send[j] = (1 - sheen) / (1 - mean[u])
            mirror[j] = sheen
            mx, my, mz = x + 2 * out * nx, y + 2 * out * ny, z + 2 * out * nz
            length = np.sqrt(mx * mx + my * my + mz * mz)
            c = cell_of(mx / length, my / length, mz / length, resolution)
            low, high = start[u], start[u + 1]
            while low < high:
                middle = (low + high) // 2
                if direction[middle] < c:
                    low = middle + 1
                else:
                    high = middle
            if low < start[u + 1] and direction[low] == c:
                mirrored[j] = hit[low]
                if hit[low] >= 0:
                    mirror[j] = sheen / (1 - mean[hit[low]])
            else:
                cell[j] = c


@kernel
def _gather_mirrored(first, last, start, receive, radiance, mirrored):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            for k in range(radiance.shape[1]):
                mirrored[v, k] += np.float32(np.pi) * receive[j] * radiance[j, k]


@kernel
def _gather_bounce(first, last, start, hit, receive, send, mirror, mirrored, weights, sent, by_region):
    basis = sent.shape[1]
    regions = weights.shape[1]
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            u = hit[j]
            if u < 0:
                continue
            share = receive[j] * send[j]
            for r in range(regions):
                weight = weights[u, r]
                if weight > 0:
                    for k in range(basis):
                        by_region[v, r, k] += share * weight * sent[u, k]
            t = mirrored[j]
            if t >= 0:
                share = receive[j] * mirror[j]
                for r in range(regions):
                    weight = weights[t, r]
                    if weight > 0:
                        for k in range(basis):
                            by_region[v, r, k] += share * weight * sent[t, k]
