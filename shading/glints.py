"""What one vertex mirrors of the light of a patch toward another that looks at it: small bright returns of sheen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.bounce import Exchange, Paths
from sitterlight.shading.compiled import loop, over_vertices, unsigned
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.memory import Memory
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
        return self._gathered(transfer, between, transfer.start, between.paths.back, between.receive, np.float32(np.pi))

    def seen(self, transfer: Transfer, between: Exchange, looked: Looked) -> np.ndarray:
        """Radiance weights (V,K) that each vertex mirrors once more, toward the eye that `looked`."""
        return self._gathered(transfer, between, looked.start, looked.back, looked.share, np.float32(1))

    def _gathered(self, transfer, between, start, back, share, scale) -> np.ndarray:
        gathered = np.empty(self.plain.shape, np.float32)
        # With what its key is the identity of, so that nothing else can have that identity meanwhile.
        key = id(self), id(between)
        if not LAST_RETURNED.holds(key):
            LAST_RETURNED.forget()  # its memory is near, and will be had again
        known = LAST_RETURNED.of(key, lambda: (self, between, self._returned(transfer, between.paths)))
        over_vertices(_gather, len(gathered), start, back, share, scale, known[-1], gathered)
        return gathered

    def _returned(self, transfer: Transfer, ways: Paths) -> np.ndarray:
        """What each way back shows of the patch, (K,P)."""
        returned = np.empty((self.plain.shape[1], len(ways.sender)), np.float32)
        along = transfer.directions.astype(np.float32), ways.start, ways.direction, ways.leaving
        over_vertices(_return, len(self.lit), *along, self.lit, self.mirrors, self.plain, returned)
        return returned


LAST_RETURNED = Memory(1)
"""What enters bodies is asked for first, and what is seen of the same next."""


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
def _return(first, last, directions, start, direction, leaving, lit, mirrors, plain, returned):
    # Numbers without a sign spare the loops a look at whether an index counts from the end.
    none, basis, apart = np.float32(0), len(returned), np.empty(len(directions), np.float32)
    for u in range(first, last):
        begin, end = unsigned(start[u]), unsigned(start[u + 1])
        if not lit[u]:
            returned[:, start[u] : start[u + 1]] = 0
            continue
        x, y, z, light = mirrors[u, 0], mirrors[u, 1], mirrors[u, 2], mirrors[u, 3]
        square, shadow, strength = mirrors[u, 4], mirrors[u, 5], mirrors[u, 6]
        for n in range(end - begin):
            d = unsigned(direction[begin + n])
            apart[n] = -(x * directions[d, 0] + y * directions[d, 1] + z * directions[d, 2])
        strength *= plain[u, 0] if basis == 1 else np.float32(1)
        for n in range(end - begin):
            out = leaving[begin + n]
            mirrored = strength * lobe_of(light, out, apart[n], square, shadow)
            returned[0, begin + n] = mirrored if out > none else none
        if basis > 1:
            for k in range(basis - 1, -1, -1):
                for n in range(begin, end):
                    returned[k, n] = returned[0, n] * plain[u, k]


@loop
def _gather(first, last, start, back, share, scale, returned, gathered):
    """Σ over what vertices look at of `scale` times its `share (n,)` of what is returned there."""
    none = np.float32(0)
    for v in range(first, last):
        for k in range(len(returned)):
            total = none
            for n in range(unsigned(start[v]), unsigned(start[v + 1])):
                # Behind the edge of sight shares run on below nothing: what is mirrored twice doesn't.
                total += max(share[n], none) * returned[k, unsigned(back[n])]
            gathered[v, k] = scale * total
