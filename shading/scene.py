"""From a sitting to scene XYZ: geometry times small spectral matrices.

    XYZ(v) = Σ g[light](v) · ∫ S ρ_v x̄ȳz̄  +  bounces  +  Σ s[light](v, eye) · ∫ S x̄ȳz̄

No spectral value is approximated: every product of light and skin is taken on the 81 bands of the grid, once per
light and region (and per pair of regions for bounces), and the vertices only weigh the results.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from sitterlight.illuminants.observer import luminous, tristimulus
from sitterlight.illuminants.surfaces import reflectance
from sitterlight.illuminants.temperature import cct_and_duv
from sitterlight.meshes.head import Head
from sitterlight.meshes.library import load_head
from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.bounce import BOUNCES
from sitterlight.shading.frame import UP, direction, head_rotation
from sitterlight.shading.geometry import LightField, Stage
from sitterlight.shading.resolve_lights import own_lights, resolve_lights, returned_light
from sitterlight.shading.resolve_skin import resolve_skin
from sitterlight.shading.sheen import mirrored_skin
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.skin_regions import region_albedos, region_sheen
from sitterlight.shading.sources import Source, spectrum_of


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
    `rotation (3,3)` head → room. With a 10° observer `XYZ_2deg (V,3)` and `card_XYZ_2deg` serve Munsell; else they
    are XYZ and card_XYZ.
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
) -> Scene:
    """Light the head of a sitting. Raises ValueError, in one sentence, for what the sitting names and isn't there.

    `occlusion` False leaves out everything that blocks light, for a picture at once on a new mesh.
    `progress` is told the share of ray casting done, where there is any to do. `bounces` from skin to skin.
    """
    sources = resolve_lights(sitting)
    if not own_lights(sources):
        raise ValueError("No light is on in this sitting; switch at least one light on (on = true).")
    setting = sitting.head
    head = load_head(setting.mesh, sitting.folder, setting.unit, setting.up, setting.front)
    skin = resolve_skin(sitting.skin, sitting.folder)
    albedos = _albedos(sitting, skin)
    rotation = head_rotation(setting)
    roughness, oil = _surface(sitting)
    stage = Stage(head, roughness, oil, rotation, occlusion, progress, bounces)
    eye = direction(sitting.eye.azimuth, sitting.eye.elevation) * sitting.eye.distance @ rotation
    fields = [stage.light_field(source) for source in sources]

    card_normal = direction(sitting.eye.azimuth, 0)
    card = sum(spectrum_of(source, source.irradiance(card_normal)) for source in sources)
    card_lux = float(luminous(card))
    if card_lux <= 0:
        raise ValueError("No light of this sitting reaches the white card; turn the eye or a light toward each other.")
    card_spectrum = card / card_lux
    neutral = _neutral(sitting, sources, card_spectrum)

    observer = sitting.eye.observer
    view = _View(stage, eye, fields, albedos)
    parts, part_XYZ = view.parts(sources, observer)
    _, part_XYZ_neutral = view.parts(neutral, observer)
    part_XYZ_2deg = part_XYZ if observer == 2 else view.parts(sources, 2)[1]
    own = head.region_weights @ (tristimulus(albedos * card, observer) / np.pi)
    return Scene(
        sitting=sitting,
        head=head,
        sources=sources,
        light_names=tuple(source.name for source in sources),
        parts=parts,
        part_XYZ=part_XYZ,
        part_XYZ_neutral=part_XYZ_neutral,
        part_XYZ_2deg=part_XYZ_2deg,
        own_XYZ=own,
        card_XYZ=tristimulus(card, observer) / np.pi,
        card_XYZ_2deg=tristimulus(card, 2) / np.pi,
        card_spectrum=card_spectrum,
        card_lux=card_lux,
        eye_sees=stage.sees(eye),
        illuminance=_illuminance(stage, sources, fields, albedos),
        irradiance_by_light=_by_light(sources, fields),
        light_info=tuple(_light_info(sitting, source, card_normal) for source in own_lights(sources)),
        open_horizontal_lux=_open_horizontal(sources),
        skin_albedo=skin.albedo,
        region_albedos=albedos,
        eye_position=eye,
        rotation=rotation,
    )


def _albedos(sitting: Sitting, skin) -> np.ndarray:
    albedos = region_albedos(skin.amounts, sitting.skin.regions, skin.albedo).copy()
    albedos[REGIONS.index("clothes")] = reflectance(sitting.surround.clothes, sitting.folder)
    return albedos


def _surface(sitting: Sitting) -> tuple[np.ndarray, np.ndarray]:
    """Roughness and oil of each region, (15,)."""
    roughness, oil = region_sheen(sitting.skin.roughness, sitting.skin.oil)
    if not sitting.skin.regions:
        body = np.array([name not in ("eye white", "iris", "pupil", "clothes") for name in REGIONS])
        roughness = np.where(body, sitting.skin.roughness, roughness)
        oil = np.where(body, sitting.skin.oil, oil)
    return roughness, oil


def _neutral(sitting: Sitting, sources: tuple[Source, ...], card_spectrum: np.ndarray) -> tuple[Source, ...]:
    """The sources with every light's spectrum replaced by the card's, at its own strength."""
    lights = [replace(s, basis=s.luminance_of_basis[:, None] * card_spectrum) for s in own_lights(sources)]
    return (*lights, *returned_light(sitting, lights))


def _open_horizontal(sources: tuple[Source, ...]) -> float:
    """Lux on open level ground, head away."""
    lights = [source for source in sources if source.kind != "ground"]
    return float(sum(source.irradiance(UP) @ source.luminance_of_basis for source in lights))


def _by_light(sources: tuple[Source, ...], fields: list[LightField]) -> np.ndarray:
    pairs = [(s, f) for s, f in zip(sources, fields, strict=True) if s.kind not in ("ground", "walls")]
    return np.stack([field.arriving.plain @ source.luminance_of_basis for source, field in pairs])


def _illuminance(stage: Stage, sources, fields, albedos) -> dict[str, np.ndarray]:
    """Lux per vertex. What bounced is known where it has entered the body, so its share of sheen is put back."""
    direct, ground, bounced = (np.zeros(len(stage.head.vertices)) for _ in range(3))
    for source, field in zip(sources, fields, strict=True):
        plain = field.arriving.plain @ source.luminance_of_basis
        if source.kind in ("ground", "walls"):
            ground += plain
        else:
            direct += plain
        entered = field.bounced.mirrored @ source.luminance_of_basis
        for order in range(len(field.bounced.by_region)):
            senders = luminous(source.basis[:, None] * albedos[None] ** (order + 1))
            entered = entered + np.einsum("vrk,kr->v", field.bounced.by_region[order], senders)
        bounced += entered / (1 - stage.gloss.mean)
    return {"direct": direct, "ground": ground, "bounced": bounced}


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


class _View:
    """One stage seen from one place in one skin: geometry times spectra."""

    def __init__(self, stage: Stage, eye: np.ndarray, fields: list[LightField], albedos: np.ndarray):
        self.stage, self.eye, self.fields, self.albedos = stage, eye, fields, albedos
        self.weights = stage.head.region_weights.astype(np.float32)
        self.toward_eye = self._toward_eye()

    def parts(self, sources: tuple[Source, ...], observer: int) -> tuple[tuple[Part, ...], np.ndarray]:
        """The parts and their XYZ (P,V,3) float32 for sources that lie where `fields` say."""
        parts, values = [], []
        body = np.zeros((len(self.weights), 3), np.float32)
        whites = [_white(source, observer) for source in sources]
        for source, field, white in zip(sources, self.fields, whites, strict=True):
            straight = self._body(source, field.arriving.entered, observer)
            bounced = self._bounced(source, field, observer)
            mirrored = self.stage.sheen(source, self.eye) @ white
            body += straight + bounced
            parts += [Part(source.name, path) for path in ("body", "bounce", "sheen")]
            values += [straight * self.toward_eye, bounced * self.toward_eye, mirrored]
        parts.append(Part("bounce", "sheen"))
        values.append(self._mirrored_skin(body, self.stage.mirrored_colours(sources, whites)))
        return tuple(parts), np.stack(values)

    def _toward_eye(self) -> np.ndarray:
        """(1 − E(o)) / (1 − Ē) of the body toward the eye, (V,1); one where the eye doesn't see the vertex."""
        head, gloss = self.stage.head, self.stage.gloss
        toward = self.eye - head.vertices
        cosine = (head.normals * toward).sum(axis=1) / np.linalg.norm(toward, axis=1)
        place = np.clip(cosine, 0, 1) * (gloss.albedo.shape[1] - 1)
        low = np.minimum(place.astype(int), gloss.albedo.shape[1] - 2)
        row = np.arange(len(place))
        sheen = gloss.albedo[row, low] * (1 - place + low) + gloss.albedo[row, low + 1] * (place - low)
        share = np.where(self.stage.sees(self.eye), (1 - sheen) / (1 - gloss.mean), 1.0)
        return share[:, None].astype(np.float32)

    def _body(self, source: Source, entered: np.ndarray, observer: int) -> np.ndarray:
        """Radiance XYZ (V,3) of the body from light that `entered (V,K)`, before the eye's angle."""
        colours = _tristimulus(source.basis[:, None] * self.albedos[None], observer)
        return _blend(self.weights, entered @ colours.reshape(len(source.basis), -1))

    def _bounced(self, source: Source, field: LightField, observer: int) -> np.ndarray:
        result = self._body(source, field.bounced.mirrored, observer)
        pairs = source.basis[None, :, None] * self.albedos[:, None, None] * self.albedos[None, None]
        for order in range(len(field.bounced.by_region)):
            colours = _tristimulus(pairs * self.albedos[:, None, None] ** order, observer)
            arrived = field.bounced.by_region[order].reshape(len(self.weights), -1)
            result = result + _blend(self.weights, arrived @ colours.reshape(arrived.shape[1], -1))
        return result

    def _mirrored_skin(self, body: np.ndarray, glints: np.ndarray) -> np.ndarray:
        stage = self.stage
        return mirrored_skin(stage.head, stage.transfer, stage.exchange, stage.blocked_share(self.eye), body, glints)


def _white(source: Source, observer: int) -> np.ndarray:
    return tristimulus(source.basis, observer).astype(np.float32)


def _tristimulus(spectra: np.ndarray, observer: int) -> np.ndarray:
    """Of a perfectly diffuse body: XYZ (..., 3) float32 of irradiance spectra (..., 81), over π."""
    return (tristimulus(spectra, observer) / np.pi).astype(np.float32)


def _blend(weights: np.ndarray, by_region: np.ndarray) -> np.ndarray:
    """(V,3) from values (V, R·3), each region's counted by `weights (V,R)`."""
    vertices, regions = weights.shape
    return np.einsum("vr,vrc->vc", weights, by_region.reshape(vertices, regions, 3))
