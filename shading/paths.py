"""How vertices see each other: for every blocked direction, from what it hit back to the vertex that looks there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.bits import WORD, ones
from sitterlight.shading.compiled import kernel, over_vertices, unsigned
from sitterlight.shading.directions import cell_of
from sitterlight.shading.large_pages import in_large_pages
from sitterlight.shading.matrix import narrowest
from sitterlight.shading.transfer import Transfer


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
