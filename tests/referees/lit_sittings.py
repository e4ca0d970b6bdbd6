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
from sitterlight.shading.scene import Scene, light_scene
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.staging import surface_of
from sitterlight.shading.strokes import part_planes, seen_light

from .convergence import plane_XYZ
from .emitters import Lights, of_surfaces_alone
from .renderer import mitsuba
from .samples import Samples, plane_means, sample_planes
from .skin_surface import register
from .tracer import head_mesh, open_toward, radiance_along, retune, scene_of

SITTINGS = ("garden-overcast", "open-shade", "bright-sand", "lamp-and-dusk", "evening-lamp", "north-studio")
NINE_IN_TEN, ALL = 0.5, 1.0
PASSES = 27
QUIET = 0.004
"""Relative noise of a plane's Y that asks for no more paths."""
_LIFT = 0.02
_DRAW, _MOST_DRAWS = 8192, 24


@dataclass(frozen=True, eq=False)
class SittingResult:
    """`ours` and `theirs (planes, 3)` scene XYZ; `delta (planes,)` ΔE00 after our eye; `noise (planes,)` relative
    standard error of their Y; `hidden (planes,)` compared over the whole plane and without sheen; `visible (2, planes)`
    share of each plane's area seen, by us and by the renderer."""

    name: str
    names: tuple[str, ...]
    ours: np.ndarray
    theirs: np.ndarray
    delta: np.ndarray
    noise: np.ndarray
    hidden: np.ndarray
    visible: np.ndarray

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
        roughness, oil = surface_of(scene.sitting)
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


def compare(sitting: Sitting, name: str, paths: int = 1024, rounds: int = 6, mesh: str = "display"):
    """One sitting: `paths` (a square number) a plane in each pass, up to `rounds` times where noise is left."""
    sitting = of_surfaces_alone(sitting)
    scene = light_scene(sitting)
    eye = resolve_eye(scene)
    planes = part_planes(seen_light(scene), eye)
    hidden = np.array([plane.hidden for plane in planes])
    theirs, noise, visible = trace(scene, hidden, paths, rounds, mesh)
    ours = plane_XYZ(scene)
    delta = delta_E00(eye.Lab(ours), eye.Lab(theirs))
    names = tuple(f"{plane.name} {plane.side}" for plane in scene.head.planes)
    seen = np.array([plane.visible for plane in planes])
    return SittingResult(name, names, ours, theirs, delta, noise, hidden, np.stack([seen, visible]))


def trace(scene: Scene, hidden: np.ndarray, paths: int, rounds: int, mesh: str = "display", passes: int = PASSES):
    """What the renderer makes of every plane: XYZ (planes,3), relative noise of its Y (planes,), and the share of its
    area that it sees (planes,). `hidden (planes,)` are taken whole and without sheen."""
    observer, count = scene.sitting.eye.observer, len(hidden)
    head, lights = TracedHead(scene, mesh), Lights(scene.sitting)
    traced = scene_of(head.mesh(bands_of(0)), lights.entries(bands_of(0)))
    alone = scene_of(head.mesh(bands_of(0)), {})
    samples, smooth, chosen, visible = _places_seen(head, alone, hidden)
    luminous = tristimulus(np.eye(81), 2)[:, 1]
    spectra, noise = np.zeros((2, rounds, count, 81))
    done, noisy = np.zeros(count), np.arange(count)
    for index in range(rounds):
        for number in range(passes):
            bands, seed = bands_of(number), index * PASSES + number
            retune(traced, {"head.vertex_albedo": head.albedo(bands), **lights.parameters(bands)})
            spectra[index][:, bands], noise[index][:, bands] = _one_pass(
                head, traced, alone, samples, smooth, chosen, hidden, noisy, bands, paths, seed
            )
        done[noisy] += 1
        mean = spectra.sum(axis=0) / done[:, None]
        error = np.sqrt((noise**2).sum(axis=0)) / done[:, None]
        theirs = tristimulus(mean, observer)
        relative = np.sqrt((luminous**2 * error**2).sum(axis=1)) / np.maximum(mean @ luminous, 1e-9)
        noisy = np.flatnonzero(relative > QUIET)
        if not len(noisy):
            break
    return theirs, relative, visible


def _places_seen(head: TracedHead, alone, hidden: np.ndarray):
    """Points spread evenly over all that the eye sees of each plane (over all of it where `hidden`): the samples,
    smooth normals, the chosen rows of each plane, and the share of its area seen."""
    faces, groups, tried = head.shape.faces, [], np.zeros(len(hidden))
    found = np.zeros(len(hidden))
    wanted = np.arange(len(hidden))
    for seed in range(_MOST_DRAWS):
        groups.append(sample_planes(head.vertices, faces, head.shape.plane_of_face, _DRAW, seed, wanted))
        seen = _seen(head, alone, groups[-1])
        tried[wanted] += _DRAW
        found += np.bincount(groups[-1].plane[seen], minlength=len(hidden))
        groups[-1] = groups[-1].only(seen | hidden[groups[-1].plane])
        wanted = np.flatnonzero(~hidden & (found < _DRAW / 4) & (found > 0))
        if not len(wanted):
            break
    samples = Samples.joined(groups)
    chosen = [np.flatnonzero(samples.plane == plane) for plane in range(len(hidden))]
    return samples, _smooth(head, samples), chosen, found / tried


def _seen(head: TracedHead, alone, samples: Samples) -> np.ndarray:
    """Which samples face the eye, by the mesh and by its smooth normals, with nothing between, (N,) bool."""
    toward = _toward(head, samples.places)
    facing = (_smooth(head, samples) * toward).sum(axis=1) > 0
    facing &= (samples.normals * toward).sum(axis=1) > 0
    return facing & open_toward(alone, samples.places + _LIFT * samples.normals, toward)


def _smooth(head: TracedHead, samples: Samples) -> np.ndarray:
    normals = samples.between(head.shape.faces, head.normals)
    return normals / np.linalg.norm(normals, axis=1, keepdims=True)


def _toward(head: TracedHead, places: np.ndarray) -> np.ndarray:
    toward = head.eye - places
    return toward / np.linalg.norm(toward, axis=1, keepdims=True)


def _one_pass(head, scene, alone, samples, smooth, chosen, hidden, planes, bands, paths, seed):
    """Mean light in three bands, and its standard error, of `planes`, (all planes, 3); nought for the rest."""
    random = np.random.default_rng(seed)
    rows = [_spread(chosen[plane], paths, random) for plane in planes]
    plane = np.repeat(planes, paths)
    rows = np.concatenate(rows)
    light = np.zeros((len(rows), 3))
    shown, rest = (np.flatnonzero(which) for which in (~hidden[plane], hidden[plane]))
    if len(shown):
        toward = _toward(head, samples.places[rows[shown]])
        origins = samples.places[rows[shown]] + _LIFT * toward
        light[shown] = radiance_along(scene, origins, -toward, -1, seed, together=paths)
    if len(rest):
        light[rest] = body_light(head, scene, alone, samples, smooth, rows[rest], bands, seed)
    return plane_means(light, plane, np.ones(len(plane)), len(hidden))


def _spread(rows: np.ndarray, count: int, random) -> np.ndarray:
    """`count` of `rows`, evenly along them."""
    return rows[((np.arange(count) + random.random(count)) / count * len(rows)).astype(int)]


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
