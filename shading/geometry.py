"""The geometry of light on a head: numbers per vertex that no spectrum changes.

Everything here is a pure function of the head, its gloss, the place of a light and the place of the eye, and is
remembered by them. A change of skin colour, or of a light's strength or spectrum, asks for nothing of it again.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading import bounce, irradiance, placing, sheen
from sitterlight.shading.bundles import Bundles
from sitterlight.shading.compiled import make_ready
from sitterlight.shading.diffusion_bank import Bank, bank_of
from sitterlight.shading.dragged_gloss import LastSurfaces, oilier
from sitterlight.shading.glints import LAST_RETURNED, Glints
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.large_pages import in_large_pages
from sitterlight.shading.light_fields import LightField, Look
from sitterlight.shading.membership import Membership
from sitterlight.shading.memory import Memory
from sitterlight.shading.paths import paths
from sitterlight.shading.placing import place_key
from sitterlight.shading.rays import RayCaster, spatial_order
from sitterlight.shading.reflected_skin import Looked, reflected_skin
from sitterlight.shading.shadow_edges import Surroundings, carry, light_around
from sitterlight.shading.shadows import Shadows, shadows
from sitterlight.shading.sources import Dome, Patch, Source
from sitterlight.shading.transfer import Transfer, transfer, unoccluded_transfer

_MIRRORED_RESOLUTION = 32
_FEW = 8
_FEW_FACETS = 32
_MOST_SHARES = 200e6
"""Bytes up to which the entering shares of all directions are kept, so that a sky is one product with them."""


class Stage:
    """A head with a gloss, ready to be lit: the transfer and what follows from it alone.

    With `occlusion` off nothing blocks anything, there are no shadows and no bounces: a first picture at once.
    `under_skin`: whether direct light spreads under the skin. `coarse`: lights that are new to the head are given by
    few samples and bounce once, as an answer while they are dragged, and oil is laid over the last exact look.
    """

    held_elsewhere = True
    """All that a stage is made of is remembered for itself, see memory.bytes_of."""

    def __init__(
        self,
        head: Head,
        roughness: np.ndarray,
        oil: np.ndarray,
        rotation: np.ndarray,
        occlusion: bool = True,
        progress: Callable[[float], None] | None = None,
        bounces: int = bounce.BOUNCES,
        under_skin: bool = False,
        coarse: bool = False,
    ):
        self.head, self.rotation, self.occlusion, self.bounces = head, rotation, occlusion, bounces
        self.coarse = coarse
        self.transfer = _transfer_of(head, occlusion, progress)
        self.membership = _memberships.of(head.shape_key, lambda: Membership.of(head.region_weights))
        surface = head.shape_key, occlusion, roughness.tobytes(), oil.tobytes()
        rough, oily = (partial(np.matmul, head.region_weights, values) for values in (roughness, oil))
        self._times_oily = None
        last = _surfaces.standing_in(surface, oily()) if coarse and not _glosses.holds(surface) else None
        if last is None:
            self.gloss = _glosses.of(surface, lambda: Gloss.of(rough(), oily()))
        else:
            surface, self.gloss, self._times_oily = last
        ways = _paths.of((head.shape_key, occlusion), lambda: paths(head, self.transfer))
        about = self.transfer, self.gloss, self.membership
        self.exchange = _exchanges.of((*surface, bounces), lambda: bounce.exchange(head, ways, *about, bounces))
        self.bank: Bank | None = bank_of(head) if under_skin and occlusion else None
        self._surface = surface

    @property
    def bundles(self) -> Bundles:
        """Its vertices, bundled."""
        return _bundles.of((*self._surface, self.bounces), lambda: Bundles.of(self.membership, self.exchange.senders))

    def light_field(self, source: Source) -> LightField:
        """The field of a source given in the room frame."""
        place = self._placed(source)
        thinned, bounces = self._thinned(place), 1 if self._is_coarse(place) else self.bounces
        key = (*self._surface, bounces, self.bank is None, place_key(thinned))
        return _fields.of(key, lambda: self._light_field(thinned, bounces))

    def _is_coarse(self, placed: np.ndarray | Patch) -> bool:
        """Whether a light is to be given roughly, being dragged to where it has not been worked out."""
        return self.coarse and not _fields.holds((*self._surface, self.bounces, self.bank is None, place_key(placed)))

    def place_of(self, source: Source) -> np.ndarray | Patch:
        """Where a source stands in the head's frame, see `placing`; by few samples where it is given roughly."""
        return self._thinned(self._placed(source))

    def _thinned(self, placed: np.ndarray | Patch) -> np.ndarray | Patch:
        return placed.thinned(_FEW) if isinstance(placed, Patch) and self._is_coarse(placed) else placed

    def sees(self, eye: np.ndarray) -> np.ndarray:
        """Which vertices the `eye (3,)` mm, in the head's frame, sees, (V,) bool."""
        key = (self.head.shape_key, self.occlusion, np.asarray(eye).tobytes())
        return _sights.of(key, lambda: sight(self.head, eye, self.occlusion))

    def look(self, sources: tuple[Source, ...], eye: np.ndarray) -> Look:
        """The stage under `sources` as the `eye (3,)` mm in the head's frame sees it."""
        placed = [self.place_of(source) for source in sources]
        gaze = (*self._surface, np.asarray(eye).tobytes())
        key = (*gaze, *map(place_key, placed))
        look = _looks.of(key, lambda: self._look(sources, placed, eye, gaze))
        if not self.coarse:
            _surfaces.keep(self._surface, self.gloss)
        return look if self._times_oily is None else oilier(look, self.gloss, self._times_oily, self.facing(eye))

    def _look(self, sources, placed, eye, gaze) -> Look:
        domes = [index for index, source in enumerate(sources) if isinstance(source, Dome)]
        mirrored, looked, skin = self._domes_mirrored([sources[index] for index in domes], eye, gaze)
        columns: list[np.ndarray] = [np.zeros(0)] * len(sources)
        for index, part in zip(domes, mirrored, strict=True):
            columns[index] = part
        for index, place in enumerate(placed):
            if isinstance(place, Patch):
                columns[index] = self._patch_mirrored(place, eye, gaze)
        glints = []
        for source, place in zip(sources, placed, strict=True):
            key = (*gaze, "mirrored twice", place_key(place))
            glints.append(_sheens.of(key, partial(self._glints, source, place, looked)))
        toward = _sheens.of((*gaze, "toward the eye"), lambda: self._toward_eye(eye))
        return Look(self.sees(eye), toward, tuple(columns), tuple(glints), skin)

    def _domes_mirrored(self, domes: list[Dome], eye, gaze):
        """Sheen (V,K) of each dome, what is mirrored of blocked directions, and the bodies that are."""
        cells = [dome.cells(_MIRRORED_RESOLUTION, self.rotation) for dome in domes]
        cells = cells or [np.zeros((12 * _MIRRORED_RESOLUTION**2, 1), np.float32)]
        key = (*gaze, *map(place_key, cells))
        facets = _FEW_FACETS if self.coarse and not _sheens.holds((*key, sheen.FACETS)) else sheen.FACETS

        def mirrored():
            sees = self.sees(eye)
            joined = np.concatenate(cells, axis=1)
            radiance, share = sheen.mirrored_domes(self.head, self.transfer, self.gloss, eye, sees, joined, facets)
            split = np.split(radiance, np.cumsum([each.shape[1] for each in cells])[:-1], axis=1)
            looked = Looked.of(self.transfer, self.exchange.paths, share)
            return split, looked, reflected_skin(self.exchange, looked)

        split, looked, skin = _sheens.of((*key, facets), mirrored)
        return split[: len(domes)], looked, skin

    def _patch_mirrored(self, patch: Patch, eye, gaze) -> np.ndarray:
        sees = self.sees(eye)
        about = self.head, self.gloss, eye, sees, patch
        return _sheens.of((*gaze, place_key(patch)), lambda: sheen.mirrored_patch(*about, self.shadows(patch)))

    def finer_sheen(self, source: Source, eye: np.ndarray) -> np.ndarray | None:
        """What the sheen of a patch is on the display mesh beyond a blend of the vertices', (D,K); None for a dome,
        which is mirrored too broadly to pass between vertices."""
        placed, gaze = self.place_of(source), (*self._surface, np.asarray(eye).tobytes())
        if not isinstance(placed, Patch):
            return None
        mirrored = self._patch_mirrored(placed, eye, gaze)
        about = self.head, self.gloss, eye, self.sees(eye), placed, mirrored
        return _sheens.of((*gaze, "finer", place_key(placed)), lambda: sheen.finer_patch(*about))

    def _glints(self, source: Source, placed, looked: Looked) -> np.ndarray:
        """Radiance weights (V,K) toward the eye of a source that is mirrored twice, by other skin and then here."""
        if isinstance(placed, Patch):
            light = self.light_field(source)
            if light.glints is None:
                return np.zeros_like(light.plain)
            return light.glints.seen(self.transfer, self.exchange, looked)
        return looked.gathered(self.exchange.paths.cell, self.exchange.mirror, placed)

    def _placed(self, source: Source) -> np.ndarray | Patch:
        return placing.placed(source, self.rotation, len(self.transfer.directions))

    def shadows(self, patch: Patch) -> Shadows:
        """What the vertices see of a patch in the head's frame."""
        if not self.occlusion:
            return Shadows.none(len(self.head.vertices), patch)
        order = _orders.of(self.head.shape_key, lambda: spatial_order(self.head.vertices))
        cast = (self.head.shape_key, place_key(patch))
        about = self.head, self.transfer, _caster_of(self.head), order
        return _shadows.of(cast, lambda: shadows(*about, patch))

    def _light_field(self, placed: np.ndarray | Patch, bounces: int) -> LightField:
        make_ready()
        about = self.head, self.transfer, self.gloss
        if isinstance(placed, Patch):
            exact = bounces == self.bounces
            plain, entered = self._from_patch(placed, self.shadows(placed), exact)
            if exact:
                glints = Glints.of(self.head, self.gloss, placed, plain)
                mirrored = glints.entering(self.transfer, self.exchange)
            else:
                glints, mirrored = None, np.zeros_like(plain)
        else:
            entered = self._entered(placed)
            mirrored = bounce.entering_from_cells(self.exchange, placed)
        bounced = self.exchange.bounces.of_light(entered + mirrored, bounces)
        direct = self._spread(entered)
        if isinstance(placed, Patch):
            return LightField(direct, mirrored, bounced, glints, lambda: plain)
        return LightField(direct, mirrored, bounced, None, lambda: irradiance.plain_from_dome(*about[:2], placed))

    def _spread(self, entered: np.ndarray) -> np.ndarray:
        """What `entered (V,K)` spread under the skin by each width, side by side; itself where nothing spreads."""
        return entered if self.bank is None else self.bank.spread(entered).swapaxes(0, 1).reshape(len(entered), -1)

    def _from_patch(self, patch: Patch, shadow: Shadows, exact: bool) -> np.ndarray:
        """Irradiance weights (2,V,K) of a patch, plain and entered; where `exact`, vertices at which its light ends are
        given what the surface around them gets."""
        about = self.head, self.gloss, patch, shadow
        if not exact or not len(shadow.edge):
            return irradiance.from_patch(*about)
        both = irradiance.from_patch(*about, without=shadow.edge)
        around = _surroundings.of(self.head.shape_key, lambda: Surroundings.of(self.head))
        means = light_around(self.head, around, _caster_of(self.head), self.gloss, patch, shadow)
        carry(around, both, shadow.edge, means)
        return both

    def _entered(self, cells: np.ndarray) -> np.ndarray:
        """Irradiance weights (V,K) of a dome that enter the body."""
        about = self.head, self.transfer, self.gloss
        if len(self.head.vertices) * len(cells) * 4 > _MOST_SHARES:
            return irradiance.entered_from_dome(*about, cells)
        return _shares.of(self._surface, lambda: irradiance.entering(*about)) @ cells

    def facing(self, eye: np.ndarray) -> np.ndarray:
        """The cosine at which each vertex faces the `eye (3,)` mm, (V,), none below that at which sheen ends."""
        toward = eye - self.head.vertices
        cosine = (self.head.normals * toward).sum(axis=1) / np.linalg.norm(toward, axis=1)
        return np.maximum(cosine, sheen.LEAST_FACING)

    def _toward_eye(self, eye: np.ndarray) -> np.ndarray:
        share = (1 - self.gloss.sheen_at(self.facing(eye))) / (1 - self.gloss.mean)
        return np.where(sheen.counted(self.head, self.sees(eye)), share, 1.0)[:, None].astype(np.float32)


