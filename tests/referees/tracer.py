"""A head in the renderer, and the light that its points send: path tracing with nothing shared but the scene."""

from __future__ import annotations

import numpy as np

from .renderer import mitsuba


def head_mesh(vertices, faces, normals, attributes: dict[str, np.ndarray], surface: dict):
    """A triangle mesh of the renderer with smooth normals, values per vertex and a surface (a dict of a BSDF)."""
    mi = mitsuba()
    properties = mi.Properties()
    properties["surface"] = mi.load_dict(surface)
    mesh = mi.Mesh("head", len(vertices), len(faces), properties, has_vertex_normals=True)
    for name, values in attributes.items():
        width = 1 if values.ndim == 1 else values.shape[1]
        mesh.add_attribute(f"vertex_{name}", width, np.ascontiguousarray(values, np.float32).ravel())
    parameters = mi.traverse(mesh)
    parameters["vertex_positions"] = np.ascontiguousarray(vertices, np.float32).ravel()
    parameters["vertex_normals"] = np.ascontiguousarray(normals, np.float32).ravel()
    parameters["faces"] = np.ascontiguousarray(faces, np.uint32).ravel()
    parameters.update()
    return mesh


def scene_of(mesh, entries: dict[str, dict]):
    """The head among its lights."""
    return mitsuba().load_dict({"type": "scene", "head": mesh, **entries})


def retune(scene, values: dict[str, np.ndarray]) -> None:
    """Give a scene other values, by the renderer's names of them."""
    import drjit as dr

    mi = mitsuba()
    parameters = mi.traverse(scene)
    for name, value in values.items():
        kind = type(parameters[name])
        value = np.ascontiguousarray(value, np.float32)
        parameters[name] = (
            mi.TensorXf(value) if dr.is_tensor_v(kind) else kind(value if kind is not mi.Float else value.ravel())
        )
    parameters.update()


def radiance_along(
    scene, origins: np.ndarray, directions: np.ndarray, depth: int, seed: int, hide: bool = False, together: int = 0
):
    """Radiance (N,3) of the scene's three bands along rays; `depth` surfaces and no more, −1 for all. Each run of
    `together` rays shares out its choices evenly (multi-jittered sampling), which halves the noise's square."""
    mi = mitsuba()
    settings = {"type": "path", "max_depth": depth, "rr_depth": 1000 if depth > 0 else 12, "hide_emitters": hide}
    integrator = mi.load_dict(settings)
    sampler = mi.load_dict({"type": "multijitter" if together else "independent", "sample_count": together or 1})
    if together:
        sampler.set_samples_per_wavefront(together)
    sampler.seed(seed, len(origins))
    ray = mi.Ray3f(mi.Point3f(_columns(origins)), mi.Vector3f(_columns(directions)))
    found, _, _ = integrator.sample(scene, sampler, ray)
    return np.array(found).reshape(3, -1).T.astype(float)


def open_toward(scene, origins: np.ndarray, directions: np.ndarray) -> np.ndarray:
    """Whether rays leave the scene unhindered, (N,) bool. For scenes with no lamp in the way."""
    mi = mitsuba()
    ray = mi.Ray3f(mi.Point3f(_columns(origins)), mi.Vector3f(_columns(directions)))
    return ~np.array(scene.ray_test(ray))


def _columns(rows: np.ndarray) -> np.ndarray:
    return np.ascontiguousarray(np.asarray(rows, np.float32).T)
