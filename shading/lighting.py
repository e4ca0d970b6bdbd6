"""Light on a head's bodies: numbers per vertex, in columns, times small tables of colours.

    XYZ(v) = Σ over the vertex's regions r, weight · Σ over columns c, g_c(v) · ∫ S_c ρ_r … x̄ȳz̄ / π

A column is a source, one of its basis spectra, and the way its light came: straight, spread under the skin by one of
the bank's widths; mirrored by other skin; after bounces, of a known kind (path_kinds.py). The tables are integrated on
all bands of the grid, so no spectral value is approximated; the vertices only weigh them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache, partial

import numpy as np

from sitterlight.illuminants.grid import STEP
from sitterlight.illuminants.observer import KM, colour_matching
from sitterlight.shading.compiled import loop, over_vertices
from sitterlight.shading.geometry import LightField, Stage
from sitterlight.shading.matrix import added, small_product
from sitterlight.shading.memory import Memory
from sitterlight.shading.packed import Packed, matched_spectra
from sitterlight.shading.path_kinds import Kinds
from sitterlight.shading.sources import Source, mixture
from sitterlight.shading.strips import COLOUR, add_colours, add_colours_by


@dataclass(frozen=True, eq=False)
class Body:
    """What the body of each region does with light: `albedo (R,81)`, and `spread (R,W,81)`, the shares of it that
    come out spread by each width that the stage knows; None where nothing spreads."""

    albedo: np.ndarray
    spread: np.ndarray | None = None

    @cached_property
    def key(self) -> tuple[bytes, bytes]:
        """What tells it from other bodies."""
        return self.albedo.tobytes(), b"" if self.spread is None else self.spread.tobytes()

    @property
    def by_width(self) -> np.ndarray:
        """(R,W,81): albedo times share."""
        return self.albedo[:, None] * (1.0 if self.spread is None else self.spread)


@dataclass(frozen=True, eq=False)
class Columns:
    """Numbers per row, (rows,C) float32 with C = Σ over sources of ways × basis spectra; those of source s lie from
    `edges[s]` to `edges[s + 1]`. `way (C,)` and `basis (C,)` tell each column's way and place in all basis spectra."""

    values: np.ndarray
    edges: np.ndarray
    way: np.ndarray
    basis: np.ndarray

    @staticmethod
    def beside(parts: list[np.ndarray], counts: list[int]) -> Columns:
        """The columns (rows, ways·K) of sources with K = `counts` basis spectra, ways first, side by side."""
        edges, way, basis = _layout(tuple(part.shape[1] for part in parts), tuple(counts))
        values = parts[0] if len(parts) == 1 else np.concatenate(parts, axis=1)
        return Columns(np.ascontiguousarray(values), edges, way, basis)


