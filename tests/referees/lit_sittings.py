"""Third referee: whole sittings, skin by region and sheen, spectral, toward the sitting's eye.

The renderer carries three bands at a time, far apart; 27 such passes cover all 81 bands of the grid exactly. Every
plane's mean XYZ is then seen by our eye and compared: ΔE00 at most 0.5 for nine planes in ten, at most 1.0 for all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.illuminants.observer import tristimulus
from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.keying import resolve_eye
from sitterlight.shading.scene import Scene, _surface, light_scene
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.strokes import part_planes, seen_light

from .convergence import plane_XYZ
from .emitters import Lights
from .renderer import mitsuba
from .samples import Samples, plane_means, sample_planes
from .skin_surface import register
from .tracer import head_mesh, open_toward, radiance_along, retune, scene_of

SITTINGS = ("garden-overcast", "open-shade", "bright-sand", "lamp-and-dusk", "evening-lamp", "north-studio")
NINE_IN_TEN, ALL = 0.5, 1.0
PASSES = 27
_LIFT = 0.02


@dataclass(frozen=True, eq=False)
class SittingResult:
    """`ours` and `theirs (planes, 3)` scene XYZ; `delta (planes,)` ΔE00 after our eye; `noise (planes,)` relative
    standard error of their Y; `hidden (planes,)` compared over the whole plane and without sheen."""

    name: str
    names: tuple[str, ...]
    ours: np.ndarray
    theirs: np.ndarray
    delta: np.ndarray
    noise: np.ndarray
    hidden: np.ndarray

    @property
    def passed(self) -> bool:
        """Whether both limits of the project hold."""
        return bool(np.quantile(self.delta, 0.9) <= NINE_IN_TEN and self.delta.max() <= ALL)


def bands_of(number: int) -> list[int]:
    """The three bands of one pass."""
    return [number, number + PASSES, number + 2 * PASSES]


class TracedHead:
    """A scene's head, on its display mesh, in the room and in its own skin, for the renderer."""

    def __init__(self, scene: Scene, mesh: str = "display"):
        head = scene.head
        self.scene, self.shape = scene, head.display if mesh == "display" else head
        weights = head.region_weights.astype(float)
        self.weights = head.to_display @ weights if mesh == "display" else weights
        roughness, oil = _surface(scene.sitting)
        self.gloss = {"roughness": self.weights @ roughness, "oil": self.weights @ oil}
        turn = scene.rotation.T
        self.vertices, self.normals = self.shape.vertices @ turn, self.shape.normals @ turn
        self.eye = scene.eye_position @ turn

    def mesh(self, bands: list[int]):
        """The renderer's mesh for three bands."""
        values = {"albedo": self.albedo(bands), **self.gloss}
        return head_mesh(self.vertices, self.shape.faces, self.normals, values, register())

    def albedo(self, bands: list[int]) -> np.ndarray:
        """Body albedo (V,3) of the vertices in three bands."""
        return self.weights @ self.scene.region_albedos[:, bands]

    def samples(self, count: int, seed: int) -> Samples:
        """Points on all planes, in the room."""
        return sample_planes(self.vertices, self.shape.faces, self.shape.plane_of_face, count, seed)


def compare(sitting: Sitting, name: str, count: int = 4096, mesh: str = "display", passes: int = PASSES):
    """One sitting; `count` paths a plane in each pass."""
    scene = light_scene(sitting)
    eye = resolve_eye(scene)
    planes = part_planes(scene.head.plane_weights, seen_light(scene), eye)
    hidden = np.array([plane.hidden for plane in planes])
    head = TracedHead(scene, mesh)
    lights = Lights(sitting)
    mesh = head.mesh(bands_of(0))
    traced, alone = scene_of(mesh, lights.entries(bands_of(0))), scene_of(mesh, {})
    spectra, noise = np.zeros((len(planes), 81)), np.zeros((len(planes), 81))
    for number in range(passes):
        bands = bands_of(number)
        retune(traced, {"head.vertex_albedo": head.albedo(bands), **lights.parameters(bands)})
        spectra[:, bands], noise[:, bands] = _one_pass(head, traced, alone, bands, hidden, count, number)
    theirs = tristimulus(spectra, sitting.eye.observer)
    error = np.sqrt((tristimulus(np.eye(81), 2)[:, 1] ** 2 * noise**2).sum(axis=1)) / np.maximum(theirs[:, 1], 1e-9)
    ours = plane_XYZ(scene)
    delta = delta_E00(eye.Lab(ours), eye.Lab(theirs))
    names = tuple(f"{plane.name} {plane.side}" for plane in scene.head.planes)
    return SittingResult(name, names, ours, theirs, delta, error, hidden)


