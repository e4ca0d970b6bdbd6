"""Lamps and a window before the bust, and what is seen of them by a ray for every sample."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from sitterlight.meshes.library import load_head
from sitterlight.shading.rays import RayCaster, spatial_order
from sitterlight.shading.resolve_lights import resolve_lights
from sitterlight.shading.sitting import LampLight, Light, Sitting, WindowLight
from sitterlight.shading.sources import Patch
from sitterlight.shading.transfer import transfer

LIGHTS = {
    "distant": LampLight(azimuth=-60, elevation=30, size=12, illuminance=300),
    "near": LampLight(azimuth=100, elevation=10, size=None, distance=1500, diameter=300, illuminance=200),
    "window": WindowLight(azimuth=60, elevation=10, distance=1800, width=1200, height=1500, illuminance=600),
}


def patch_of(light: Light) -> Patch:
    """The only light of a sitting, as a source."""
    return resolve_lights(Sitting(lights=(light,)))[0]


@lru_cache(maxsize=1)
def bust() -> tuple:
    """What `shadows.shadows` is told of the bust."""
    head = load_head()
    return head, transfer(head), RayCaster(head.vertices, head.faces), spatial_order(head.vertices)


def from_everywhere(patch: Patch) -> np.ndarray:
    """What each vertex of the bust sees of a patch, by a ray for every sample before its face."""
    head, _, caster, _ = bust()
    origins, visible = head.ray_origins, np.zeros((len(head.vertices), len(patch.points)), bool)
    for index, point in enumerate(patch.points):
        toward = np.broadcast_to(point, origins.shape) if patch.distant else point - head.vertices
        facing = np.flatnonzero((head.normals * toward).sum(axis=1) > 0)
        if patch.distant:
            visible[facing, index] = ~caster.occluded(origins[facing], toward[facing])
        else:
            visible[facing, index] = caster.reaches(origins[facing], np.broadcast_to(point, (len(facing), 3)))
    return visible
