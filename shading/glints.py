"""What one vertex mirrors of the light of a patch toward another that looks at it: small bright returns of sheen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.bounce import Exchange
from sitterlight.shading.compiled import kernel, loop, over_vertices, unsigned
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.lookers import new_sums, part_of, summed
from sitterlight.shading.memory import Last
from sitterlight.shading.paths import Paths
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
    its middle and its width added to the roughness (Karis 2013 widens lobes alike). All that is asked of one is asked
    with the same transfer and exchange.
    """

    lit: np.ndarray
    mirrors: np.ndarray
    plain: np.ndarray

    @staticmethod
    def of(head: Head, gloss: Gloss, patch: Patch, plain: np.ndarray) -> Glints:
        """The glints of a patch that gives `plain (V,K)`."""
        lit, mirrors = np.empty(len(plain), np.uint8), np.empty((len(plain), 8), np.float32)
        place = patch.middle.astype(np.float32), patch.distant, np.float32(patch.spread / 2)
        over_vertices(_ready, len(lit), *head.in_single, gloss.roughness, gloss.oil, *place, plain, lit, mirrors)
        return Glints(lit, mirrors, plain)

    def entering(self, transfer: Transfer, between: Exchange) -> np.ndarray:
        """Irradiance weights (V,K) that enter the body of each vertex from all that it looks at."""
        LAST_RETURNED.forget()  # its memory is near, and will be had again
        about, returned = self._shown_along(transfer, between.paths)
        to, dealt = between.lookers, new_sums(*self.plain.shape)
        who = to.start, to.looker, to.way, to.share
        over_vertices(_deal, len(dealt), *who, *about, returned, dealt, each=len(self.lit) // len(dealt))
        LAST_RETURNED.of(self, lambda: returned)
        return summed(dealt, np.pi)

    def seen(self, transfer: Transfer, between: Exchange, looked: Looked) -> np.ndarray:
        """Radiance weights (V,K) that each vertex mirrors once more, toward the eye that `looked`."""

        def returned() -> np.ndarray:
            about, shown = self._shown_along(transfer, between.paths)
            over_vertices(_return, len(self.lit), *about, shown)
            return shown

        shown, gathered = LAST_RETURNED.of(self, returned), np.empty_like(self.plain)
        over_vertices(_gather, len(gathered), looked.start, looked.back, looked.share, shown, gathered)
        return gathered

    def _shown_along(self, transfer: Transfer, ways: Paths) -> tuple[tuple, np.ndarray]:
        """What decides what each way back shows of the patch, and room for it, (K,P)."""
        along = transfer.directions.astype(np.float32), ways.start, ways.direction, ways.leaving
        shown = np.empty((self.plain.shape[1], len(ways.sender)), np.float32)
        return (*along, self.lit, self.mirrors, self.plain), shown


LAST_RETURNED = Last()
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
def _deal(
    first,
    last,
    start,
    looker,
    way,
    share,
    directions,
    first_way,
    direction,
    leaving,
    lit,
    mirrors,
    plain,
    returned,
    dealt,
):
    apart = np.empty(len(directions), np.float32)
    for part in range(first, last):
        own = dealt[part]
        own[:] = 0
        for u in range(*part_of(len(lit), part, len(dealt))):
            if not lit[u]:
                returned[:, first_way[u] : first_way[u + 1]] = 0
                continue
            _show(u, directions, first_way, direction, leaving, mirrors, plain, returned, apart)
            begin, end, way_of_u = unsigned(start[u]), unsigned(start[u + 1]), unsigned(first_way[u])
            for k in range(len(returned)):
                for n in range(begin, end):
                    own[unsigned(looker[n]), k] += share[n] * returned[k, way_of_u + unsigned(way[n])]


@loop
def _return(first, last, directions, start, direction, leaving, lit, mirrors, plain, returned):
    apart = np.empty(len(directions), np.float32)
    for u in range(first, last):
        if lit[u]:
            _show(u, directions, start, direction, leaving, mirrors, plain, returned, apart)
        else:
            returned[:, start[u] : start[u + 1]] = 0


@kernel
def _show(u, directions, start, direction, leaving, mirrors, plain, returned, apart):
    """What each way back of a lit vertex shows of the patch, into `returned (K,P)`."""
    # Numbers without a sign spare the loops a look at whether an index counts from the end.
    none, basis = np.float32(0), len(returned)
    begin, end = unsigned(start[u]), unsigned(start[u + 1])
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
def _gather(first, last, start, back, share, returned, gathered):
    """Σ over what vertices look at of its `share (n,)` of what is returned there."""
    none = np.float32(0)
    for v in range(first, last):
        for k in range(len(returned)):
            total = none
            for n in range(unsigned(start[v]), unsigned(start[v + 1])):
                # Behind the edge of sight shares run on below nothing: what is mirrored twice doesn't.
                total += max(share[n], none) * returned[k, unsigned(back[n])]
            gathered[v, k] = total
