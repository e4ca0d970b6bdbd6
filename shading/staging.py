"""A sitting with everything in its place, ready to be looked at: what a whole scene and a glance have in common."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sitterlight.illuminants.observer import luminous, tristimulus
from sitterlight.illuminants.surfaces import reflectance
from sitterlight.meshes.head import Head
from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.bounce import BOUNCES
from sitterlight.shading.frame import Gaze, direction, gaze_of, head_rotation
from sitterlight.shading.geometry import Look, Stage
from sitterlight.shading.lighting import Body, Lighting
from sitterlight.shading.memory import Memory
from sitterlight.shading.resolve_lights import light_key, own_lights, resolve_lights
from sitterlight.shading.resolve_skin import ResolvedSkin, resolve_skin
from sitterlight.shading.sitter_head import head_of
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.skin_regions import region_albedos, region_sheen
from sitterlight.shading.sources import Source, spectrum_of
from sitterlight.shading.under_skin import region_spread_weights


@dataclass(frozen=True, eq=False)
class Setup:
    """The light, the head, the skin and the eye of a sitting, joined."""

    sitting: Sitting
    head: Head
    sources: tuple[Source, ...]
    stage: Stage
    lighting: Lighting
    look: Look
    body: Body
    skin: ResolvedSkin
    eye: np.ndarray
    card: np.ndarray
    card_normal: np.ndarray

    @property
    def skin_albedo(self) -> np.ndarray:
        """Body albedo (81,) of the plain skin."""
        return self.skin.albedo

    @property
    def card_lux(self) -> float:
        """Lux at the white card."""
        return float(luminous(self.card))

    @property
    def card_spectrum(self) -> np.ndarray:
        """The spectrum of the light at the white card, (81,), of one lux."""
        return self.card / self.card_lux

    @staticmethod
    def of(
        sitting: Sitting,
        occlusion: bool = True,
        progress: Callable[[float], None] | None = None,
        bounces: int = BOUNCES,
        gaze: Gaze | None = None,
        coarse: bool = False,
    ) -> Setup:
        """As scene.light_scene; `coarse` as geometry.Stage."""
        sources, card_normal, card = _lights.of(
            (light_key(sitting), sitting.eye.azimuth), lambda: _lights_and_card(sitting)
        )
        setting = sitting.head
        head = head_of(setting, sitting.folder)
        skin = resolve_skin(sitting.skin, sitting.folder)
        how = occlusion, progress, bounces, sitting.skin.under_skin, coarse
        stage = Stage(head, *surface_of(sitting), head_rotation(setting), *how)
        gaze = gaze or gaze_of(sitting)
        eye = direction(gaze.azimuth, gaze.elevation) * gaze.distance @ stage.rotation
        lighting, look = stage_light(stage, sources), stage.look(sources, eye)
        body = _last_body.or_new(albedos_of(sitting, skin), spread_of(stage, skin, sitting.skin.regions))
        return Setup(sitting, head, sources, stage, lighting, look, body, skin, eye, card, card_normal)


def _lights_and_card(sitting: Sitting) -> tuple[tuple[Source, ...], np.ndarray, np.ndarray]:
    """The sources of a sitting, the normal of its white card, and the spectrum (81,) of the light there."""
    sources = resolve_lights(sitting)
    if not own_lights(sources):
        raise ValueError("No light is on in this sitting; switch at least one light on (on = true).")
    normal = direction(sitting.eye.azimuth, 0)
    card = np.asarray(sum(spectrum_of(source, source.irradiance(normal)) for source in sources))
    if luminous(card) <= 0:
        raise ValueError("No light of this sitting reaches the white card; turn the eye or a light toward each other.")
    return sources, normal, card


_lights = Memory(8, little=True)


def albedos_of(sitting: Sitting, skin: ResolvedSkin) -> np.ndarray:
    """Body albedo of each region, (15,81), clothes included."""
    albedos = region_albedos(skin.amounts, sitting.skin.regions, skin.measured)
    albedos[REGIONS.index("clothes")] = reflectance(sitting.surround.clothes, sitting.folder)
    return albedos


class _LastBody:
    """The same body while a skin stays the same: what is known of it is found by what it is."""

    def __init__(self) -> None:
        self._body: Body | None = None

    def or_new(self, albedo: np.ndarray, spread: np.ndarray | None) -> Body:
        """The last body where that does this with light, else one that does."""
        last = self._body
        if last is None or not (_same(last.albedo, albedo) and _same(last.spread, spread)):
            self._body = last = Body(albedo, spread)
        return last


def _same(one: np.ndarray | None, other: np.ndarray | None) -> bool:
    return one is other or (one is not None and other is not None and np.array_equal(one, other))


_last_body = _LastBody()


def surface_of(sitting: Sitting) -> tuple[np.ndarray, np.ndarray]:
    """Roughness and oil of each region, (15,)."""
    skin = sitting.skin
    return region_sheen(skin.roughness, skin.oil, skin.regions)


def whites_of(sources: tuple[Source, ...], observer: int) -> np.ndarray:
    """XYZ (ΣK,3) float32 of all basis spectra, as a mirror shows them."""
    return tristimulus(np.concatenate([source.basis for source in sources]), observer).astype(np.float32)


def stage_light(stage: Stage, sources: tuple[Source, ...]) -> Lighting:
    """The sources on the stage, remembered while the same ones are asked for."""
    fields = [stage.light_field(source) for source in sources]
    return _lightings.of(tuple(map(id, fields)), lambda: Lighting(stage, fields, [len(s.basis) for s in sources]))


_lightings = Memory(2)


def spread_of(stage: Stage, skin: ResolvedSkin, regions: bool) -> np.ndarray | None:
    """(R,W,81): the shares of each region's light that the widths of the stage's bank spread."""
    if stage.bank is None:
        return None
    return stage.bank.folded(region_spread_weights(skin.amounts, regions))
