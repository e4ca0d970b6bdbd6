"""Compiled loops of light on its way through several bounces (later_bounces.py)."""

from __future__ import annotations

import numpy as np

from sitterlight.shading.compiled import kernel, loop, unsigned
from sitterlight.shading.strips import AT_ONCE, STRIP, add_strips


@kernel
def bounce_on(first, last, start, region, weight, light, to, share, left):
    """Light of each state bounced on by the vertex's regions: `left (V,S′)` from `light (V,S)`."""
    for v in range(first, last):
        for s in range(light.shape[1]):
            if light[v, s] <= 0:
                continue
            for m in range(start[v], start[v + 1]):
                given = light[v, s] * weight[m]
                for way in range(to.shape[2]):
                    left[v, to[s, region[m], way]] += given * share[s, region[m], way]


@kernel
def count_as(first, last, light, least, towards, alike, counted):
    """The kind `counted (V,Q)` for each kind of `light (V,Q)`: itself from `least (Q,)` on, and the most of all; else
    for a region an alike one, for a pair the power of the nearer of its regions, `towards (Q,2)`, that is kept."""
    for v in range(first, last):
        best, best_alike = 0, -1
        for r in range(len(alike)):
            if light[v, r] > light[v, best]:
                best = r
        for r in range(len(alike)):
            kept = light[v, r] > least[r] or r == best
            counted[v, r] = r if kept else best
            if alike[r] and kept and (best_alike < 0 or light[v, r] > light[v, best_alike]):
                best_alike = r
        for r in range(len(alike)):
            if counted[v, r] != r and alike[r] and best_alike >= 0:
                counted[v, r] = best_alike
        for q in range(len(alike), len(least)):
            if light[v, q] > least[q]:
                counted[v, q] = q
            else:
                near, far = towards[q]
                counted[v, q] = counted[v, near] if counted[v, near] == near or counted[v, far] != far else far


@kernel
def follow_on(
    first,
    last,
    start,
    kind,
    member_start,
    region,
    share_of,
    states,
    slot,
    to,
    share,
    after_kind,
    counted,
    slots,
    begin,
    fill,
    column,
    weight,
    row_first,
    row_state,
):
    """Count, in `begin (V+1,2)`, the states that leave each vertex and what they are summed from; or fill them in."""
    size = len(after_kind)
    number, found = np.full(size, -1, np.int64), np.empty(size, np.int64)
    for v in range(first, last):
        sources = 0
        for n in range(start[v], start[v + 1]):
            sources += states[kind[n] + 1] - states[kind[n]]
        # The states' shares of each source, source by source.
        shares = np.zeros((sources, size), np.float32)
        count, entries, source = 0, 0, 0
        for n in range(start[v], start[v + 1]):
            for s in range(states[kind[n]], states[kind[n] + 1]):
                for m in range(member_start[v], member_start[v + 1]):
                    for way in range(to.shape[2]):
                        part = share[s, region[m], way] * share_of[m]
                        if part > 0:
                            t = to[s, region[m], way]
                            if counted[v, after_kind[t]] != after_kind[t]:
                                t = counted[v, after_kind[t]]
                            if number[t] < 0:
                                number[t], found[count] = 0, t
                                count += 1
                            if shares[source, t] == 0:
                                entries += 1
                            shares[source, t] += part
                source += 1
        if fill:
            entry = begin[v, 1]
            for index in range(count):
                t = found[index]
                row_first[begin[v, 0] + index], row_state[begin[v, 0] + index] = entry, t
                source = 0
                for n in range(start[v], start[v + 1]):
                    for s in range(states[kind[n]], states[kind[n] + 1]):
                        if shares[source, t] > 0:
                            column[entry], weight[entry] = n * slots + slot[s], shares[source, t]
                            entry += 1
                        source += 1
        else:
            begin[v, 0], begin[v, 1] = count, entries
        for index in range(count):
            number[found[index]] = -1


@kernel
def lead(first, last, start, column, weight, there, number, begin, fill, lead_column, lead_weight):
    """Count, in `begin (V·B+1)`, the strips that reach each vertex from those it receives from, each of B kinds of
    strips by itself; or fill in the `number (V,B)` of each and its weight. Which are `there (V,B)`. Each count is one
    of AT_ONCE; what is beyond weighs nothing."""
    kinds = there.shape[1]
    entry = np.zeros(kinds, np.int64)
    for v in range(first, last):
        for b in range(kinds):
            entry[b] = begin[v * kinds + b] if fill else 0
        for n in range(start[v], start[v + 1]):
            u = column[n]
            for b in range(kinds):
                if there[u, b]:
                    if fill:
                        lead_column[entry[b]], lead_weight[entry[b]] = number[u, b], weight[n]
                    entry[b] += 1
        if not fill:
            for b in range(kinds):
                begin[v * kinds + b + 1] = -(-entry[b] // AT_ONCE) * AT_ONCE


@loop
def leave(first, last, start, column, weight, lane, before, leaves):
    """What leaves in the strips `leaves (R,STRIP)`, from the light `before`, each part in its lane."""
    for strip in range(first, last):
        for empty in range(STRIP):
            leaves[strip, empty] = 0
        for entry in range(unsigned(start[strip]), unsigned(start[strip + 1])):
            leaves[strip, unsigned(lane[entry])] += weight[entry] * before[unsigned(column[entry])]


@loop
def arrive(first, last, start, column, weight, leaves, place, begin, anew, known):
    """Add to `known (N·slots,)`, from `begin` for each vertex, the light of the strips `leaves (R,STRIP)` that reach
    it, each number at its `place (V,B·STRIP)`; to nothing where it begins `anew`."""
    kinds = place.shape[1] // STRIP
    arrived = np.empty(STRIP, np.float32)
    for v in range(first, last):
        own, end = unsigned(begin[v]), unsigned(begin[v + 1])
        if own == end:
            continue
        if anew:
            known[own:end] = 0
        for b in range(kinds):
            entry, stop = start[v * kinds + b], start[v * kinds + b + 1]
            if entry < stop:
                add_strips(column, weight, leaves, entry, stop, arrived)
                for lane in range(STRIP):
                    known[own + unsigned(place[v, STRIP * b + lane])] += arrived[lane]
