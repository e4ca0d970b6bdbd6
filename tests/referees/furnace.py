"""The white furnace in the renderer: body under sheen, white in a white world, sends back all that it gets.

This checks the surface itself, in sampling and energy, before it is trusted as a referee. Planes with deep folds are
left some tenths of a percent short: there the smooth normals of the mesh send light into its own faces.
"""

from __future__ import annotations

import numpy as np

from sitterlight.meshes.library import load_head

from .samples import plane_means, sample_planes
from .skin_surface import register
from .tracer import head_mesh, radiance_along, scene_of


def white_furnace(roughness: float, oil: float, count: int = 1024) -> float:
    """Mean radiance over all planes of the white bust in a world of radiance one, after at most 100 bounces."""
    head = load_head()
    shape, vertices = head.display, len(head.display.vertices)
    surface = {"roughness": np.full(vertices, roughness), "oil": np.full(vertices, oil)}
    mesh = head_mesh(
        shape.vertices, shape.faces, shape.normals, {"albedo": np.ones((vertices, 3)), **surface}, register()
    )
    white = {"type": "constant", "radiance": {"type": "rgb", "value": [1.0, 1.0, 1.0]}}
    scene = scene_of(mesh, {"white": white})
    samples = sample_planes(shape.vertices, shape.faces, shape.plane_of_face, count)
    light = radiance_along(scene, samples.places + 0.02 * samples.normals, -samples.normals, 100, 0)
    means, _ = plane_means(light.mean(axis=1)[:, None], samples.plane, np.ones(len(light)), len(head.planes))
    return float(means.mean())
