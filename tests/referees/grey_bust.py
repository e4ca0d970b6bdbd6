"""First referee: the bust in one matt grey under the overcast sky, mean light of every plane.

Tolerances of the project: 0.7 % of every plane's mean for direct light, 1.5 % with bounces.
"""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from math import isqrt
from unittest.mock import patch

import numpy as np

from sitterlight.meshes.library import load_head
from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.resolve_lights import resolve_lights
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import Sitting, SkyLight, SurroundSetting

from .emitters import Lights, of_surfaces_alone
from .samples import plane_means, sample_planes
from .tracer import head_mesh, radiance_along, scene_of

GREY = 0.5
DIRECT, WITH_BOUNCES = 0.007, 0.015
QUIET = 0.002
_BAND = [35, 35, 35]
_LIFT = 0.02


@dataclass(frozen=True, eq=False)
class GreyResult:
    """`ours` and `theirs (planes,)`, radiance of one band; `noise (planes,)` standard error of theirs, relative."""

    ground: float
    bounces: int
    names: tuple[str, ...]
    ours: np.ndarray
    theirs: np.ndarray
    noise: np.ndarray

    @property
    def difference(self) -> np.ndarray:
        """Ours over theirs, less one."""
        return self.ours / self.theirs - 1

    @property
    def tolerance(self) -> float:
        """What the project allows."""
        return WITH_BOUNCES if self.bounces else DIRECT


def grey_sitting(ground: float) -> Sitting:
    """The overcast sky and a grey ground."""
    sky = SkyLight(sky="overcast", spectrum="E", illuminance=1000)
    return of_surfaces_alone(Sitting(lights=(sky,), surround=SurroundSetting(ground=ground)))


@contextmanager
def matt_grey():
    """Every region of every head in one grey, without sheen."""
    count = len(REGIONS)
    with (
        patch("sitterlight.shading.staging.albedos_of", lambda sitting, skin: np.full((count, 81), GREY)),
        patch("sitterlight.shading.staging.surface_of", lambda sitting: (np.full(count, 0.35), np.zeros(count))),
    ):
        yield


def our_planes(sitting: Sitting, bounces: int) -> np.ndarray:
    """Mean luminance (planes,) of the matt grey bust, over whole planes."""
    with matt_grey():
        scene = light_scene(sitting, bounces=max(bounces, 1))
    weights = scene.head.plane_weights
    paths = ("body", "bounce") if bounces else ("body",)
    light = sum(X[:, 1] for part, X in zip(scene.parts, scene.part_XYZ, strict=True) if part.path in paths)
    return (weights @ light) / np.asarray(weights.sum(axis=1)).ravel() / scene.sources[0].luminance_of_basis[0]


def their_planes(sitting: Sitting, bounces: int, count: int, mesh: str = "calculation", rounds: int = 1):
    """The same by path tracing, and the standard errors, from `count` paths a plane in each of `rounds`; once a plane
    is quiet, none is added. Least noise for a `count` that is a square number."""
    head = load_head()
    shape = head if mesh == "calculation" else head.display
    surface = {"type": "diffuse", "reflectance": {"type": "rgb", "value": [GREY] * 3}}
    scene = scene_of(head_mesh(shape.vertices, shape.faces, shape.normals, {}, surface), Lights(sitting).entries(_BAND))
    together = count if isqrt(count) ** 2 == count else 0
    total, square, done = np.zeros((3, len(head.planes)))
    noisy = np.arange(len(head.planes))
    for seed in range(rounds):
        samples = sample_planes(shape.vertices, shape.faces, shape.plane_of_face, count, seed, noisy)
        origins = samples.places + _LIFT * samples.normals
        light = radiance_along(scene, origins, -samples.normals, bounces + 2, seed, together=together)
        mean, error = plane_means(light.mean(axis=1)[:, None], samples.plane, np.ones(len(light)), len(head.planes))
        total, square = total + mean[:, 0], square + error[:, 0] ** 2
        done[noisy] += 1
        noisy = np.flatnonzero(np.sqrt(square) > QUIET * total)
        if not len(noisy):
            break
    return total / done, np.sqrt(square) / done


def compare(ground: float, bounces: int, count: int = 65536, mesh: str = "calculation", rounds: int = 1) -> GreyResult:
    """One comparison; `bounces` 0 is direct light."""
    sitting = grey_sitting(ground)
    theirs, error = their_planes(sitting, bounces, count, mesh, rounds)
    ours = our_planes(sitting, bounces)
    names = tuple(f"{plane.name} {plane.side}" for plane in load_head().planes)
    band = resolve_lights(sitting)[0].basis[0, _BAND[0]]
    return GreyResult(ground, bounces, names, ours, theirs / band, error / theirs)
