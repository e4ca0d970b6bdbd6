"""Compiled loops of the shadows of a patch (shadows.py): samples are asked by rays, and what is seen of them is a bit
for each in words of 64."""

from __future__ import annotations

from functools import partial

import numpy as np

from sitterlight.shading.bits import WORD, next_bit, ones
from sitterlight.shading.compiled import kernel, loop, unsigned
from sitterlight.shading.crew import add
from sitterlight.shading.direction_map import cell_toward
from sitterlight.shading.embree import FOR_SHADOWS, ask_blocked, is_blocked, new_packet, set_ray

SOME, ALL, NONE = 0, 1, 2
LEAST_OPEN = 0.05
"""Of all directions: who sees fewer of them is not told by them that a probe is hidden."""


def those(order: np.ndarray, which: np.ndarray) -> np.ndarray:
    """The vertices of `order (V,)` that are `which (V,)`, in that order."""
    found = np.empty_like(order)
    return found[: _pick(order, which, found)]


@kernel
def _pick(order, which, found):
    count = 0
    for index in range(len(order)):
        v = order[index]
        if which[v]:
            found[count] = v
            count += 1
    return count


@kernel
def find_nearest(probes, samples, count, nearest, bits):
    """Of `probes (P,3)` the nearest to each of `samples (N,3)`, and a bit for each of the `count` nearest."""
    away = np.empty(len(probes), samples.dtype)
    for n in range(len(samples)):
        for p in range(len(probes)):
            x, y, z = samples[n, 0] - probes[p, 0], samples[n, 1] - probes[p, 1], samples[n, 2] - probes[p, 2]
            away[p] = x * x + y * y + z * z
        for turn in range(min(count, len(probes))):
            best = -1
            for p in range(len(probes)):
                if bits[n] >> unsigned(p) & unsigned(1) == 0 and (best < 0 or away[p] < away[best]):
                    best = p
            bits[n] |= unsigned(1) << unsigned(best)
            if turn == 0:
                nearest[n] = best


@kernel
def count_seen(first, last, seen, probes, number):
    """How many of the `probes` each vertex sees."""
    of_probes = ~unsigned(0) >> unsigned(WORD - probes)  # of 64 at most, and at least one
    for v in range(first, last):
        number[v] = ones(seen[v, 0] & of_probes)


@kernel
def tell_by_share(first, last, share, doubtful, sees):
    """Whether a vertex sees all, some or none, by the `share (V,)` that it sees; some, where it is `doubtful (V,)`."""
    for v in range(first, last):
        sees[v] = SOME if doubtful[v] or 0 < share[v] < 1 else ALL if share[v] == 1 else NONE


@kernel
def see_as_known(first, last, known, every, seen):
    """See samples, whose bits are set in `every (W,)`, where ALL are known to be seen, and none elsewhere."""
    for v in range(first, last):
        for word in range(len(every)):
            seen[v, word] = every[word] if known[v] == ALL else unsigned(0)


@kernel
def tell_of_all(first, last, order, samples, seen, sees):
    """Whether a vertex sees all of the first `samples`, some or none."""
    every = (unsigned(1) << unsigned(samples)) - unsigned(1)
    for index in range(first, last):
        v = order[index]
        sees[v] = NONE if seen[v, 0] == 0 else ALL if seen[v, 0] == every else SOME


@kernel
def tell_apart(first, last, order, before, seen, mixed):
    """Where some of the probes that lie `before (V,)` a vertex, a bit for each, are seen, not all."""
    for index in range(first, last):
        v = order[index]
        mixed[v] = seen[v, 0] > 0 and before[v] & ~seen[v, 0] != 0


@loop
def cast_probes(
    first, last, order, scene, origins, places, normals, points, distant, open_bits, cells, around, before, seen, rays
):
    """Let the vertices of `order` look for those of the `points (P,3)`, as many as a word has bits, that lie before
    them; these get a bit in `before (V,)`. No ray is cast where the `open_bits (V,N/64)` of a vertex are all alike
    `around (M,N/64)` the cell of a probe, which has no rows where they don't tell. But a vertex that sees hardly
    anything, as within the mouth, may see it through a gap between them."""
    packet = new_packet(FOR_SHADOWS)
    who, which, filled, cast = np.empty(FOR_SHADOWS, np.int64), np.empty(FOR_SHADOWS, np.int64), 0, 0
    cell = np.zeros(len(points), np.int32)
    for n in range(len(points)):
        if distant:
            cell[n] = cell_toward(cells, points[n, 0], points[n, 1], points[n, 2])
    for index in range(first, last):
        v = unsigned(order[index])
        nx, ny, nz = normals[v, 0], normals[v, 1], normals[v, 2]
        px, py, pz = _stood_at(places, v, distant)
        before[v], clear = 0, 0
        for word in range(open_bits.shape[1]):
            clear += ones(open_bits[v, word])
        sees_enough = clear > LEAST_OPEN * WORD * open_bits.shape[1]
        for n in range(len(points)):
            x, y, z = points[n, 0] - px, points[n, 1] - py, points[n, 2] - pz
            if nx * x + ny * y + nz * z <= 0:
                continue
            before[v] |= unsigned(1) << unsigned(n)
            if len(around) > 0:
                if not distant:
                    over = np.float32(1) / np.sqrt(x * x + y * y + z * z)
                    cell[n] = cell_toward(cells, x * over, y * over, z * over)
                told = _told_around(open_bits[v], around[unsigned(cell[n])])
                if told == ALL or (told == NONE and sees_enough):
                    seen[v, 0] |= unsigned(told == ALL) << unsigned(n)
                    continue
            filled = _look_for(scene, packet, filled, who, which, v, n, origins, points, distant, seen)
            cast += 1
    _see(scene, packet, filled, who, which, seen)
    add(rays, 0, cast)


