"""A sitting seen twice, by the calculation and by the path tracer, and ten times their difference."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

from sitterlight.illuminants.observer import tristimulus
from sitterlight.shading.keying import resolve_eye
from sitterlight.shading.rays import RayCaster
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import Sitting

from .emitters import Lights, of_surfaces_alone
from .lit_sittings import PASSES, TracedHead, bands_of
from .tracer import radiance_along, retune, scene_of

_HALF_WIDTH, _HALF_HEIGHT = 215.0, 230.0
_MIDDLE = np.array([0.0, -85.0, 0.0])


def portrait(sitting: Sitting, path: Path, width: int = 220, paths: int = 8) -> None:
    """Write ours, theirs and 0.5 + 10 (ours − theirs) in screen values side by side; `paths` a pixel and pass."""
    sitting = of_surfaces_alone(sitting)
    scene = light_scene(sitting)
    eye, head = resolve_eye(scene), TracedHead(scene)
    height = round(width * _HALF_HEIGHT / _HALF_WIDTH)
    rays = _rays(head.eye, width, height)
    hits = RayCaster(head.vertices, head.shape.faces).first_hit(np.broadcast_to(head.eye, rays.shape), rays)
    met = np.flatnonzero(hits.face >= 0)
    u, v = hits.u[met, None], hits.v[met, None]
    corners = (scene.head.to_display @ scene.XYZ)[head.shape.faces[hits.face[met]]]
    ours = corners[:, 0] * (1 - u - v) + corners[:, 1] * u + corners[:, 2] * v
    theirs = _traced(sitting, head, rays[met], paths)
    screens = []
    for XYZ in (ours, theirs):
        flat = np.full((len(rays), 3), 0.35)
        flat[met] = _screen(eye.screen_XYZ(XYZ))
        screens.append(flat.reshape(height, width, 3))
    difference = np.clip(0.5 + 10 * (screens[0] - screens[1]), 0, 1)
    sheet = np.concatenate([*screens, difference], axis=1)
    Image.fromarray((255 * sheet + 0.5).astype(np.uint8)).save(path)


def _rays(eye: np.ndarray, width: int, height: int) -> np.ndarray:
    ahead = _MIDDLE - eye
    distance = np.linalg.norm(ahead)
    ahead = ahead / distance
    right = np.cross(ahead, [0, 1, 0])
    right /= np.linalg.norm(right)
    up = np.cross(right, ahead)
    x = ((np.arange(width) + 0.5) / width * 2 - 1) * _HALF_WIDTH / distance
    y = (1 - (np.arange(height) + 0.5) / height * 2) * _HALF_HEIGHT / distance
    rays = ahead + x[None, :, None] * right + y[:, None, None] * up
    return (rays / np.linalg.norm(rays, axis=-1, keepdims=True)).reshape(-1, 3)


def _traced(sitting: Sitting, head: TracedHead, rays: np.ndarray, paths: int) -> np.ndarray:
    lights = Lights(sitting)
    scene = scene_of(head.mesh(bands_of(0)), lights.entries(bands_of(0)))
    spectra = np.zeros((len(rays), 81), np.float32)
    many = np.repeat(rays, paths, axis=0)
    origins = np.broadcast_to(head.eye, many.shape)
    for number in range(PASSES):
        bands = bands_of(number)
        retune(scene, {"head.vertex_albedo": head.albedo(bands), **lights.parameters(bands)})
        spectra[:, bands] = radiance_along(scene, origins, many, -1, number).reshape(-1, paths, 3).mean(axis=1)
    return tristimulus(spectra, sitting.eye.observer)


def _screen(XYZ: np.ndarray) -> np.ndarray:
    """sRGB in 0 … 1 by IEC 61966-2-1, clipped."""
    matrix = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])
    linear = np.clip(XYZ @ matrix.T, 0, 1)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
