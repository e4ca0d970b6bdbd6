"""Light that other skin returns: bounces, from every blocked direction's hit back to the vertex that looks there.

A bounce keeps the region that sent it last, so that its colour is the exact product of two albedos, receiver times
sender. Paths of n bounces count the sender's albedo n times: exact where both ends of the path are of one region,
close where regions differ little. What skin mirrors on its way to other skin has the colour of the light and is kept
apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.directions import cell_of
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.matrix import Rows
from sitterlight.shading.membership import Membership
from sitterlight.shading.surface_kernels import sheen_share
from sitterlight.shading.transfer import Transfer

BOUNCES = 4
_LEAST = 1e-6
"""Shares of the irradiance below this are none."""


@dataclass(frozen=True, eq=False)
class Paths:
    """How vertices see each other. For every blocked direction (B,), float32 and int32: `cosine` at the receiver, of
    the irradiance of an open sphere; `incidence` and `leaving`, the cosines at the receiver and at the sender;
    `cell`: the open direction that the sender mirrors, −1 where none; `mirrored`: the vertex that it mirrors instead,
    −1 where none."""

    cosine: np.ndarray
    incidence: np.ndarray
    leaving: np.ndarray
    cell: np.ndarray
    mirrored: np.ndarray


@dataclass(frozen=True, eq=False)
class Exchange:
    """What passes along the paths for one gloss. For every blocked direction (B,), float32:

    `receive`: share of the irradiance at the receiver that enters its body there; `send`: (1 − E(o)) / (1 − Ē) of the
    sender's body toward it; `mirror`: oil·E(o) of the sender's sheen toward it, and over 1 − Ē of the vertex that the
    sender mirrors, where it does.

    `senders`: the regions that each vertex receives from; `bounce (N,V)`: from what entered the bodies to what enters
    after one more bounce, for each of the senders' N regions.
    """

    paths: Paths
    receive: np.ndarray
    send: np.ndarray
    mirror: np.ndarray
    senders: Senders
    bounce: Rows


@dataclass(frozen=True, eq=False)
class Senders:
    """The regions that each vertex receives light from: `region (N,)`, those of vertex v from `start[v]` to
    `start[v + 1]`."""

    start: np.ndarray
    region: np.ndarray


def paths(head: Head, transfer: Transfer) -> Paths:
    """Where light goes between vertices. Cheap: no ray is cast."""
    count = len(transfer.hit)
    cosine, incidence, leaving = np.zeros((3, count), np.float32)
    cell, mirrored = np.full((2, count), -1, np.int32)
    over_vertices(
        _follow,
        len(head.vertices),
        head.normals.astype(np.float32),
        transfer.directions.astype(np.float32),
        transfer.open_bits,
        transfer.unoccluded,
        transfer.start,
        transfer.direction,
        transfer.hit,
        np.int64(round(np.sqrt(len(transfer.directions) / 12))),
        cosine,
        incidence,
        leaving,
        cell,
        mirrored,
    )
    return Paths(cosine, incidence, leaving, cell, mirrored)


def exchange(ways: Paths, transfer: Transfer, gloss: Gloss, membership: Membership) -> Exchange:
    """What passes along the paths, given the gloss."""
    receive, send, mirror = np.zeros((3, len(transfer.hit)), np.float32)
    vertices = len(transfer.start) - 1
    along = transfer.start, transfer.hit, ways.mirrored
    light = ways.cosine, ways.incidence, ways.leaving, gloss.albedo, gloss.mean
    over_vertices(_pass_on, vertices, *along, *light, receive, send, mirror)
    straight, aside = receive * send, receive * mirror
    senders, bounce = _bounce_matrix(along, straight, aside, membership)
    return Exchange(ways, receive, send, mirror, senders, bounce)


def gathered_from_cells(
    transfer: Transfer, between: Exchange, share: np.ndarray, mirror: np.ndarray, cells: np.ndarray
) -> np.ndarray:
    """Σ over a vertex's blocked directions of `share (B,)` times `mirror (B,)` times the dome's light, `cells (N,K)`,
    that what is met there mirrors; (V,K) float32."""
    gathered = np.zeros((len(transfer.start) - 1, cells.shape[1]), np.float32)
    over_vertices(_gather, len(gathered), transfer.start, between.paths.cell, share, mirror, cells, gathered)
    return gathered


def bounced(between: Exchange, entered: np.ndarray, bounces: int) -> np.ndarray:
    """Irradiance weights (N, bounces·K) float32 that entered the body after 1 … n bounces, for each of the senders'
    N regions, from light that `entered (V,K)` straight or mirrored."""
    start, orders = between.senders.start, []
    for _ in range(bounces):
        orders.append(between.bounce @ entered)
        entered = np.zeros(entered.shape, np.float32)
        over_vertices(_sum_rows, len(entered), start, orders[-1], entered)
    return np.concatenate(orders, axis=1) if orders else np.zeros((len(between.bounce), 0), np.float32)


def _bounce_matrix(along, straight, aside, membership: Membership) -> tuple[Senders, Rows]:
    vertices = len(membership.start) - 1
    of = membership.start, membership.region, membership.weight
    counts = np.zeros((vertices, int(membership.region.max(initial=0)) + 1), np.int32)
    over_vertices(_count_senders, vertices, *along, straight, aside, *of, counts)
    vertex, region = np.nonzero(counts)
    start = np.searchsorted(vertex, np.arange(vertices + 1)).astype(np.int64)
    begin = np.concatenate([[0], np.cumsum(counts[vertex, region], dtype=np.int64)])
    column, weight = np.empty(begin[-1], np.int32), np.empty(begin[-1], np.float32)
    senders = Senders(start, region.astype(np.int32))
    over_vertices(_fill_senders, vertices, *along, straight, aside, *of, start, senders.region, begin, column, weight)
    return senders, Rows(begin, column, weight)


@kernel
def _follow(
    first,
    last,
    normals,
    directions,
    bits,
    unoccluded,
    start,
    direction,
    hit,
    resolution,
    cosine,
    incidence,
    leaving,
    cell,
    mirrored,
):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            u, d = hit[j], direction[j]
            x, y, z = directions[d, 0], directions[d, 1], directions[d, 2]
            facing = max(normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z, np.float32(0))
            nx, ny, nz = normals[u, 0], normals[u, 1], normals[u, 2]
            out = min(max(-(nx * x + ny * y + nz * z), np.float32(0)), np.float32(1))
            cosine[j], incidence[j], leaving[j] = facing / unoccluded[v], facing, out
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
def _pass_on(first, last, start, hit, mirrored, cosine, incidence, leaving, albedo, mean, receive, send, mirror):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            u, t = hit[j], mirrored[j]
            receive[j] = cosine[j] * (1 - sheen_share(albedo, v, incidence[j]))
            sheen = sheen_share(albedo, u, leaving[j])
            send[j] = (1 - sheen) / (1 - mean[u])
            mirror[j] = sheen / (1 - mean[t]) if t >= 0 else sheen


@kernel
def _count_senders(
    first, last, start, hit, mirrored, straight, aside, member_start, member_region, member_weight, counts
):
    place, who, share = np.zeros(len(start), np.int32), np.empty(len(start), np.int32), np.empty(len(start), np.float32)
    for v in range(first, last):
        for index in range(_distinct(v, start, hit, mirrored, straight, aside, place, who, share)):
            if share[index] > _LEAST:
                u = who[index]
                for m in range(member_start[u], member_start[u + 1]):
                    counts[v, member_region[m]] += 1


@kernel
def _fill_senders(
    first,
    last,
    start,
    hit,
    mirrored,
    straight,
    aside,
    member_start,
    member_region,
    member_weight,
    sender_start,
    sender_region,
    begin,
    column,
    weight,
):
    place, who, share = np.zeros(len(start), np.int32), np.empty(len(start), np.int32), np.empty(len(start), np.float32)
    to = np.zeros(256, np.int64)
    for v in range(first, last):
        for n in range(sender_start[v], sender_start[v + 1]):
            to[sender_region[n]] = begin[n]
        for index in range(_distinct(v, start, hit, mirrored, straight, aside, place, who, share)):
            if share[index] > _LEAST:
                u = who[index]
                for m in range(member_start[u], member_start[u + 1]):
                    entry = to[member_region[m]]
                    column[entry], weight[entry] = u, share[index] * member_weight[m]
                    to[member_region[m]] += 1


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


@kernel
def _gather(first, last, start, row, share, mirror, values, gathered):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            if share[j] > 0 and row[j] >= 0:
                for k in range(values.shape[1]):
                    gathered[v, k] += share[j] * mirror[j] * values[row[j], k]


@kernel
def _sum_rows(first, last, start, rows, total):
    for v in range(first, last):
        for n in range(start[v], start[v + 1]):
            for k in range(rows.shape[1]):
                total[v, k] += rows[n, k]
