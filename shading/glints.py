"""What one vertex mirrors of the light of a patch toward another that looks at it: small bright returns of sheen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.bounce import Exchange
from sitterlight.shading.compiled import loop, over_vertices, unsigned
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.reflected_skin import Looked
from sitterlight.shading.sources import Patch
from sitterlight.shading.surface_kernels import lobe_of, unshadowed
from sitterlight.shading.transfer import Transfer


@dataclass(frozen=True, eq=False)
class Glints:
    """A patch in the HEAD's frame, as the vertices of a head mirror it on, float32.

    `lit (V,)` uint8: which do, those that it reaches and that face it; `mirrors (V,8)`: what a glint asks of each,
    together in memory: way to the middle of the patch, its cosine at the normal, the square of roughness, what Smith's
    shadowing makes of that cosine, strength; `plain (V,K)`: the irradiance weights of the patch itself. It is taken at
    its middle and its width added to the roughness (Karis 2013 widens lobes alike).
    """

    lit: np.ndarray
    mirrors: np.ndarray
    plain: np.ndarray

    @staticmethod
    def of(head: Head, gloss: Gloss, patch: Patch, plain: np.ndarray) -> Glints:
        """The glints of a patch that gives `plain (V,K)`."""
        lit, mirrors = np.empty(len(plain), np.uint8), np.empty((len(plain), 8), np.float32)
        place = patch.points.mean(axis=0).astype(np.float32), patch.distant, np.float32(patch.spread / 2)
        over_vertices(_ready, len(lit), *head.in_single, gloss.roughness, gloss.oil, *place, plain, lit, mirrors)
        return Glints(lit, mirrors, plain)

    def entering(self, transfer: Transfer, between: Exchange) -> np.ndarray:
        """Irradiance weights (V,K) that enter the body of each vertex from all that it looks at."""
        every = np.zeros(0, np.int32)
        return self._gathered(transfer, between, transfer.start, every, between.receive, np.float32(np.pi))

    def seen(self, transfer: Transfer, between: Exchange, looked: Looked) -> np.ndarray:
        """Radiance weights (V,K) that each vertex mirrors once more, toward the eye that `looked`."""
        return self._gathered(transfer, between, looked.start, looked.entry, looked.share, np.float32(1))

    def _gathered(self, transfer, between, start, entry, share, scale) -> np.ndarray:
        gathered = np.zeros(self.plain.shape, np.float32)
        along = transfer.directions.astype(np.float32), transfer.direction, between.paths.sender, between.paths.leaving
        what = self.lit, self.mirrors, self.plain, start, entry, share, scale
        over_vertices(_gather, len(gathered), *along, *what, gathered)
        return gathered


@loop
def _ready(first, last, places, normals, roughness, oil, middle, distant, widening, plain, lit, mirrors):
    one = np.float32(1)
    for v in range(first, last):
        x, y, z = middle[0], middle[1], middle[2]
        if not distant:
            x, y, z = x - places[v, 0], y - places[v, 1], z - places[v, 2]
        over = one / np.sqrt(x * x + y * y + z * z)
        x, y, z = x * over, y * over, z * over
        light = normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z
        square = min(roughness[v] * roughness[v] + widening * widening, one)
        mirrors[v, 0], mirrors[v, 1], mirrors[v, 2], mirrors[v, 3] = x, y, z, light
        mirrors[v, 4], mirrors[v, 5] = square, unshadowed(light, square)
        mirrors[v, 6], mirrors[v, 7] = square * oil[v], np.float32(0)
        reached = False
        for k in range(plain.shape[1]):
            reached = reached or plain[v, k] != 0
        lit[v] = reached and light > 0 and oil[v] > 0


@loop
def _gather(
    first, last, directions, direction, hit, leaving, lit, mirrors, plain, start, entry, share, scale, gathered
):
    """Σ over the blocked directions `entry (n,)` of a vertex, or all if none are named, of `share (n,)` times what is
    mirrored there."""
    # Numbers without a sign spare the loops a look at whether an index counts from the end.
    most, none, all_of_them = len(directions), np.float32(0), len(entry) == 0
    met, part = np.empty((6, most), np.float32), np.empty(most + 1, np.float32)
    which = np.empty(most + 1, np.uint32)
    for v in range(first, last):
        count = 0
        for n in range(unsigned(start[v]), unsigned(start[v + 1])):
            which[count] = n
            count += lit[unsigned(hit[n if all_of_them else unsigned(entry[n])])]
        for n in range(count):
            j = unsigned(which[n])
            # Behind the edge of sight shares run on below nothing: what is mirrored twice doesn't.
            part[n] = scale * max(share[j], none)
            j = j if all_of_them else unsigned(entry[j])
            which[n] = hit[j]
            mirror, d = mirrors[unsigned(which[n])], unsigned(direction[j])
            met[0, n] = -(mirror[0] * directions[d, 0] + mirror[1] * directions[d, 1] + mirror[2] * directions[d, 2])
            met[1, n], met[2, n], met[3, n], met[4, n] = mirror[3], mirror[4], mirror[5], mirror[6]
            met[5, n] = leaving[j]
        for n in range(count):
            mirrored = met[4, n] * lobe_of(met[1, n], met[5, n], met[0, n], met[2, n], met[3, n])
            part[n] *= mirrored if met[5, n] > none else none
        for k in range(plain.shape[1]):
            total = none
            for n in range(count):
                total += part[n] * plain[unsigned(which[n]), k]
            gathered[v, k] = total
