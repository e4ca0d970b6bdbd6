"""Light that other skin returns: bounces, from every blocked direction's hit back to the vertex that looks there.

What bounced is kept by the albedos that colour it (path_kinds.py): the first bounce by the region that sent it, so that
its colour is the exact product of two albedos, receiver times sender; later ones nearly so. What skin mirrors on its
way to other skin has the colour of the light and is kept apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.bits import WORD, ones
from sitterlight.shading.compiled import kernel, loop, over_vertices, unsigned
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
    """How vertices see each other. All who look along one direction and meet the same vertex are shown the same by it,
    on one way back: P of them, those of vertex u from `start[u]` to `start[u + 1]`, by direction.

    `back (B,)` int32: the way back of every blocked direction. Of every way back (P,): its `sender` in as few bits as
    tell vertices apart, the `direction` int16 that is looked along, `leaving` float32, the cosine at the sender;
    `cell` int32: the open direction that the sender mirrors, −1 where none; `mirrored` int32: the vertex that it
    mirrors instead, −1 where none.
    """

    start: np.ndarray
    back: np.ndarray
    sender: np.ndarray
    direction: np.ndarray
    leaving: np.ndarray
    cell: np.ndarray
    mirrored: np.ndarray


@dataclass(frozen=True, eq=False)
class Exchange:
    """What passes along the paths for one gloss, float32.

    Of every blocked direction, `receive (B,)`: share of the irradiance at the receiver that enters its body there. Of
    every way back (P,), `send`: (1 − E(o)) / (1 − Ē) of the sender's body; `mirror`: oil·E(o) of the sender's sheen,
    and over 1 − Ē of the vertex that the sender mirrors, where it does.

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
    vertices, along = len(head.vertices), (transfer.start, transfer.direction, transfer.hit)
    met = np.zeros((vertices, -(-len(transfer.directions) // WORD)), np.uint64)
    start = np.zeros(vertices + 1, np.int64)
    _mark_met(*along, met, start)
    start, back = np.cumsum(start), np.empty(len(transfer.hit), np.int32)
    over_vertices(_find_back, vertices, *along, met, start, back)
    sender, direction = np.empty(start[-1], narrowest(vertices)), np.empty(start[-1], np.int16)
    leaving, (cell, mirrored) = np.empty(start[-1], np.float32), np.full((2, start[-1]), -1, np.int32)
    over_vertices(
        _follow,
        vertices,
        head.in_single[1],
        transfer.directions.astype(np.float32),
        transfer.open_bits,
        *along,
        np.int64(round(np.sqrt(len(transfer.directions) / 12))),
        met,
        start,
        sender,
        direction,
        leaving,
        cell,
        mirrored,
    )
    return in_large_pages(Paths(start, back, sender, direction, leaving, cell, mirrored))


def exchange(
    head: Head, ways: Paths, transfer: Transfer, gloss: Gloss, membership: Membership, bounces: int
) -> Exchange:
    """What passes along the paths, given the gloss."""
    vertices, receive = len(transfer.start) - 1, np.empty(len(ways.back), np.float32)
    send, mirror = np.empty((2, len(ways.sender)), np.float32)
    seen = head.in_single[1], transfer.directions.astype(np.float32), transfer.direction, transfer.unoccluded
    over_vertices(_receive, vertices, *seen, transfer.start, gloss.albedo, receive)
    over_vertices(_return, vertices, ways.start, ways.leaving, ways.mirrored, gloss.albedo, gloss.mean, send, mirror)
    matrix = bounce_matrix(transfer, ways, receive, send, mirror)
    return Exchange(ways, receive, send, mirror, Bounces.of(matrix, membership, bounces))


def gathered_from_cells(
    transfer: Transfer, between: Exchange, share: np.ndarray, mirror: np.ndarray, cells: np.ndarray
) -> np.ndarray:
    """Σ over a vertex's blocked directions of `share (B,)` times `mirror (P,)` of the way back times the dome's light,
    `cells (N,K)`, that what is met there mirrors; (V,K) float32."""
    gathered = np.zeros((len(transfer.start) - 1, cells.shape[1]), np.float32)
    along = transfer.start, between.paths.back, between.paths.cell
    over_vertices(_gather, len(gathered), *along, share, mirror, cells, gathered)
    return gathered


def bounce_matrix(transfer: Transfer, ways: Paths, receive: np.ndarray, send: np.ndarray, mirror: np.ndarray) -> Rows:
    """From what leaves bodies (V,) to what enters them, one entry for each pair of vertices: what blocked directions
    `receive (B,)` of what ways back `send (P,)` straight from the sender and `mirror (P,)` by way of its sheen."""
    along = transfer.start, ways.back, ways.sender, ways.mirrored, receive, send, mirror
    counts = np.zeros(len(transfer.start), np.int64)
    over_vertices(_count_senders, len(counts) - 1, *along, counts[1:])
    start = np.cumsum(counts)
    column, weight = np.empty(start[-1], np.int32), np.empty(start[-1], np.float32)
    over_vertices(_fill_senders, len(counts) - 1, *along, start, column, weight)
    return Rows(start, column, weight)


@kernel
def _mark_met(start, direction, hit, met, counts):
    """Set a bit in `met (V,W)` for each vertex and direction along which it is looked at; how many, one place on."""
    for v in range(len(met)):
        for j in range(start[v], start[v + 1]):
            u, d, bit = hit[j], direction[j] // WORD, unsigned(1) << unsigned(direction[j] % WORD)
            counts[u + 1] += met[u, d] & bit == 0
            met[u, d] |= bit


@kernel
def _find_back(first, last, start, direction, hit, met, begin, back):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            u, word = hit[j], direction[j] // WORD
            before = ones(met[u, word] & ((unsigned(1) << unsigned(direction[j] % WORD)) - unsigned(1)))
            for other in range(word):
                before += ones(met[u, other])
            back[j] = begin[u] + before


@kernel
def _follow(
    first,
    last,
    normals,
    directions,
    bits,
    start,
    along,
    hit,
    resolution,
    met,
    begin,
    sender,
    direction,
    leaving,
    cell,
    mirrored,
):
    for u in range(first, last):
        p = begin[u]
        nx, ny, nz = normals[u, 0], normals[u, 1], normals[u, 2]
        for d in range(len(directions)):
            if met[u, d // WORD] >> unsigned(d % WORD) & unsigned(1) == 0:
                continue
            x, y, z = directions[d, 0], directions[d, 1], directions[d, 2]
            out = min(max(-(nx * x + ny * y + nz * z), np.float32(0)), np.float32(1))
            sender[p], direction[p], leaving[p] = u, d, out
            mx, my, mz = x + 2 * out * nx, y + 2 * out * ny, z + 2 * out * nz
            length = np.sqrt(mx * mx + my * my + mz * mz)
            c = cell_of(mx / length, my / length, mz / length, resolution)
            if bits[u, c >> 3] & (128 >> (c & 7)):
                cell[p] = c
            else:
                mirrored[p] = _hit_along(c, start[u], start[u + 1], along, hit)
                if mirrored[p] < 0 and nx * directions[c, 0] + ny * directions[c, 1] + nz * directions[c, 2] <= 0:
                    cell[p] = c
            p += 1


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
def _receive(first, last, normals, directions, direction, unoccluded, start, albedo, receive):
    for v in range(first, last):
        nx, ny, nz = normals[v, 0], normals[v, 1], normals[v, 2]
        for j in range(start[v], start[v + 1]):
            d = direction[j]
            facing = max(nx * directions[d, 0] + ny * directions[d, 1] + nz * directions[d, 2], np.float32(0))
            receive[j] = facing / unoccluded[v] * (1 - sheen_share(albedo, v, facing))


@kernel
def _return(first, last, start, leaving, mirrored, albedo, mean, send, mirror):
    for u in range(first, last):
        for p in range(start[u], start[u + 1]):
            sheen, t = sheen_share(albedo, u, leaving[p]), mirrored[p]
            send[p] = (1 - sheen) / (1 - mean[u])
            mirror[p] = sheen / (1 - mean[t]) if t >= 0 else sheen


@kernel
def _count_senders(first, last, start, back, sender, mirrored, receive, send, mirror, counts):
    place, who, share = np.zeros(len(start), np.int32), np.empty(len(start), np.int32), np.empty(len(start), np.float32)
    about = start, back, sender, mirrored, receive, send, mirror
    for v in range(first, last):
        for index in range(_distinct(v, about, place, who, share)):
            counts[v] += share[index] > _LEAST


@kernel
def _fill_senders(first, last, start, back, sender, mirrored, receive, send, mirror, begin, column, weight):
    place, who, share = np.zeros(len(start), np.int32), np.empty(len(start), np.int32), np.empty(len(start), np.float32)
    about = start, back, sender, mirrored, receive, send, mirror
    for v in range(first, last):
        entry = begin[v]
        for index in range(_distinct(v, about, place, who, share)):
            if share[index] > _LEAST:
                column[entry], weight[entry] = who[index], share[index]
                entry += 1


@kernel
def _distinct(v, about, place, who, share):
    """The vertices that vertex `v` receives from, each once in `who`, with what it gives in `share`; how many they are.
    `place` is all zero before and after."""
    start, back, sender, mirrored, receive, send, mirror = about
    count = 0
    for j in range(start[v], start[v + 1]):
        p = back[j]
        for way in range(2):
            u, given = (np.int32(sender[p]), send[p]) if way == 0 else (mirrored[p], mirror[p])
            given *= receive[j]
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
def _gather(first, last, start, back, row, share, mirror, values, gathered):
    for v in range(first, last):
        for j in range(start[v], start[v + 1]):
            p = back[j]
            if share[j] > 0 and row[p] >= 0:
                for k in range(values.shape[1]):
                    gathered[v, k] += share[j] * mirror[p] * values[row[p], k]
