"""Compiled loops of light on its way through several bounces (later_bounces.py)."""

from __future__ import annotations

import numpy as np

from sitterlight.shading.compiled import kernel, loop, unsigned


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
def sort_rows(first, last, start, column, weight, rank, ranks, sorted_column, sorted_weight):
    to = np.empty(ranks + 1, np.int64)
    for v in range(first, last):
        to[:] = 0
        for entry in range(start[v], start[v + 1]):
            to[rank[column[entry]] + 1] += 1
        to[0] = start[v]
        for index in range(ranks):
            to[index + 1] += to[index]
        for entry in range(start[v], start[v + 1]):
            place = to[rank[column[entry]]]
            sorted_column[place], sorted_weight[place] = column[entry], weight[entry]
            to[rank[column[entry]]] += 1


@loop
def arrive(first, last, start, column, weight, leave_start, state, place, begin, leaves, anew, known):
    """Add to `known (N·slots,K)`, from `begin` for each vertex, the light that `leaves (M,K)` the vertices; to nothing
    where it begins `anew`."""
    for v in range(first, last):
        if begin[v] == begin[v + 1]:
            continue
        own = begin[v]
        if anew:
            known[own : begin[v + 1]] = 0
        for entry in range(unsigned(start[v]), unsigned(start[v + 1])):
            u, w = unsigned(column[entry]), weight[entry]
            for n in range(unsigned(leave_start[u]), unsigned(leave_start[u + unsigned(1)])):
                row = unsigned(own + place[v, unsigned(state[n])])
                for k in range(leaves.shape[1]):
                    known[row, k] += w * leaves[n, k]


@loop
def arrive_alone(first, last, start, column, weight, leave_start, state, place, begin, leaves, anew, known):
    """The same for K = 1."""
    # Two sums by turns: each has the time of the other to be put back.
    most = 0
    for v in range(first, last):
        most = max(most, begin[v + 1] - begin[v])
    even, odd = np.zeros(most, np.float32), np.zeros(most, np.float32)
    for v in range(first, last):
        size = unsigned(begin[v + 1] - begin[v])
        if size == 0:
            continue
        to = place[v]
        for entry in range(unsigned(start[v]), unsigned(start[v + 1])):
            u, w = unsigned(column[entry]), weight[entry]
            n, end = unsigned(leave_start[u]), unsigned(leave_start[u + unsigned(1)])
            while n + unsigned(1) < end:
                even[unsigned(to[unsigned(state[n])])] += w * leaves[n]
                odd[unsigned(to[unsigned(state[n + unsigned(1)])])] += w * leaves[n + unsigned(1)]
                n += unsigned(2)
            if n < end:
                if entry & unsigned(1):
                    even[unsigned(to[unsigned(state[n])])] += w * leaves[n]
                else:
                    odd[unsigned(to[unsigned(state[n])])] += w * leaves[n]
        for x in range(size):
            row = unsigned(begin[v]) + unsigned(x)
            known[row] = even[x] + odd[x] + (np.float32(0) if anew else known[row])
            even[x], odd[x] = 0, 0
