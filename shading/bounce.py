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
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.later_bounces import Bounces, Senders
from sitterlight.shading.lookers import Lookers, new_sums, part_of, summed
from sitterlight.shading.matrix import Rows
from sitterlight.shading.membership import Membership
from sitterlight.shading.paths import Paths
from sitterlight.shading.surface_kernels import sheen_share
from sitterlight.shading.transfer import Transfer

BOUNCES = 4
_LEAST = 1e-6
"""Shares of the irradiance below this are none."""


@dataclass(frozen=True, eq=False)
class Exchange:
    """What passes along the paths for one gloss, float32.

    Of every way back (P,), `send`: (1 − E(o)) / (1 − Ē) of the sender's body; `mirror`: oil·E(o) of the sender's sheen,
    and over 1 − Ē of the vertex that the sender mirrors, where it does.

    `lookers`: who looks at each vertex, with the share of the irradiance at the looker that enters its body from there;
    `bounces`: from what entered the bodies to what enters after one more bounce.
    """

    paths: Paths
    lookers: Lookers
    send: np.ndarray
    mirror: np.ndarray
    bounces: Bounces

    @property
    def senders(self) -> Senders:
        """The kinds of light that each vertex receives."""
        return self.bounces.senders


def exchange(
    head: Head, ways: Paths, transfer: Transfer, gloss: Gloss, membership: Membership, bounces: int
) -> Exchange:
    """What passes along the paths, given the gloss."""
    receive, (send, mirror) = received(head, transfer, gloss), np.empty((2, len(ways.sender)), np.float32)
    about = ways.start, ways.leaving, ways.mirrored, gloss.albedo, gloss.mean
    over_vertices(_return, len(ways.start) - 1, *about, send, mirror)
    passed_on = Bounces.of(bounce_matrix(transfer, ways, receive, send, mirror), membership, bounces)
    # Last, since what the bounces of a large head are made from has gone by then.
    return Exchange(ways, Lookers.of(ways, transfer.start, receive), send, mirror, passed_on)


def received(head: Head, transfer: Transfer, gloss: Gloss) -> np.ndarray:
    """The share of a vertex's irradiance that enters its body from each blocked direction, (B,) float32."""
    receive, directions = np.empty(len(transfer.direction), np.float32), transfer.directions.astype(np.float32)
    about = head.in_single[1], directions, transfer.direction, transfer.unoccluded, transfer.start, gloss.albedo
    over_vertices(_receive, len(transfer.start) - 1, *about, receive)
    return receive


def entering_from_cells(between: Exchange, cells: np.ndarray) -> np.ndarray:
    """Irradiance weights (V,K) float32 that enter bodies by way of other skin's sheen, from a dome of `cells (N,K)`."""
    ways, of = between.paths, between.lookers
    vertices = len(of.start) - 1
    dealt, along = new_sums(vertices, cells.shape[1]), (ways.start, ways.cell, between.mirror)
    along += of.start, of.looker, of.way, of.share
    over_vertices(_deal, len(dealt), *along, cells, dealt, each=vertices // len(dealt))
    return summed(dealt, np.pi)


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
def _deal(first, last, first_way, cell, mirror, start, looker, way, share, cells, dealt):
    for part in range(first, last):
        own = dealt[part]
        own[:] = 0
        for u in range(*part_of(len(start) - 1, part, len(dealt))):
            for n in range(start[u], start[u + 1]):
                p = first_way[u] + way[n]
                if cell[p] >= 0:
                    given = share[n] * mirror[p]
                    for k in range(cells.shape[1]):
                        own[looker[n], k] += given * cells[cell[p], k]