@kernel
def _told_around(open_bits, around):
    """Whether all, some or none of the directions `around (N/64,)`, a bit for each, are open."""
    clear, blocked = unsigned(0), unsigned(0)
    for word in range(len(around)):
        clear |= around[word] & open_bits[word]
        blocked |= around[word] & ~open_bits[word]
    return ALL if blocked == 0 else NONE if clear == 0 else SOME


@kernel
def samples_of(nearest, about, probes, of):
    """Set the bits of the samples behind the `probes` in `of (P,2,W)`: of those to which a probe is `nearest (N,)`, and
    of those that it is one of those `about (N,)`."""
    for index in range(len(nearest)):
        n = probes + index
        bit = unsigned(1) << unsigned(n % WORD)
        of[nearest[index], 0, n // WORD] |= bit
        for probe in range(probes):
            if about[index] >> unsigned(probe) & unsigned(1):
                of[probe, 1, n // WORD] |= bit


@loop
def cast_others(
    first, last, order, scene, origins, places, normals, points, distant, probes, of, edge, wholly, every, seen, rays
):
    """The samples behind the `probes` from the vertices of `order`: all of them where `wholly (V,)`; at an `edge (V,)`
    as the nearest probe; else those that the probes about them disagree on. `of (P,2,W)`: see `samples_of`; `every
    (W,)`: the bits of all samples."""
    packet = new_packet(FOR_SHADOWS)
    who, which, filled, cast = np.empty(FOR_SHADOWS, np.int64), np.empty(FOR_SHADOWS, np.int64), 0, 0
    of_probes = ~unsigned(0) >> unsigned(WORD - probes)
    for index in range(first, last):
        v = unsigned(order[index])
        by_probe, whole = seen[v, 0], wholly[v]
        if by_probe == 0 and not whole:
            continue
        if by_probe == of_probes and not whole:
            seen[v] = every
            continue
        nx, ny, nz = normals[v, 0], normals[v, 1], normals[v, 2]
        px, py, pz = _stood_at(places, v, distant)
        for word in range(len(every)):
            near, some, lacking = unsigned(0), unsigned(0), unsigned(0)
            for probe in range(probes):
                if by_probe >> unsigned(probe) & unsigned(1):
                    near |= of[probe, 0, word]
                    some |= of[probe, 1, word]
                else:
                    lacking |= of[probe, 1, word]
            if edge[v]:
                seen[v, word] |= near
                continue
            told, left = some & ~lacking, some
            if whole:
                told, left = unsigned(0), every[word] & ~(of_probes if word == 0 else unsigned(0))
            while left:
                bit, left = next_bit(left)
                n = word * WORD + bit
                if nx * (points[n, 0] - px) + ny * (points[n, 1] - py) + nz * (points[n, 2] - pz) <= 0:
                    continue
                if told >> bit & unsigned(1):
                    seen[v, word] |= unsigned(1) << bit
                else:
                    filled = _look_for(scene, packet, filled, who, which, v, n, origins, points, distant, seen)
                    cast += 1
    _see(scene, packet, filled, who, which, seen)
    add(rays, 0, cast)


@kernel
def _stood_at(places, v, distant):
    """Where a patch is looked at from by a vertex; from the origin where it is so far that all see it alike."""
    if distant:
        return np.float32(0), np.float32(0), np.float32(0)
    return places[v, 0], places[v, 1], places[v, 2]


@partial(kernel, forceinline=True)  # a call of so many arguments takes as long as half a ray
def _look_for(scene, packet, filled, who, which, v, n, origins, points, distant, seen):
    """Put a ray from a vertex toward a sample into a packet, of which so many lanes are `filled`, and let them tell
    once all are; how many are filled then."""
    ox, oy, oz = origins[v, 0], origins[v, 1], origins[v, 2]
    x, y, z, far = points[n, 0], points[n, 1], points[n, 2], np.float32(np.inf)
    if not distant:
        x, y, z, far = x - ox, y - oy, z - oz, np.float32(1 - 1e-5)
    set_ray(packet, FOR_SHADOWS, filled, ox, oy, oz, x, y, z, far)
    who[filled], which[filled] = v, n
    if filled + 1 < FOR_SHADOWS:
        return filled + 1
    _see(scene, packet, FOR_SHADOWS, who, which, seen)
    return 0


@kernel
def _see(scene, packet, filled, who, which, seen):
    """Let a packet's rays tell whether vertices `who` see samples `which`."""
    if filled == 0:
        return
    ask_blocked(scene, packet, filled)
    for lane in range(filled):
        n = which[lane]
        seen[unsigned(who[lane]), n // WORD] |= unsigned(not is_blocked(packet, lane)) << unsigned(n % WORD)