_BIG = 250e6
_transfers, _memberships, _paths = Memory(4), Memory(4), Memory(2)
_glosses, _exchanges, _bundles = Memory(8), Memory(3, _BIG), Memory(2)
_casters, _orders, _surroundings, _shares = Memory(4), Memory(4), Memory(4), Memory(1)
_fields, _shadows = Memory(24, _BIG), Memory(16, _BIG)
_sights, _sheens, _looks = Memory(32), Memory(24, _BIG), Memory(8, _BIG)
_surfaces = LastSurfaces()


_of_the_head = (_transfers, _memberships, _paths, _casters, _orders, _surroundings)
_of_the_light = (_glosses, _exchanges, _bundles, _shares, _fields, _shadows, LAST_RETURNED)
_of_the_eye = (_sights, _sheens, _looks)


def forget() -> None:
    """Remember nothing of any head, as after a fresh start."""
    for memory in (*_of_the_head, *_of_the_light, *_of_the_eye):
        memory.forget()
    _surfaces.forget()


def _transfer_of(head: Head, occlusion: bool, progress: Callable[[float], None] | None) -> Transfer:
    if not occlusion:
        return _transfers.of((head.shape_key, False), lambda: unoccluded_transfer(head))
    return _transfers.of((head.shape_key, True), lambda: in_large_pages(transfer(head, progress=progress)))


def _caster_of(head: Head) -> RayCaster:
    return _casters.of(head.shape_key, lambda: RayCaster(head.vertices, head.faces))


def sight(head: Head, eye: np.ndarray, occlusion: bool = True) -> np.ndarray:
    """Which vertices the `eye (3,)` mm sees, (V,) bool; without `occlusion` all that face it."""
    toward = eye - head.vertices
    sees = (head.normals * toward).sum(axis=1) > 0
    if occlusion:
        facing = np.flatnonzero(sees)
        origins = head.ray_origins[facing]
        sees[facing] = _caster_of(head).reaches(origins, np.broadcast_to(eye, origins.shape))
    return sees
