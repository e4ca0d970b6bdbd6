"""The least that a change of skin can cost: columns times tables that are given, the mirrored skin, the blend onto the
display mesh, a 3×3 matrix and the look-up of bytes. No model of skin, no tables made, nothing else looked after.

Three ways of doing it, of which the fastest counts: a loop that takes a vertex through all its columns at once, one
that takes bundles of alike vertices through them side by side, and BLAS with the vertices sorted by region.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy import sparse

from sitterlight.shading.colour_spaces import SRGB_FROM_XYZ
from sitterlight.shading.compiled import brief_loop, kernel_of_short_sums, over_vertices, unsigned
from sitterlight.shading.eye import Eye
from sitterlight.shading.glance import _blended_at, _seen_at
from sitterlight.shading.lighting import _glow
from sitterlight.shading.picture import encode
from sitterlight.shading.staging import Setup, whites_of


class Floor:
    """A setup with its tables ready. `ways` are the candidates, each giving display bytes (D,3)."""

    def __init__(self, setup: Setup, eye: Eye, observer: int = 2):
        self.lighting, self.look = setup.lighting, setup.look
        self.count = len(setup.head.vertices)
        basis = np.concatenate([source.basis for source in setup.sources])
        self.tables = self.lighting._tables(basis, setup.body, observer)
        self.packed = self.lighting.packed(setup.sources)
        self.packed_tables = self.lighting.packed_tables(self.packed, setup.body, observer)
        self.sheen = ((self.look.sheen + self.look.glints) @ whites_of(setup.sources, observer)).astype(np.float32)
        of, senders = setup.stage.membership, setup.stage.exchange.senders
        self.members = of.start, of.region, of.weight
        self.senders = senders.start, senders.region
        self.columns = self.lighting.direct, self.lighting.mirrored, self.lighting.bounced
        blend = setup.head.to_display
        self.blend = blend.indptr, blend.indices, blend.data.astype(np.float32)
        self.to_screen = np.ascontiguousarray(SRGB_FROM_XYZ @ eye.to_screen @ eye.matrix, np.float32)
        self.codes = encode(np.arange(65536) / 65535)
        self.sorted = _Sorted(self)
        self.ways: dict[str, Callable[[], np.ndarray]] = {
            "one loop": self.in_one_loop,
            "bundles": self.in_bundles,
            "BLAS by region": self.in_products,
        }

    def in_one_loop(self) -> np.ndarray:
        """Every vertex with all its columns at once."""
        radiance = np.empty((self.count, 3), np.float32)
        values = [columns.values for columns in self.columns]
        over_vertices(_glow, self.count, *self.members, *self.senders, *values, *self.tables, radiance)
        return self._finish(radiance)

    def in_bundles(self) -> np.ndarray:
        """Alike vertices side by side."""
        return self._finish(self.packed.radiance(*self.packed_tables))

    def in_products(self) -> np.ndarray:
        """With dense products of the vertices of each region, and one sparse product that gathers them."""
        return self._finish(self.sorted.radiance())

    def _finish(self, radiance: np.ndarray) -> np.ndarray:
        skin, look = self.look.skin, self.look
        seen = np.empty_like(radiance)
        rows = skin.start, skin.column, skin.weight
        shown = radiance, look.toward_eye, self.sheen, self.to_screen
        over_vertices(_seen, self.count, *rows, *shown, seen)
        codes = np.empty((len(self.blend[0]) - 1, 3), np.uint8)
        over_vertices(_bytes, len(codes), *self.blend, seen, self.codes, codes)
        return codes


class _Sorted:
    """Columns sorted by region (and by sender), so that each region's part is one dense product."""

    def __init__(self, of: Floor):
        start, region, weight = of.members
        vertex = np.repeat(np.arange(of.count), np.diff(start))
        direct, mirrored, bounced = (columns.values for columns in of.columns)
        sender_start, sender = of.senders
        parts = [
            *_blocks(np.concatenate([direct, mirrored], axis=1)[vertex], region, region, weight, vertex),
        ]
        counts = np.diff(sender_start)[vertex]
        member = np.repeat(np.arange(len(vertex)), counts)
        row = np.arange(len(member)) - np.repeat(np.cumsum(counts) - counts, counts) + sender_start[vertex][member]
        pair = sender[row] * 1000 + region[member]
        parts += _blocks(bounced[row], pair, pair, weight[member], vertex[member])
        self.values = [part[0] for part in parts]
        self.keys = [part[1] for part in parts]
        weights, owners = (np.concatenate([part[index] for part in parts]) for index in (2, 3))
        places = np.arange(len(owners))
        self.gather = sparse.csr_matrix((weights, (owners, places)), (of.count, len(owners)), dtype=np.float32)
        self.near = np.ascontiguousarray(np.concatenate(of.tables[:2], axis=1)[..., :3])
        self.far = np.ascontiguousarray(of.tables[2][..., :3])
        self.first = len(np.unique(region))

    def radiance(self) -> np.ndarray:
        """XYZ (V,3)."""
        parts = []
        for index, (values, key) in enumerate(zip(self.values, self.keys, strict=True)):
            table = self.near[key] if index < self.first else self.far[key // 1000, key % 1000]
            parts.append(values @ table)
        return self.gather @ np.concatenate(parts)


def _blocks(values, key, labels, weight, owner) -> list[tuple]:
    order = np.argsort(key, kind="stable")
    edges = np.flatnonzero(np.diff(labels[order])) + 1
    return [
        (np.ascontiguousarray(values[rows]), int(labels[rows[0]]), weight[rows], owner[rows])
        for rows in np.split(order, edges)
    ]


@brief_loop
def _seen(first, last, start, column, weight, radiance, toward, sheen, matrix, seen):
    for v in range(first, last):
        x, y, z = _seen_at(v, start, column, weight, toward, radiance, sheen)
        for c in range(3):
            seen[v, c] = matrix[c, 0] * x + matrix[c, 1] * y + matrix[c, 2] * z


@brief_loop
def _bytes(first, last, start, source, weight, seen, table, codes):
    for d in range(first, last):
        r, g, b = _blended_at(d, start, source, weight, seen)
        codes[d, 0] = table[_place(r)]
        codes[d, 1] = table[_place(g)]
        codes[d, 2] = table[_place(b)]


@kernel_of_short_sums
def _place(code):
    return unsigned(int(min(max(code, np.float32(0)), np.float32(1)) * 65535 + np.float32(0.5)))
