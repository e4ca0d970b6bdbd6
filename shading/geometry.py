"""The geometry of light on a head: numbers per vertex that no spectrum changes.

Everything here is a pure function of the head, its gloss, the place of a light and the place of the eye, and is
remembered by them. A change of skin colour or of a light's spectrum asks for nothing of it again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading import bounce, sheen
from sitterlight.shading.irradiance import (
    Arriving,
    Gloss,
    caster_of,
    from_dome,
    from_patch,
    in_head_frame,
    patch_visibility,
    unshadowed,
)
from sitterlight.shading.memory import Memory
from sitterlight.shading.sources import Dome, Patch, Source
from sitterlight.shading.transfer import Transfer, ray_origins, transfer, unoccluded_transfer


@dataclass(frozen=True, eq=False)
class LightField:
    """One source on one head. `arriving` straight; `bounced` by way of skin; `mirrored (B,K)` radiance that each hit
    of the transfer mirrors back toward the vertex that looks at it."""

    arriving: Arriving
    bounced: bounce.Bounced
    mirrored: np.ndarray


class Stage:
    """A head with a gloss, ready to be lit: the transfer and what follows from it alone.

    With `occlusion` off nothing blocks anything, there are no shadows and no bounces: a first picture at once.
    """

    def __init__(
        self,
        head: Head,
        roughness: np.ndarray,
        oil: np.ndarray,
        rotation: np.ndarray,
        occlusion: bool = True,
        progress: Callable[[float], None] | None = None,
        bounces: int = bounce.BOUNCES,
    ):
        self.head, self.rotation, self.occlusion, self.bounces = head, rotation, occlusion, bounces
        self.transfer = _transfer_of(head, occlusion, progress)
        surface = (head.key, occlusion, roughness.tobytes(), oil.tobytes())
        self.gloss = _glosses.of(surface, lambda: Gloss.of(head.region_weights @ roughness, head.region_weights @ oil))
        self.exchange = _exchanges.of(surface, lambda: bounce.exchange(head, self.transfer, self.gloss))
        self._key = surface

    def light_field(self, source: Source) -> LightField:
        """The field of a source given in the room frame."""
        placed = self._placed(source)
        return _fields.of((*self._key, self.bounces, _place_key(placed)), lambda: self._light_field(placed))

    def sees(self, eye: np.ndarray) -> np.ndarray:
        """Which vertices the `eye (3,)` mm, in the head's frame, sees, (V,) bool."""
        key = (self.head.key, self.occlusion, np.asarray(eye).tobytes())
        return _sights.of(key, lambda: _sight(self.head, eye, self.occlusion))

    def sheen(self, source: Source, eye: np.ndarray) -> np.ndarray:
        """Sheen radiance weights (V,K) of a source toward the `eye (3,)` mm in the head's frame."""
        placed = self._placed(source)
        key = (*self._key, _place_key(placed), np.asarray(eye).tobytes())
        return _sheens.of(key, lambda: self._sheen(placed, eye)[0])

    def mirrored_colours(self, sources: tuple[Source, ...], colours: list[np.ndarray]) -> np.ndarray:
        """What each hit mirrors of all sources back toward the vertex that looks at it, (B,3) float32, each
        source's basis spectra having `colours (K,3)`."""
        places = tuple(_place_key(self._placed(source)) for source in sources)
        key = (*self._key, places, tuple(colour.tobytes() for colour in colours))
        return _mirrored.of(key, lambda: self._mirrored_colours(sources, colours))

    def _mirrored_colours(self, sources: tuple[Source, ...], colours: list[np.ndarray]) -> np.ndarray:
        total = np.zeros((len(self.transfer.hit), 3), np.float32)
        for source, colour in zip(sources, colours, strict=True):
            total += self.light_field(source).mirrored @ colour
        return total

    def _placed(self, source: Source) -> np.ndarray | Patch:
        if isinstance(source, Dome):
            return source.cells(round(np.sqrt(len(self.transfer.directions) / 12)), self.rotation)
        return in_head_frame(source, self.rotation)

    def _visible(self, patch: Patch) -> np.ndarray:
        return patch_visibility(self.head, patch) if self.occlusion else unshadowed(self.head, patch)

    def _light_field(self, placed: np.ndarray | Patch) -> LightField:
        if isinstance(placed, Patch):
            arriving = from_patch(self.head, self.gloss, placed, self._visible(placed))
            mirrored = sheen.glints(self.head, self.transfer, self.gloss, placed, arriving.plain)
        else:
            arriving = from_dome(self.head, self.transfer, self.gloss, placed)
            mirrored = bounce.mirrored_light(self.transfer, self.exchange, placed)
        bounced = bounce.bounced(self.head, self.transfer, self.exchange, arriving.entered, mirrored, self.bounces)
        return LightField(arriving, bounced, mirrored)

    def _sheen(self, placed: np.ndarray | Patch, eye: np.ndarray) -> tuple[np.ndarray, np.ndarray | None]:
        sees = self.sees(eye)
        if isinstance(placed, Patch):
            visible = self._visible(placed)
            return sheen.mirrored_patch(self.head, self.gloss, eye, sees, placed, visible), None
        return sheen.mirrored_dome(self.head, self.transfer, self.gloss, eye, sees, placed)

    def blocked_share(self, eye: np.ndarray) -> np.ndarray:
        """Each blocked direction's share (B,) in what its vertex mirrors toward the eye."""
        dark = np.zeros((len(self.transfer.directions), 1), np.float32)
        key = (*self._key, np.asarray(eye).tobytes())
        return _shares.of(key, lambda: self._sheen(dark, eye)[1])


_transfers, _glosses, _exchanges = Memory(4), Memory(8), Memory(4)
_fields, _mirrored = Memory(10), Memory(4)
_sights, _sheens, _shares = Memory(32), Memory(24), Memory(4)


def _transfer_of(head: Head, occlusion: bool, progress: Callable[[float], None] | None) -> Transfer:
    if not occlusion:
        return _transfers.of((head.key, False), lambda: unoccluded_transfer(head))
    return _transfers.of((head.key, True), lambda: transfer(head, progress=progress))


def transfer_is_known(head: Head) -> bool:
    """Whether a transfer of this head is in memory or on disk, so that no ray need be cast."""
    from sitterlight.shading.transfer import is_remembered

    return is_remembered(head)


def _place_key(placed: np.ndarray | Patch) -> bytes:
    digest = hashlib.blake2b(digest_size=16)
    if isinstance(placed, Patch):
        for array in (placed.points, placed.weights, placed.facing):
            digest.update(b"none" if array is None else np.ascontiguousarray(array).tobytes())
        digest.update(bytes([placed.distant]))
    else:
        digest.update(placed.tobytes())
    return digest.digest()


def _sight(head: Head, eye: np.ndarray, occlusion: bool) -> np.ndarray:
    toward = eye - head.vertices
    sees = (head.normals * toward).sum(axis=1) > 0
    if occlusion:
        facing = np.flatnonzero(sees)
        origins = ray_origins(head)[facing]
        sees[facing] = caster_of(head).reaches(origins, np.broadcast_to(eye, origins.shape))
    return sees
