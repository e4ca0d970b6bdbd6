"""Light on bodies laid out for speed: the columns of a lighting filled up with zeros to whole vectors of the processor,
and their tables of colours likewise.

The same sums as in `lighting`. Worth its making, which copies all columns, where one lighting is asked for again and
again, as while a skin is tried out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.matrix import three_dots

_LANES = 32
"""Numbers that a compiled loop takes at once without a rest."""


@dataclass(frozen=True, eq=False)
class Packed:
    """`near (V,C)`: straight and mirrored columns side by side; `far (N,C′)`: bounced ones, a row for each of a
    vertex's senders; float32. `near_way`, `far_way` and `near_basis`, `far_basis` tell each column's way, mirrored
    light's after the straight, and place in all basis spectra; −1 where the column is filling."""

    near: np.ndarray
    near_way: np.ndarray
    near_basis: np.ndarray
    far: np.ndarray
    far_way: np.ndarray
    far_basis: np.ndarray

    @staticmethod
    def of(direct, mirrored, bounced) -> Packed:
        """From the three `Columns` of a lighting."""
        mirrored_way = np.full(len(mirrored.way), direct.way.max(initial=-1) + 1)
        return Packed(
            _filled(np.concatenate([direct.values, mirrored.values], axis=1)),
            _filled(np.concatenate([direct.way, mirrored_way]), -1),
            _filled(np.concatenate([direct.basis, mirrored.basis]), -1),
            _filled(bounced.values),
            _filled(bounced.way, -1),
            _filled(bounced.basis, -1),
        )

    def radiance(self, membership, senders, near_table: np.ndarray, far_table: np.ndarray) -> np.ndarray:
        """XYZ (V,3) float32 of all light together, before the angle that bodies are seen at, by `tables`."""
        radiance = np.empty((len(self.near), 3), np.float32)
        of = membership.start, membership.region, membership.weight, senders.start, senders.region
        over_vertices(_glow, len(radiance), *of, self.near, self.far, near_table, far_table, radiance)
        return radiance

    def tables(self, by_way: np.ndarray, albedo: np.ndarray, matched: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Colours of the columns, (R,3,C), and of the bounced ones, (receiver, sender, 3, C′), float32.

        `by_way (R,W+1,81)`: what each region reflects of each way's light; `albedo (R,81)`; `matched (K,3,81)`: what
        turns the light of each basis spectrum, band by band, into XYZ of a perfectly diffuse body.
        """
        albedo = albedo.astype(np.float32)
        near = np.zeros((len(albedo), 3, self.near.shape[1]), np.float32)
        far = np.zeros((len(albedo), len(albedo), 3, self.far.shape[1]), np.float32)
        ways = np.ascontiguousarray(by_way.transpose(0, 2, 1)[..., self.near_way], np.float32)
        sent = np.cumprod(np.broadcast_to(albedo, (self.far_way.max(initial=0) + 1, *albedo.shape)), axis=0)
        sends = np.ascontiguousarray(sent.transpose(1, 2, 0)[..., self.far_way])
        lights = _light_of(matched, self.near_basis), _light_of(matched, self.far_basis)
        _tabulate(albedo, ways, lights[0], sends, lights[1], near, far)
        return near, far


def _filled(values: np.ndarray, filling: float = 0) -> np.ndarray:
    """Values (..., C) with `filling` behind them to the next multiple of _LANES."""
    size = -(-values.shape[-1] // _LANES) * _LANES
    result = np.full((*values.shape[:-1], size), filling, values.dtype)
    result[..., : values.shape[-1]] = values
    return result


def _light_of(matched: np.ndarray, basis: np.ndarray) -> np.ndarray:
    """(81,3,C) float32 of each column's basis spectrum, zero for filling."""
    chosen = matched[basis] * (basis >= 0)[:, None, None]
    return np.ascontiguousarray(chosen.transpose(2, 1, 0), np.float32)


@kernel
def _tabulate(albedo, ways, near_light, sends, far_light, near, far):
    """Colours `near (R,3,C)` and `far (receiver, sender, 3, C′)` of all columns under each region's body."""
    regions, bands = albedo.shape
    sent = np.empty(far_light.shape, np.float32)
    for s in range(regions):
        for band in range(bands):
            for x in range(3):
                for c in range(sent.shape[2]):
                    sent[band, x, c] = sends[s, band, c] * far_light[band, x, c]
        for r in range(regions):
            for band in range(bands):
                share = albedo[r, band]
                for x in range(3):
                    for c in range(sent.shape[2]):
                        far[r, s, x, c] += share * sent[band, x, c]
    for r in range(regions):
        for band in range(bands):
            for x in range(3):
                for c in range(near.shape[2]):
                    near[r, x, c] += ways[r, band, c] * near_light[band, x, c]


@kernel
def _glow(first, last, start, region, weight, sender_start, sender, near, far, near_table, far_table, radiance):
    for v in range(first, last):
        total_x, total_y, total_z = np.float32(0), np.float32(0), np.float32(0)
        for m in range(start[v], start[v + 1]):
            r, w = region[m], weight[m]
            x, y, z = three_dots(near[v], near_table[r, 0], near_table[r, 1], near_table[r, 2])
            for n in range(sender_start[v], sender_start[v + 1]):
                table = far_table[r, sender[n]]
                a, b, c = three_dots(far[n], table[0], table[1], table[2])
                x, y, z = x + a, y + b, z + c
            total_x, total_y, total_z = total_x + w * x, total_y + w * y, total_z + w * z
        radiance[v, 0], radiance[v, 1], radiance[v, 2] = total_x, total_y, total_z
