"""From a sitting to scene XYZ: geometry times small spectral matrices.

    XYZ(v) = Σ g[light](v) · ∫ S ρ_v x̄ȳz̄  +  bounces  +  Σ s[light](v, eye) · ∫ S x̄ȳz̄

No spectral value is approximated: every product of light and skin is taken on the 81 bands of the grid, once per
light and region (and per pair of regions for bounces), and the vertices only weigh the results.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from sitterlight.illuminants.observer import luminous, tristimulus
from sitterlight.illuminants.temperature import cct_and_duv
from sitterlight.meshes.head import Head
from sitterlight.shading.bounce import BOUNCES
from sitterlight.shading.frame import UP, Gaze
from sitterlight.shading.resolve_lights import own_lights, returned_light
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sources import Source, spectrum_of
from sitterlight.shading.staging import Setup, whites_of


@dataclass(frozen=True)
class Part:
    """What a piece of the light went through: `light` is a light's name, "ground", "walls" or, for skin that the
    sheen mirrors, "bounce"; `path` is "body", "bounce" or "sheen"."""

    light: str
    path: str


@dataclass(frozen=True, eq=False)
class Scene:
    """A lit head, before the eye. XYZ in cd/m² for the sitting's observer, per calculation vertex.

    `part_XYZ (P,V,3)` and `part_XYZ_neutral (P,V,3)`: what each of `parts` sends to the eye, and what it would send
    if every light had the white card's spectrum; sheen only where the eye sees the vertex.
    `own_XYZ (V,3)`: the skin's body under the white card's light, no sheen.
    `card_XYZ (3,)`, `card_spectrum (81,)` (1 lux), `card_lux`: the scene's white.
    `eye_sees (V,)`; `illuminance`: lux per vertex, "direct", "ground" and "bounced"; `irradiance_by_light (L,V)` lux,
    direct light of the sitting's own lights in the order of `light_info`.
    `skin_albedo (81,)` of the body; `region_albedos (15,81)`; `eye_position (3,)` mm in the head's frame;
    `rotation (3,3)` head → room; `toward_eye (V,1)`, what the eye's angle leaves of each body's light; `finer_sheen`
    finds `finer_XYZ` when it is asked for. With a 10° observer `XYZ_2deg (V,3)` and `card_XYZ_2deg` serve Munsell; else
    they are XYZ and card_XYZ.
    """

    sitting: Sitting
    head: Head
    sources: tuple[Source, ...]
    light_names: tuple[str, ...]
    parts: tuple[Part, ...]
    part_XYZ: np.ndarray
    part_XYZ_neutral: np.ndarray
    part_XYZ_2deg: np.ndarray
    own_XYZ: np.ndarray
    card_XYZ: np.ndarray
    card_XYZ_2deg: np.ndarray
    card_spectrum: np.ndarray
    card_lux: float
    eye_sees: np.ndarray
    illuminance: dict[str, np.ndarray]
    irradiance_by_light: np.ndarray
    light_info: tuple[dict, ...]
    open_horizontal_lux: float
    skin_albedo: np.ndarray
    region_albedos: np.ndarray
    eye_position: np.ndarray
    rotation: np.ndarray
    toward_eye: np.ndarray
    finer_sheen: Callable[[], np.ndarray]

    @cached_property
    def display_XYZ(self) -> np.ndarray:
        """Seen colour at the vertices of the display mesh, (D,3) float32 cd/m², fine highlights included."""
        return self.head.to_display @ self.XYZ.astype(np.float32) + self.finer_XYZ

    @cached_property
    def finer_XYZ(self) -> np.ndarray:
        """What of it a blend of the calculation vertices leaves out, (D,3) float32."""
        return self.finer_sheen()

    @property
    def XYZ(self) -> np.ndarray:
        """Seen colour of each vertex, (V,3) cd/m²."""
        return self.part_XYZ.sum(axis=0)

    @property
    def XYZ_neutral(self) -> np.ndarray:
        """The same with every light given the card's spectrum, (V,3) cd/m²."""
        return self.part_XYZ_neutral.sum(axis=0)

    @property
    def XYZ_2deg(self) -> np.ndarray:
        """Seen colour for the 2° observer, (V,3) cd/m²."""
        return self.part_XYZ_2deg.sum(axis=0)