def _one_pass(head: TracedHead, scene, alone, bands: list[int], hidden: np.ndarray, count: int, seed: int):
    samples = head.samples(count, seed)
    smooth = samples.between(head.shape.faces, head.normals)
    smooth /= np.linalg.norm(smooth, axis=1, keepdims=True)
    toward = head.eye - samples.places
    toward /= np.linalg.norm(toward, axis=1, keepdims=True)
    facing = (smooth * toward).sum(axis=1) > 0
    facing &= (samples.normals * toward).sum(axis=1) > 0
    seen = facing & open_toward(alone, samples.places + _LIFT * samples.normals, toward)
    unseen = hidden[samples.plane]
    counts = np.where(unseen, 1.0, seen)
    light = np.zeros((len(counts), 3))
    shown = np.flatnonzero(seen & ~unseen)
    light[shown] = radiance_along(scene, samples.places[shown] + _LIFT * toward[shown], -toward[shown], -1, seed)
    rest = np.flatnonzero(unseen)
    if len(rest):
        light[rest] = body_light(head, scene, alone, samples, smooth, rest, bands, seed)
    return plane_means(light, samples.plane, counts, len(hidden))


def body_light(head, scene, alone, samples, smooth, rows, bands, seed) -> np.ndarray:
    """Radiance (n,3) of the body alone, the mean over all sides that it is seen from, ρ/π ∫ (1 − E(i)) L cos."""
    import drjit as dr

    from sitterlight.shading.surface import directional_albedo

    mi = mitsuba()
    faces = head.shape.faces
    places, normals, geometric = samples.places[rows], smooth[rows], samples.normals[rows]
    corners, face = samples.corners[rows], samples.face[rows]

    def at(values):
        return np.einsum("nk,nk...->n...", corners, values[faces[face]])

    albedo = at(head.albedo(bands))
    roughness, oil = at(head.gloss["roughness"]), at(head.gloss["oil"])
    scale = albedo / np.pi
    origins = places + _LIFT * geometric

    random = np.random.default_rng(seed + 1000)
    point = dr.zeros(mi.Interaction3f, len(rows))
    point.p = mi.Point3f(np.ascontiguousarray(origins.T, np.float32))
    number = mi.Point2f(np.ascontiguousarray(random.random((2, len(rows))), np.float32))
    found, weight = scene.sample_emitter_direction(point, number, False, True)
    direction = np.array(found.d).T.astype(float)
    cosine = (direction * normals).sum(axis=1)
    above = (cosine > 0) & ((direction * geometric).sum(axis=1) > 0)
    entered = np.where(above & open_toward(alone, origins, direction), cosine, 0)
    entered = entered * (1 - oil * directional_albedo(roughness, np.clip(cosine, 0, 1)))
    straight = np.nan_to_num(np.array(weight).T.astype(float)) * entered[:, None]

    direction, cosine = _around(normals, random)
    blocked = ~open_toward(alone, origins, direction) & ((direction * geometric).sum(axis=1) > 0)
    other = np.zeros((len(rows), 3))
    some = np.flatnonzero(blocked)
    if len(some):
        other[some] = radiance_along(scene, origins[some], direction[some], -1, seed + 500)
    other *= (np.pi * (1 - oil * directional_albedo(roughness, cosine)))[:, None]
    return scale * (straight + other)


def _around(normals: np.ndarray, random) -> tuple[np.ndarray, np.ndarray]:
    """Directions (n,3) about normals, as often as their cosine (n,) is large."""
    u, turn = random.random(len(normals)), 2 * np.pi * random.random(len(normals))
    cosine, sine = np.sqrt(1 - u), np.sqrt(u)
    across = np.cross(normals, np.where(np.abs(normals[:, :1]) < 0.9, [[1.0, 0, 0]], [[0, 1.0, 0]]))
    across /= np.linalg.norm(across, axis=1, keepdims=True)
    up = np.cross(normals, across)
    flat = np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * up
    return sine[:, None] * flat + cosine[:, None] * normals, cosine


assert len(WAVELENGTHS) == 3 * PASSES
