"""Light on bodies laid out for speed: the columns of a lighting with bundles of vertices side by side, and the colours
of the columns likewise.

The same sums as in `lighting`, of as few spectra as there are. Worth its making, which copies all columns, where one
lighting is asked for again and again, as while a skin is tried out.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from sitterlight.illuminants.grid import STEP
from sitterlight.illuminants.observer import KM, colour_matching
from sitterlight.shading.bundles import LANES, Bundles, laid_out
from sitterlight.shading.common_spectra import common_spectra
from sitterlight.shading.compiled import brief_loop, kernel, over_vertices, unsigned
from sitterlight.shading.matrix import small_product

_TOGETHER = 3
"""Columns that a compiled loop adds up at once."""


@dataclass(frozen=True, eq=False)
class Packed:
    """`near (B,C,LANES)`: light that came straight and, as one way more, mirrored; `far (…,C′,LANES)`: bounced light,
    for each of a bundle's senders, after 1 … `bounces`; float32. Columns are ways × `spectra (E,81)`, filled up with
    zeros."""

    bundles: Bundles
    spectra: np.ndarray
    near: np.ndarray
    far: np.ndarray
    bounces: int
    _matched: dict[int, np.ndarray] = field(default_factory=dict)

    @staticmethod
    def of(bundles: Bundles, direct, mirrored, bounced, basis: np.ndarray) -> Packed:
        """From the three `Columns` of a lighting whose sources have these `basis` spectra (K,81)."""
        spectra, shares = common_spectra(basis)
        straight, aside, back = (_by_spectra(columns, shares) for columns in (direct, mirrored, bounced))
        near = _filled(np.concatenate([straight, aside], axis=1))
        return Packed(
            bundles,
            spectra,
            laid_out(near, bundles.place, len(bundles)),
            laid_out(_filled(back), bundles.sender_place, len(bundles.sender)),
            1 + int(bounced.way.max(initial=-1)),
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
        self, by_way: np.ndarray, albedo: np.ndarray, sent: np.ndarray, observer: int
    ) -> tuple[np.ndarray, np.ndarray]:
        """Colours of the columns under each region, (R,C,3), and of the bounced ones for each pair of a
        region and a kind of light that occurs, (P,C′,3), float32.

        `by_way (R,W+1,81)`: what each region reflects of each way's light; `albedo (R,81)`; `sent (Q,n,81)`: what
        is left of each kind's light on its way, of which what is given roughly may have fewer bounces.
        """
        matched = self._matched_for(observer)
        albedo, sent = np.asarray(albedo, np.float32), np.asarray(sent[:, : self.bounces], np.float32)
        receiver, sender = self.bundles.pairs
        back = np.empty((len(receiver), *sent.shape[1:]), np.float32)
        _send_back(0, len(back), receiver, sender, albedo, sent, back)  # over before another core would have begun
        return _tabulated(by_way, matched), _tabulated(back, matched)

    def _matched_for(self, observer: int) -> np.ndarray:
        """matched_spectra of these spectra, float32."""
        known = self._matched.get(observer)
        if known is None:
            known = self._matched[observer] = matched_spectra(self.spectra, observer).astype(np.float32)
        return known


def matched_spectra(spectra: np.ndarray, observer: int) -> np.ndarray:
    """What turns light of each of `spectra (K,81)`, band by band, into XYZ of a perfectly diffuse body, (81,K,3)."""
    return (spectra[:, :, None] * _matching(observer)).transpose(1, 0, 2)


@lru_cache(maxsize=2)
def _matching(observer: int) -> np.ndarray:
    """What turns irradiance spectra into XYZ (cd/m²) of a perfectly diffuse body, (81,3)."""
    return colour_matching(observer) * (KM * STEP / np.pi)


def _by_spectra(columns, shares: np.ndarray) -> np.ndarray:
    """Columns (rows, ways·E) of the common spectra, from those of every source's own."""
    ways, count = 1 + columns.way.max(initial=-1), shares.shape[1]
    turned = np.zeros((columns.values.shape[1], ways, count), np.float32)
    turned[np.arange(len(turned)), columns.way] = shares[columns.basis]
    return small_product(columns.values, turned.reshape(len(turned), -1))


def _tabulated(reflected: np.ndarray, matched: np.ndarray) -> np.ndarray:
    """XYZ (n, C, 3) float32 of columns under bodies that return `reflected (n,ways,81)`."""
    rows, ways, bands = reflected.shape
    every = small_product(reflected.reshape(-1, bands), matched.reshape(bands, -1))
    return _filled(every.reshape(rows, ways * matched.shape[1], 3))


def _filled(values: np.ndarray) -> np.ndarray:
    """Values (n,C,…) with zeros behind the columns, to the next multiple of _TOGETHER."""
    count = values.shape[1]
    if count == _filled_up(count):
        return np.ascontiguousarray(values, np.float32)
    filled = np.zeros((len(values), _filled_up(count), *values.shape[2:]), np.float32)
    filled[:, :count] = values
    return filled


def _filled_up(count: int) -> int:
    return -(-count // _TOGETHER) * _TOGETHER


@kernel
def _send_back(first, last, receiver, sender, albedo, sent, back):
    """What is returned (P,n,81) of the light of each pair of a region and a kind of light."""
    for p in range(first, last):
        body, light = albedo[receiver[p]], sent[sender[p]]
        for n in range(len(light)):
            for band in range(len(body)):
                back[p, n, band] = body[band] * light[n, band]


@brief_loop
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