@lru_cache(maxsize=64)
def _layout(widths: tuple[int, ...], counts: tuple[int, ...]) -> tuple[np.ndarray, ...]:
    """Edges, ways and bases of columns of these `widths`, from sources of so many basis spectra."""
    first = np.concatenate([[0], np.cumsum(counts)])
    pairs = list(zip(widths, counts, strict=True))
    way = np.concatenate([np.arange(width) // count for width, count in pairs])
    basis = np.concatenate([first[s] + np.arange(width) % count for s, (width, count) in enumerate(pairs)])
    edges = np.concatenate([[0], np.cumsum(widths)]).astype(np.int64)
    for each in (edges, way, basis):
        each.setflags(write=False)
    return edges, way, basis


class Lighting:
    """All sources on one stage. Radiance is that of the bodies before the angle they are seen at, cd/m²."""

    def __init__(self, stage: Stage, fields: list[LightField], counts: list[int]):
        self.stage, self.fields, self._counts = stage, fields, counts
        self._asked_with: bytes | None = None
        self._packed: tuple[bytes, Packed] | None = None

    @cached_property
    def direct(self) -> Columns:
        """What entered straight."""
        return Columns.beside([field.direct for field in self.fields], self._counts)

    @cached_property
    def mirrored(self) -> Columns:
        """What entered by way of other skin's sheen."""
        return Columns.beside([field.mirrored for field in self.fields], self._counts)

    @cached_property
    def bounced(self) -> Columns:
        """What entered after bounces, a row for each of the stage's senders."""
        return Columns.beside([field.bounced for field in self.fields], self._counts)

    def radiance(self, sources: tuple[Source, ...], body: Body, observer: int) -> np.ndarray:
        """XYZ (V,3) of all light together, from sources that lie where the fields say."""
        spectra = _basis(sources).tobytes()
        if spectra == self._asked_with:
            packed = self.packed(sources)
            return packed.radiance(*self.packed_tables(packed, body, observer))
        self._asked_with = spectra
        if len(sources) == 1:
            return self._glow(sources[0].basis, body, observer)
        # Where one light of many has moved, the others' is known, and what the ground returns of them but for amounts.
        parts = []
        for source, field in zip(sources, self.fields, strict=True):
            alone = Lighting(self.stage, [field], [len(source.basis)])
            for amount, basis in mixture(source):
                key = observer, *body.key, basis.tobytes()
                parts.append((amount, field.glow.of(key, partial(alone._glow, basis, body, observer))))
        return added(parts)

    def _glow(self, basis: np.ndarray, body: Body, observer: int) -> np.ndarray:
        """XYZ (V,3) of all light together, of a `basis (ΣK,81)`, from columns that are not packed."""
        of, senders = self.stage.membership, self.stage.exchange.senders
        radiance = np.empty((len(self.stage.head.vertices), 3), np.float32)
        ends = of.start, of.region, of.weight, senders.start, senders.region
        values = self.direct.values, self.mirrored.values, self.bounced.values
        over_vertices(_glow, len(radiance), *ends, *values, *self._tables(basis, body, observer), radiance)
        return radiance

    def packed(self, sources: tuple[Source, ...]) -> Packed:
        """The columns laid out for speed, remembered while the lights keep their spectra."""
        basis = _basis(sources)
        key, known = basis.tobytes(), self._packed
        if known is None or known[0] != key:
            columns = self.direct, self.mirrored, self.bounced
            self._packed = known = key, Packed.of(self.stage.bundles, *columns, basis)
        return known[1]

    def packed_tables(self, packed: Packed, body: Body, observer: int) -> tuple[np.ndarray, np.ndarray]:
        """The colours of the packed columns."""
        by_way = np.concatenate([body.by_width, body.albedo[:, None]], axis=1, dtype=np.float32)
        albedo = body.albedo.astype(np.float32)
        sent = self.stage.exchange.bounces.kinds.sent(albedo)
        return packed.tables(by_way, albedo, sent, observer)

    def radiance_apart(self, sources: tuple[Source, ...], body: Body, observer: int) -> tuple[np.ndarray, np.ndarray]:
        """XYZ (S,V,3) of each source's light that came straight, and of its light by way of other skin."""
        straight, indirect = np.zeros((2, len(sources), len(self.stage.head.vertices), 3), np.float32)
        direct, mirrored, bounced = self._tables(_basis(sources), body, observer)
        self._add(self.direct, direct, straight)
        self._add(self.mirrored, mirrored, indirect)
        self._add_bounced(bounced, indirect)
        return straight, indirect

    def bounced_lux(self, sources: tuple[Source, ...], albedo: np.ndarray) -> np.ndarray:
        """Lux (V,) that entered the bodies after one bounce or more, and by way of other skin's sheen."""
        luminance = np.concatenate([source.luminance_of_basis for source in sources])
        columns, senders = self.bounced, self.stage.exchange.senders
        sent = self.stage.exchange.bounces.kinds.sent(albedo)
        lux = _luminous(_basis(sources) * sent[:, :, None])
        each = (columns.values * lux[:, columns.way, columns.basis][senders.region]).sum(axis=1)
        total = np.concatenate([[0.0], np.cumsum(each, dtype=float)])
        return self.mirrored.values @ luminance[self.mirrored.basis] + np.diff(total[senders.start])

    def _tables(self, basis: np.ndarray, body: Body, observer: int) -> tuple[np.ndarray, ...]:
        """Colours of the direct and mirrored columns, (R,C,COLOUR), and of the bounced, (kind,R,C,COLOUR): remembered,
        since a light that moves keeps its own."""
        kinds = self.stage.exchange.bounces.kinds
        widths = (columns.values.shape[1] for columns in (self.direct, self.mirrored, self.bounced))
        key = id(kinds), *self._counts, *widths, observer, *body.key, basis.tobytes()
        # With what its key is the identity of, so that nothing else can have that identity meanwhile.
        return _known_tables.of(key, lambda: (kinds, self._colours(kinds, basis, body, observer)))[1]

    def _colours(self, kinds: Kinds, basis: np.ndarray, body: Body, observer: int) -> tuple[np.ndarray, ...]:
        matched = matched_spectra(basis, observer).astype(np.float32)
        albedo = body.albedo.astype(np.float32)
        sent = kinds.sent(albedo)
        # Each receiver's albedo goes with the spectra: of those there are fewer than of what is left of all kinds.
        by_receiver = (albedo.T[:, :, None, None] * matched[:, None]).reshape(len(matched), -1, 3)
        back = _every(sent, by_receiver).reshape(*sent.shape[:2], len(albedo), *matched.shape[1:])
        return (
            _table(self.direct, body.by_width, matched),
            _table(self.mirrored, albedo[:, None], matched),
            _as_colours(back.swapaxes(1, 2)[:, :, self.bounced.way, self.bounced.basis]),
        )

    def _add(self, columns: Columns, table: np.ndarray, total: np.ndarray) -> None:
        of = self.stage.membership
        regions = of.start, of.region, of.weight
        over_vertices(_shine, total.shape[1], *regions, columns.values, columns.edges, table, total)

    def _add_bounced(self, table: np.ndarray, total: np.ndarray) -> None:
        of, senders, columns = self.stage.membership, self.stage.exchange.senders, self.bounced
        ends = of.start, of.region, of.weight, senders.start, senders.region
        over_vertices(_shine_back, total.shape[1], *ends, columns.values, columns.edges, table, total)


_known_tables = Memory(16)


def _table(columns: Columns, reflected: np.ndarray, matched: np.ndarray) -> np.ndarray:
    """XYZ (..., C, COLOUR) of each column under a diffuse body that returns `reflected (..., ways, 81)`."""
    return _as_colours(_every(reflected, matched)[..., columns.way, columns.basis, :])


def _as_colours(XYZ: np.ndarray) -> np.ndarray:
    """XYZ (..., 3) as colours (..., COLOUR) float32 of a table."""
    colours = np.zeros((*XYZ.shape[:-1], COLOUR), np.float32)
    colours[..., :3] = XYZ
    return colours


def _every(reflected: np.ndarray, matched: np.ndarray) -> np.ndarray:
    """Σ over the bands of what is `reflected (..., 81)` of each of the spectra `matched (81,K,3)`: (..., K, 3)."""
    bands = len(matched)
    every = small_product(reflected.reshape(-1, bands), matched.reshape(bands, -1))
    return every.reshape(*reflected.shape[:-1], -1, 3)


def _basis(sources: tuple[Source, ...]) -> np.ndarray:
    """The basis spectra of all sources, (ΣK,81)."""
    return np.concatenate([source.basis for source in sources])


def _luminous(spectra: np.ndarray) -> np.ndarray:
    return spectra @ (colour_matching(2)[:, 1] * KM * STEP)


@loop
def _glow(
    first, last, start, region, weight, sender_start, sender, direct, mirrored, bounced, near, aside, back, radiance
):
    for v in range(first, last):
        total_x, total_y, total_z = np.float32(0), np.float32(0), np.float32(0)
        for m in range(start[v], start[v + 1]):
            r, w = region[m], weight[m]
            x, y, z = add_colours(direct[v], near[r])
            a, b, c = add_colours(mirrored[v], aside[r])
            x, y, z = x + a, y + b, z + c
            a, b, c = add_colours_by(bounced, sender_start[v], sender_start[v + 1], sender, back, r)
            x, y, z = x + a, y + b, z + c
            total_x, total_y, total_z = total_x + w * x, total_y + w * y, total_z + w * z
        radiance[v, 0], radiance[v, 1], radiance[v, 2] = total_x, total_y, total_z


@loop
def _shine(first, last, start, region, weight, values, edges, table, total):
    for v in range(first, last):
        for m in range(start[v], start[v + 1]):
            r, w = region[m], weight[m]
            for s in range(len(edges) - 1):
                a, b = edges[s], edges[s + 1]
                x, y, z = add_colours(values[v, a:b], table[r, a:b])
                total[s, v, 0] += w * x
                total[s, v, 1] += w * y
                total[s, v, 2] += w * z


@loop
def _shine_back(first, last, start, region, weight, sender_start, sender, values, edges, table, total):
    for v in range(first, last):
        for m in range(start[v], start[v + 1]):
            r, w = region[m], weight[m]
            for s in range(len(edges) - 1):
                a, b = edges[s], edges[s + 1]
                for n in range(sender_start[v], sender_start[v + 1]):
                    u = sender[n]
                    x, y, z = add_colours(values[n, a:b], table[u, r, a:b])
                    total[s, v, 0] += w * x
                    total[s, v, 1] += w * y
                    total[s, v, 2] += w * z