def light_scene(
    sitting: Sitting,
    occlusion: bool = True,
    progress: Callable[[float], None] | None = None,
    bounces: int = BOUNCES,
    gaze: Gaze | None = None,
) -> Scene:
    """Light the head of a sitting. Raises ValueError, in one sentence, for what the sitting names and isn't there.

    `occlusion` False leaves out everything that blocks light, for a picture at once on a new mesh.
    `progress` is told the share of ray casting done, where there is any to do. `bounces` from skin to skin.
    `gaze`: where to look from, if not from where the sitting's eye stands; the white card stays.
    """
    setup = Setup.of(sitting, occlusion, progress, bounces, gaze)
    head, sources, observer = setup.head, setup.sources, sitting.eye.observer
    neutral = _neutral(sitting, sources, setup.card_spectrum)
    parts = _parts(sources)
    part_XYZ, part_XYZ_neutral = (_part_XYZ(setup, lights, observer) for lights in (sources, neutral))
    return Scene(
        sitting=sitting,
        head=head,
        sources=sources,
        light_names=tuple(source.name for source in sources),
        parts=parts,
        part_XYZ=part_XYZ,
        part_XYZ_neutral=part_XYZ_neutral,
        part_XYZ_2deg=part_XYZ if observer == 2 else _part_XYZ(setup, sources, 2),
        own_XYZ=head.region_weights @ (tristimulus(setup.body.albedo * setup.card, observer) / np.pi),
        card_XYZ=tristimulus(setup.card, observer) / np.pi,
        card_XYZ_2deg=tristimulus(setup.card, 2) / np.pi,
        card_spectrum=setup.card_spectrum,
        card_lux=setup.card_lux,
        eye_sees=setup.look.sees,
        illuminance=_illuminance(setup),
        irradiance_by_light=_by_light(setup),
        light_info=tuple(_light_info(sitting, source, setup.card_normal) for source in own_lights(sources)),
        open_horizontal_lux=_open_horizontal(sources),
        skin_albedo=setup.skin_albedo,
        region_albedos=setup.body.albedo,
        eye_position=setup.eye,
        rotation=setup.stage.rotation,
        toward_eye=setup.look.toward_eye,
        finer_sheen=lambda: _finer_sheen(setup, observer),
    )


def _neutral(sitting: Sitting, sources: tuple[Source, ...], card_spectrum: np.ndarray) -> tuple[Source, ...]:
    """The sources with every light's spectrum replaced by the card's, at its own strength."""
    lights = [replace(s, basis=s.luminance_of_basis[:, None] * card_spectrum) for s in own_lights(sources)]
    return (*lights, *returned_light(sitting, lights))


def _open_horizontal(sources: tuple[Source, ...]) -> float:
    """Lux on open level ground, head away."""
    lights = [source for source in sources if source.kind != "ground"]
    return float(sum(source.irradiance(UP) @ source.luminance_of_basis for source in lights))


def _by_light(setup: Setup) -> np.ndarray:
    pairs = [(s, f) for s, f in zip(setup.sources, setup.lighting.fields, strict=True) if s in own_lights((s,))]
    return np.stack([field.plain @ source.luminance_of_basis for source, field in pairs])


def _illuminance(setup: Setup) -> dict[str, np.ndarray]:
    """Lux per vertex. What bounced is known where it has entered the body, so its share of sheen is put back."""
    direct, ground = np.zeros((2, len(setup.head.vertices)))
    for source, field in zip(setup.sources, setup.lighting.fields, strict=True):
        reached = ground if source.kind in ("ground", "walls") else direct
        reached += field.plain @ source.luminance_of_basis
    entered = setup.lighting.bounced_lux(setup.sources, setup.body.albedo)
    return {"direct": direct, "ground": ground, "bounced": entered / (1 - setup.stage.gloss.mean)}


def _light_info(sitting: Sitting, source: Source, card_normal: np.ndarray) -> dict:
    spectrum = spectrum_of(source, source.irradiance(card_normal))
    lux = float(luminous(spectrum))
    if lux <= 0:
        spectrum = spectrum_of(source, source.mean_radiance())
    cct, duv = cct_and_duv(tristimulus(spectrum))
    azimuth, elevation = source.place if source.place is not None else (None, None)
    facing = next((x.facing for x in sitting.lights if x.kind == "daylight" and source.name.startswith(x.name)), None)
    compass = None if facing is None or azimuth is None else float((facing - azimuth) % 360)
    return {
        "name": source.name,
        "kind": source.kind,
        "card_lux": lux,
        "cct": None if cct is None else float(cct),
        "duv": float(duv),
        "azimuth": azimuth,
        "elevation": elevation,
        "compass": compass,
    }


def _parts(sources: tuple[Source, ...]) -> tuple[Part, ...]:
    each = [Part(source.name, path) for source in sources for path in ("body", "bounce", "sheen")]
    return (*each, Part("bounce", "sheen"))


def _part_XYZ(setup: Setup, sources: tuple[Source, ...], observer: int) -> np.ndarray:
    """The XYZ (P,V,3) float32 of the parts, for sources that lie where those of the setup do."""
    look = setup.look
    straight, indirect = setup.lighting.radiance_apart(sources, setup.body, observer)
    parts, first = [], 0
    for index, source in enumerate(sources):
        last = first + len(source.basis)
        white = tristimulus(source.basis, observer).astype(np.float32)
        parts += [each[index] * look.toward_eye for each in (straight, indirect)]
        parts.append(look.sheen[:, first:last] @ white)
        first = last
    parts.append(look.skin @ (straight + indirect).sum(axis=0) + look.glints @ whites_of(sources, observer))
    return np.stack(parts)


def _finer_sheen(setup: Setup, observer: int) -> np.ndarray:
    total = np.zeros((setup.head.to_display.shape[0], 3), np.float32)
    for source in setup.sources:
        finer = setup.stage.finer_sheen(source, setup.eye)
        if finer is not None:
            total += finer @ tristimulus(source.basis, observer).astype(np.float32)
    return total
