"""The rival of a whole study: Mitsuba, spectral and vectorised (`llvm_ad_spectral`), tracing the light of vertices
straight to XYZ, with our surface as its BSDF.

It is given what speeds it up: wavelengths by importance, four to a path; light sources sampled, choices shared out
evenly; only what the eye sees traced; compiled beforehand. Sky colours are RGB maps and a window is even, which cost it
nothing and only serve to tell its noise and its pace: its error is taken against itself, traced far longer.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
from referees.emitters import _face, _map_of
from referees.lit_sittings import TracedHead
from referees.renderer import VARIANT, mitsuba
from referees.skin_surface import surface_class
from referees.tracer import head_mesh, scene_of

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.illuminants.observer import KM, tristimulus
from sitterlight.shading.colour_spaces import SRGB_FROM_XYZ
from sitterlight.shading.resolve_lights import resolve_lights
from sitterlight.shading.scene import Scene

SPECTRAL = "llvm_ad_spectral"
_RANK = 6
_UNIT = 106.7502593994140625  # Mitsuba's ∫ȳ, by which it divides; from its source
TOGETHER = 36
"""Paths of a vertex that share out their choices evenly (multi-jittered), so that they are less noisy."""
_NAME = "spectral_body_under_sheen"


@contextmanager
def spectral() -> Iterator:
    """The module `mitsuba` in its spectral variant, while it lasts. ImportError where there is none."""
    mi = mitsuba()
    try:
        mi.set_variant(SPECTRAL)
        yield mi
    finally:
        mi.set_variant(VARIANT)


class SpectralHead:
    """A scene's head and lights for the spectral variant. Make and use it within `spectral()`."""

    def __init__(self, scene: Scene, mi):
        self.mi, self.head = mi, TracedHead(scene)
        means, basis = _in_few_spectra(scene.region_albedos)
        coefficients = self.head.weights @ means
        values = {"first": coefficients[:, :3], "second": coefficients[:, 3:], **self.head.gloss}
        mi.register_bsdf(_NAME, _surface_class(mi, basis))
        head = self.head
        mesh = head_mesh(head.vertices, head.shape.faces, head.normals, values, {"type": _NAME})
        self.scene = scene_of(mesh, _entries(mi, scene.sitting))
        self.integrator = mi.load_dict({"type": "path", "max_depth": -1, "rr_depth": 12})

    def XYZ(self, origins: np.ndarray, directions: np.ndarray, paths: int, seed: int) -> np.ndarray:
        """XYZ (N,3) cd/m² along rays, each the mean of about `paths`, a multiple of TOGETHER."""
        runs = max(1, round(paths / TOGETHER))
        traced = [self._traced(origins, directions, seed * 1000 + run) for run in range(runs)]
        return np.mean(traced, axis=0)

    def _traced(self, origins: np.ndarray, directions: np.ndarray, seed: int) -> np.ndarray:
        mi = self.mi
        sampler = mi.load_dict({"type": "multijitter", "sample_count": TOGETHER})
        sampler.set_samples_per_wavefront(TOGETHER)
        sampler.seed(seed, len(origins) * TOGETHER)
        rows = [np.ascontiguousarray(np.repeat(each, TOGETHER, axis=0).T, np.float32) for each in (origins, directions)]
        wavelengths, weight = mi.sample_rgb_spectrum(mi.sample_shifted(sampler.next_1d()))
        ray = mi.Ray3f(mi.Point3f(rows[0]), mi.Vector3f(rows[1]), 0.0, wavelengths)
        found, _, _ = self.integrator.sample(self.scene, sampler, ray)
        XYZ = np.array(mi.spectrum_to_xyz(found * weight, wavelengths)).T
        return XYZ.reshape(len(origins), TOGETHER, 3).mean(axis=1, dtype=float)


def _in_few_spectra(albedos: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Albedos (R,81) as weights (R,k) of spectra (k,81): what differs over a head has few dimensions."""
    left, size, right = np.linalg.svd(albedos, full_matrices=False)
    return left[:, :_RANK] * size[:_RANK], right[:_RANK]


def _entries(mi, sitting) -> dict[str, dict]:
    entries, image = {}, 0.0
    for index, source in enumerate(resolve_lights(sitting)):
        if hasattr(source, "pattern"):
            image = image + _map_of(source) @ (tristimulus(source.basis) @ SRGB_FROM_XYZ.T)
            continue
        frame, weights, basis = _face(sitting, source)
        power = weights.reshape(-1, len(basis)).mean(axis=0) @ basis * (KM * _UNIT)
        values = ", ".join(f"{value:.6g}" for value in power)
        span = {"wavelength_min": float(WAVELENGTHS[0]), "wavelength_max": float(WAVELENGTHS[-1])}
        radiance = {"type": "regular", **span, "values": values}
        entries[f"face{index}"] = {**frame, "emitter": {"type": "area", "radiance": radiance}}
    if not np.isscalar(image):
        bitmap = mi.Bitmap(np.ascontiguousarray(np.maximum(image, 0), np.float32))
        entries["dome"] = {"type": "envmap", "bitmap": bitmap}
    return entries


def _surface_class(mi, basis: np.ndarray):
    """The referees' surface with spectra for channels: its albedo by six weights of `basis (6,81)`."""
    import drjit as dr

    bands, base = basis.shape[1], surface_class(mi, ("first", "second"))

    class SpectralBodyUnderSheen(base):
        def __init__(self, properties):
            base.__init__(self, properties)
            spectra = mi.TensorXf(np.ascontiguousarray(basis.T, np.float32))
            self.spectra = mi.Texture1f(spectra, wrap_mode=dr.WrapMode.Clamp)

        def _albedo(self, si, active):
            first, second = self.first.eval_3(si, active), self.second.eval_3(si, active)
            weights = [first.x, first.y, first.z, second.x, second.y, second.z]
            albedo = mi.UnpolarizedSpectrum(0)
            for index in range(4):
                place = ((si.wavelengths[index] - 380) / 400 * (bands - 1) + 0.5) / bands
                found = self.spectra.eval(mi.Point1f(place), active)
                albedo[index] = sum(weight * value for weight, value in zip(weights, found, strict=True))
            return albedo

        def to_string(self):
            return "SpectralBodyUnderSheen[]"

    return SpectralBodyUnderSheen
