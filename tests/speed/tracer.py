"""A whole study and a relight, against path tracing to the same error of the vertices' colours."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from dataclasses import replace
from itertools import count
from unittest import mock

import numpy as np

from sitterlight.shading import geometry
from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.keying import resolve_eye
from sitterlight.shading.rays import RayCaster
from sitterlight.shading.scene import Scene, light_scene
from sitterlight.shading.sitting import Sitting

from .lit import FAR_LAMP, GOLDEN, codes_of, four_lights
from .race import Ratio, race

_ASKED, _REFERENCE_PATHS = 1000, 144
_LONG = 4608
_LIFT = 0.02


def tracer_races(rounds: int = 3) -> Iterator[Ratio]:
    """Both ratios; none where Mitsuba or its LLVM is missing."""
    try:
        from .spectral_tracer import TOGETHER, SpectralHead, spectral

        with spectral():
            pass
    except ImportError as problem:
        print(f"study_vs_path_tracer, relight_vs_path_tracer: {problem}", file=sys.stderr)
        return
    sitting = four_lights(under_skin=False)
    scene = light_scene(sitting)
    eye = resolve_eye(scene)
    rays, asked = seen_rays(scene)
    ours = eye.Lab(scene.head.to_display @ scene.XYZ)[asked]
    error = our_error(scene, eye, ours[:_ASKED], rays[0][:_ASKED], rays[1][:_ASKED])
    lamps, numbers = _strengths(sitting), count(100)
    with spectral() as mi:
        head = SpectralHead(scene, mi)
        paths = _paths_for(error, head, [each[:_ASKED] for each in rays], eye)
        rivals = {
            "study": lambda: _from_cold(sitting),
            "paths": lambda: head.XYZ(*rays, TOGETHER, next(numbers)),
        }
        best = race(rivals, rounds)
        best |= race({"relight": lambda: codes_of(next(lamps), eye)}, 10 * rounds)
    pace = best["paths"].times(1 / TOGETHER)
    same = (
        f"RMS ΔE00 {error:.2f} over the {len(asked)} display vertices that the eye sees, for which it needs "
        f"{paths:.0f} paths each at {pace.seconds * 1e9 / len(asked):.0f} ns; without light under the skin"
    )
    what = "a whole study from cold, transfer included, to vertex colours, against Mitsuba at equal error"
    yield Ratio("study_vs_path_tracer", what, best["study"], pace.times(paths), 3, True, same)
    what = "one lamp's strength changed, to display bytes, against the same"
    yield Ratio("relight_vs_path_tracer", what, best["relight"], pace.times(paths), 300, True)


def _paths_for(error: float, head, rays: list[np.ndarray], eye) -> float:
    """How many paths a vertex bring the tracer's RMS ΔE00 down to `error`."""
    long = eye.Lab(head.XYZ(*rays, _LONG, 7))
    paths = wanted = 36
    for seed in range(8, 12):  # noise falls with the root of the number of paths once it is small, not before
        found = _rms(delta_E00(long, eye.Lab(head.XYZ(*rays, paths, seed))))
        wanted = paths * (found / error) ** 2
        if wanted <= 1.3 * paths or paths == _LONG // 4:
            break
        paths = min(round(wanted), _LONG // 4)
    return wanted


def seen_rays(scene: Scene) -> tuple[tuple[np.ndarray, np.ndarray], np.ndarray]:
    """Rays (n,3), (n,3) in the room that meet each display vertex that the eye sees, in no order, and their numbers.

    They end a hair inside one of the faces at the vertex, since a ray to a corner may slip past.
    """
    mesh, turn = scene.head.display, scene.rotation.T
    first = np.full(len(mesh.vertices), -1)
    corner = np.zeros(len(mesh.vertices), int)
    for place in range(3):
        first[mesh.faces[:, place]], corner[mesh.faces[:, place]] = np.arange(len(mesh.faces)), place
    corners = mesh.vertices[mesh.faces[first]]
    weights = np.full((len(first), 3), 0.01)
    weights[np.arange(len(first)), corner] = 0.98
    places = np.einsum("nk,nkc->nc", weights, corners)
    toward = scene.eye_position - places
    distance = np.linalg.norm(toward, axis=1, keepdims=True)
    toward /= distance
    flat = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    flat /= np.linalg.norm(flat, axis=1, keepdims=True)
    facing = ((mesh.normals * toward).sum(axis=1) > 0.05) & ((flat * toward).sum(axis=1) > 0.05)
    blocked = RayCaster(mesh.vertices, mesh.faces).occluded(places + 0.05 * flat, toward)
    asked = np.random.default_rng(5).permutation(np.flatnonzero(facing & ~blocked))
    origins = places[asked] + _LIFT * toward[asked]
    return (origins @ turn, -toward[asked] @ turn), asked


def our_error(scene: Scene, eye, ours: np.ndarray, origins: np.ndarray, directions: np.ndarray) -> float:
    """RMS ΔE00 of ours against the referee's path tracer in all 81 bands, its own noise taken off."""
    from referees.emitters import Lights
    from referees.lit_sittings import PASSES, TracedHead, bands_of
    from referees.tracer import radiance_along, retune, scene_of

    from sitterlight.illuminants.observer import tristimulus

    head, lights = TracedHead(scene), Lights(scene.sitting)
    traced = scene_of(head.mesh(bands_of(0)), lights.entries(bands_of(0)))
    halves = np.zeros((2, len(ours), 81))
    many = [np.repeat(each, _REFERENCE_PATHS, axis=0) for each in (origins, directions)]
    for number in range(PASSES):
        bands = bands_of(number)
        retune(traced, {"head.vertex_albedo": head.albedo(bands), **lights.parameters(bands)})
        for half in range(2):
            light = radiance_along(traced, *many, -1, 2 * number + half, together=_REFERENCE_PATHS)
            halves[half][:, bands] = light.reshape(len(ours), _REFERENCE_PATHS, 3).mean(axis=1)
    XYZ = tristimulus(halves)
    both = _rms(delta_E00(ours, eye.Lab(XYZ.mean(axis=0))))
    noise = _rms(delta_E00(*map(eye.Lab, XYZ))) / 2
    return float(np.sqrt(max(both**2 - noise**2, (0.2 * both) ** 2)))


def _from_cold(sitting: Sitting) -> np.ndarray:
    """All of a study that is calculation: transfer, light, and colours at the display vertices."""
    geometry.forget()
    with mock.patch.dict(os.environ, {"SITTERLIGHT_CACHE": ""}):
        scene = light_scene(sitting)
    return resolve_eye(scene).Lab(scene.head.to_display @ scene.XYZ)


def _strengths(sitting: Sitting) -> Iterator[Sitting]:
    for number in count(1):
        lux = 1000 + 1000 * (number * GOLDEN % 1)
        lights = tuple(replace(x, illuminance=lux) if x.name == FAR_LAMP.name else x for x in sitting.lights)
        yield replace(sitting, lights=lights)


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(values))))
