"""Light on bodies laid out for speed: the columns of a lighting with bundles of vertices side by side, and the colours
of the columns likewise.

The same sums as in `lighting`. Worth its making, which copies all columns, where one lighting is asked for again and
again, as while a skin is tried out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.shading.bundles import LANES, Bundles, laid_out
from sitterlight.shading.compiled import kernel, over_vertices, unsigned
from sitterlight.shading.matrix import small_product

_TOGETHER = 3
"""Columns that a compiled loop adds up at once."""


@dataclass(frozen=True, eq=False)
class Packed:
    """`near (B,C,LANES)`: straight and mirrored columns; `far (…,C′,LANES)`: bounced ones, for each of a bundle's
    senders; float32, filled up with zeros. `near_way`, `far_way` and `near_basis`, `far_basis` tell each column's way,
    mirrored light's after the straight, and place in all basis spectra; −1 where the column is filling."""

    bundles: Bundles
    near: np.ndarray
    near_way: np.ndarray
    near_basis: np.ndarray
    far: np.ndarray
    far_way: np.ndarray
    far_basis: np.ndarray

    @staticmethod
    def of(bundles: Bundles, direct, mirrored, bounced) -> Packed:
        """From the three `Columns` of a lighting."""
        mirrored_way = np.full(len(mirrored.way), direct.way.max(initial=-1) + 1)
        near = _filled(np.concatenate([direct.values, mirrored.values], axis=1))
        return Packed(
            bundles,
            laid_out(near, bundles.place, len(bundles)),
            _filled(np.concatenate([direct.way, mirrored_way]), -1),
            _filled(np.concatenate([direct.basis, mirrored.basis]), -1),
            laid_out(_filled(bounced.values), bundles.sender_place, len(bundles.sender)),
            _filled(bounced.way, -1),
            _filled(bounced.basis, -1),
        )

    def radiance(self, near_table: np.ndarray, far_table: np.ndarray) -> np.ndarray:
        """XYZ (V,3) float32 of all light together, before the angle that bodies are seen at, by `tables`."""
        own = self.bundles
        radiance = np.empty((len(own.place), 3), np.float32)
        ends = own.start, own.region, own.weight, own.sender_start, own.sender, own.pair
        columns = self.near.ravel(), near_table, self.far.ravel(), far_table
        over_vertices(_glow, len(own), *ends, *columns, own.vertex, radiance, each=LANES)
        return radiance

    def tables(
        self, by_way: np.ndarray, albedo: np.ndarray, sent: np.ndarray, matched: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Colours of the columns under each region, (R,C,3), and of the bounced ones for each pair of a
        region and a kind of light that occurs, (P,C′,3), float32.

        `by_way (R,W+1,81)`: what each region reflects of each way's light; `albedo (R,81)`; `sent (Q,n,81)`: what
        is left of each kind's light on its way; `matched (81,K,3)` as in `tabulated`.
        """
        receiver, sender = np.nonzero(self.bundles.pair >= 0)
        albedo, sent = albedo.astype(np.float32), sent.astype(np.float32)
        return (
            tabulated(by_way, self.near_way, self.near_basis, matched),
            tabulated(albedo[receiver, None] * sent[sender], self.far_way, self.far_basis, matched),
        )


def tabulated(reflected: np.ndarray, way: np.ndarray, basis: np.ndarray, matched: np.ndarray) -> np.ndarray:
    """XYZ (…,C,3) float32 of columns under bodies that return `reflected (…,ways,81)`, zero where a basis is −1.

    `matched (81,K,3)`: what turns the light of each basis spectrum, band by band, into XYZ of a perfectly diffuse body.
    """
    bands = matched.shape[0]
    every = small_product(reflected.reshape(-1, bands), matched.reshape(bands, -1))
    every = every.reshape(*reflected.shape[:-1], *matched.shape[1:])
    return (every[..., way, basis, :] * (basis >= 0)[:, None]).astype(np.float32)


def _filled(values: np.ndarray, filling: float = 0) -> np.ndarray:
    """Values (..., C) with `filling` behind them to the next multiple of _TOGETHER."""
    size = -(-values.shape[-1] // _TOGETHER) * _TOGETHER
    result = np.full((*values.shape[:-1], size), filling, values.dtype)
    result[..., : values.shape[-1]] = values
    return result


@kernel
def _glow(
    first, last, start, region, weight, sender_start, sender, pair, near, near_table, far, far_table, vertex, radiance
):
    lanes, twice = unsigned(LANES), unsigned(2 * LANES)
    under, total = np.empty(3 * LANES, np.float32), np.empty(3 * LANES, np.float32)
    near_size, far_size = near_table.shape[1] * LANES, far_table.shape[1] * LANES
    for b in range(first, last):
        total[:] = 0
        for m in range(start[b], start[b + 1]):
            under[:] = 0
            _add(near, b * near_size, near_table[region[m]], under)
            for n in range(sender_start[b], sender_start[b + 1]):
                _add(far, n * far_size, far_table[pair[region[m], sender[n]]], under)
            for lane in range(LANES):
                x = unsigned(lane)
                share = weight[m, x]
                total[x] += share * under[x]
                total[lanes + x] += share * under[lanes + x]
                total[twice + x] += share * under[twice + x]
        for lane in range(LANES):
            v = vertex[b, lane]
            if v >= 0:
                for colour in range(3):
                    radiance[v, colour] = total[colour * LANES + lane]


@kernel
def _add(values, begin, table, total):
    """Add to `total` (3·LANES), x before y before z, the columns from `begin` in `values` times a `table (C,3)`."""
    lanes, twice = unsigned(LANES), unsigned(2 * LANES)
    for c in range(0, len(table), _TOGETHER):
        ax, ay, az = table[c, 0], table[c, 1], table[c, 2]
        bx, by, bz = table[c + 1, 0], table[c + 1, 1], table[c + 1, 2]
        cx, cy, cz = table[c + 2, 0], table[c + 2, 1], table[c + 2, 2]
        here = unsigned(begin) + unsigned(c) * lanes
        for lane in range(LANES):
            x = unsigned(lane)
            p, q, r = values[here + x], values[here + lanes + x], values[here + twice + x]
            total[x] += p * ax + q * bx + r * cx
            total[lanes + x] += p * ay + q * by + r * cy
            total[twice + x] += p * az + q * bz + r * cz
