"""Light that other skin returns: bounces, from every blocked direction's hit back to the vertex that looks there.

What bounced is kept by the albedos that colour it (path_kinds.py): the first bounce by the region that sent it, so that
its colour is the exact product of two albedos, receiver times sender; later ones nearly so. What skin mirrors on its
way to other skin has the colour of the light and is kept apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import kernel, loop, over_vertices
from sitterlight.shading.directions import cell_of
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.large_pages import in_large_pages
from sitterlight.shading.later_bounces import Bounces, Senders
from sitterlight.shading.matrix import Rows, narrowest
from sitterlight.shading.membership import Membership
from sitterlight.shading.surface_kernels import sheen_share
from sitterlight.shading.transfer import Transfer

BOUNCES = 4
_LEAST = 1e-6
"""Shares of the irradiance below this are none."""


@dataclass(frozen=True, eq=False)
class Paths:
    """How vertices see each other. For every blocked direction (B,), float32 and int32: `leaving`, the cosine at the
    sender; `cell`: the open direction that the sender mirrors, −1 where none; `mirrored`: the vertex that it mirrors
    instead, −1 where none; `sender`, in as few bits as tell vertices apart."""

    leaving: np.ndarray
    cell: np.ndarray
    mirrored: np.ndarray
    sender: np.ndarray


@dataclass(frozen=True, eq=False)
class Exchange:
    """What passes along the paths for one gloss. For every blocked direction (B,), float32:

    `receive`: share of the irradiance at the receiver that enters its body there; `send`: (1 − E(o)) / (1 − Ē) of the
    sender's body toward it; `mirror`: oil·E(o) of the sender's sheen toward it, and over 1 − Ē of the vertex that the
    sender mirrors, where it does.

    `bounces`: from what entered the bodies to what enters after one more bounce.
    """

    paths: Paths
    receive: np.ndarray
    send: np.ndarray
    mirror: np.ndarray
    bounces: Bounces

    @property
    def senders(self) -> Senders:
        """The kinds of light that each vertex receives."""
        return self.bounces.senders


def paths(head: Head, transfer: Transfer) -> Paths:
    """Where light goes between vertices. Cheap: no ray is cast."""
    count = len(transfer.hit)
    leaving = np.zeros(count, np.float32)
    cell, mirrored = np.full((2, count), -1, np.int32)
    over_vertices(
        _follow,
        len(head.vertices),
        head.in_single[1],
        transfer.directions.astype(np.float32),
        transfer.open_bits,
        transfer.start,
        transfer.direction,
        transfer.hit,
        np.int64(round(np.sqrt(len(transfer.directions) / 12))),
        leaving,
        cell,
        mirrored,
    )
    sender = transfer.hit.astype(narrowest(len(head.vertices)), copy=False)
    return in_large_pages(Paths(leaving, cell, mirrored, sender))


def exchange(
    head: Head, ways: Paths, transfer: Transfer, gloss: Gloss, membership: Membership, bounces: int
) -> Exchange:
    """What passes along the paths, given the gloss."""
    receive, send, mirror = np.zeros((3, len(transfer.hit)), np.float32)
    vertices = len(transfer.start) - 1
    seen = head.in_single[1], transfer.directions.astype(np.float32), transfer.direction, transfer.unoccluded
    along = transfer.start, transfer.hit, ways.mirrored, ways.leaving
    over_vertices(_pass_on, vertices, *seen, *along, gloss.albedo, gloss.mean, receive, send, mirror)
    matrix = bounce_matrix(transfer, ways, receive * send, receive * mirror)
    return Exchange(ways, receive, send, mirror, Bounces.of(matrix, membership, bounces))


def gathered_from_cells(
    transfer: Transfer, between: Exchange, share: np.ndarray, mirror: np.ndarray, cells: np.ndarray
) -> np.ndarray:
    """Σ over a vertex's blocked directions of `share (B,)` times `mirror (B,)` times the dome's light, `cells (N,K)`,
    that what is met there mirrors; (V,K) float32."""
    gathered = np.zeros((len(transfer.start) - 1, cells.shape[1]), np.float32)
    over_vertices(_gather, len(gathered), transfer.start, between.paths.cell, share, mirror, cells, gathered)
    return gathered


def bounce_matrix(transfer: Transfer, ways: Paths, straight: np.ndarray, aside: np.ndarray) -> Rows:
    """From what leaves bodies (V,) to what enters them, one entry for each pair of vertices: of every blocked direction
    (B,) the shares that come `straight` from the sender and `aside`, by way of its sheen."""
    along = transfer.start, transfer.hit, ways.mirrored
    counts = np.zeros(len(along[0]), np.int64)
    over_vertices(_count_senders, len(counts) - 1, *along, straight, aside, counts[1:])
    start = np.cumsum(counts)
    column, weight = np.empty(start[-1], np.int32), np.empty(start[-1], np.float32)
    over_vertices(_fill_senders, len(counts) - 1, *along, straight, aside, start, column, weight)
    return Rows(start, column, weight)


@kernel
def _follow(first, last, normals, directions, bits, start, direction, hit, resolution, leaving, cell, mirrored):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            u, d = hit[j], direction[j]
            x, y, z = directions[d, 0], directions[d, 1], directions[d, 2]
            nx, ny, nz = normals[u, 0], normals[u, 1], normals[u, 2]
            out = min(max(-(nx * x + ny * y + nz * z), np.float32(0)), np.float32(1))
            leaving[j] = out
            mx, my, mz = x + 2 * out * nx, y + 2 * out * ny, z + 2 * out * nz
            length = np.sqrt(mx * mx + my * my + mz * mz)
            c = cell_of(mx / length, my / length, mz / length, resolution)
            if bits[u, c >> 3] & (128 >> (c & 7)):
                cell[j] = c
                continue
            mirrored[j] = _hit_along(c, start[u], start[u + 1], direction, hit)
            if mirrored[j] < 0 and nx * directions[c, 0] + ny * directions[c, 1] + nz * directions[c, 2] <= 0:
                cell[j] = c


@kernel
def _hit_along(c, low, high, direction, hit):
    """What a vertex with the blocked directions `low` to `high` meets along direction `c`, −1 for nothing."""
    end = high
    while low < high:
        middle = (low + high) // 2
        if direction[middle] < c:
            low = middle + 1
        else:
            high = middle
    return hit[low] if low < end and direction[low] == c else np.int32(-1)


@kernel
def _pass_on(
    first,
    last,
    normals,
    directions,
    direction,
    unoccluded,
    start,
    hit,
    mirrored,
    leaving,
    albedo,
    mean,
    receive,
    send,
    mirror,
):
    for v in range(first, last):
        nx, ny, nz = normals[v, 0], normals[v, 1], normals[v, 2]
        for j in range(start[v], start[v + 1]):
            u, t, d = hit[j], mirrored[j], direction[j]
            facing = max(nx * directions[d, 0] + ny * directions[d, 1] + nz * directions[d, 2], np.float32(0))
            receive[j] = facing / unoccluded[v] * (1 - sheen_share(albedo, v, facing))
            sheen = sheen_share(albedo, u, leaving[j])
            send[j] = (1 - sheen) / (1 - mean[u])
            mirror[j] = sheen / (1 - mean[t]) if t >= 0 else sheen


@kernel
def _count_senders(first, last, start, hit, mirrored, straight, aside, counts):
    place, who, share = np.zeros(len(start), np.int32), np.empty(len(start), np.int32), np.empty(len(start), np.float32)
    for v in range(first, last):
        for index in range(_distinct(v, start, hit, mirrored, straight, aside, place, who, share)):
            counts[v] += share[index] > _LEAST


@kernel
def _fill_senders(first, last, start, hit, mirrored, straight, aside, begin, column, weight):
    place, who, share = np.zeros(len(start), np.int32), np.empty(len(start), np.int32), np.empty(len(start), np.float32)
    for v in range(first, last):
        entry = begin[v]
        for index in range(_distinct(v, start, hit, mirrored, straight, aside, place, who, share)):
            if share[index] > _LEAST:
                column[entry], weight[entry] = who[index], share[index]
                entry += 1


@kernel
def _distinct(v, start, hit, mirrored, straight, aside, place, who, share):
    """The vertices that vertex `v` receives from, each once in `who`, with what it gives in `share`; how many they are.
    `place` is all zero before and after."""
    count = 0
    for j in range(start[v], start[v + 1]):
        for way in range(2):
            u, given = (hit[j], straight[j]) if way == 0 else (mirrored[j], aside[j])
            if u < 0 or given <= 0:
                continue
            if place[u] == 0:
                who[count], share[count] = u, 0
                count += 1
                place[u] = count
            share[place[u] - 1] += given
    for index in range(count):
        place[who[index]] = 0
    return count


@loop
def _gather(first, last, start, row, share, mirror, values, gathered):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            if share[j] > 0 and row[j] >= 0:
                for k in range(values.shape[1]):
                    gathered[v, k] += share[j] * mirror[j] * values[row[j], k]
