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
from referees.tracer import head_mesh, scene_of

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.illuminants.observer import KM, tristimulus
from sitterlight.shading.colour_spaces import SRGB_FROM_XYZ
from sitterlight.shading.resolve_lights import resolve_lights
from sitterlight.shading.scene import Scene
from sitterlight.shading.surface import REFRACTIVE_INDEX, ROUGHEST, SMOOTHEST, directional_albedo_table, mean_albedo

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
    """referees/skin_surface.py once more, with spectra for channels."""
    import drjit as dr

    table = np.ascontiguousarray(directional_albedo_table(), np.float32)
    rows, columns = table.shape
    means = mean_albedo(np.linspace(SMOOTHEST, ROUGHEST, rows)).astype(np.float32)
    bands = basis.shape[1]

    class SpectralBodyUnderSheen(mi.BSDF):
        def __init__(self, properties):
            mi.BSDF.__init__(self, properties)
            self.first, self.second, self.roughness, self.oil = (
                mi.load_dict({"type": "mesh_attribute", "name": f"vertex_{name}"})
                for name in ("first", "second", "roughness", "oil")
            )
            front = mi.BSDFFlags.FrontSide | mi.BSDFFlags.SpatiallyVarying
            self.m_components = [mi.BSDFFlags.DiffuseReflection | front, mi.BSDFFlags.GlossyReflection | front]
            self.m_flags = self.m_components[0] | self.m_components[1]
            self.curve = mi.Texture2f(mi.TensorXf(table[..., None]), wrap_mode=dr.WrapMode.Clamp)
            self.mean = mi.Texture1f(mi.TensorXf(means[..., None]), wrap_mode=dr.WrapMode.Clamp)
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

        def _row(self, roughness):
            return ((roughness - SMOOTHEST) / (ROUGHEST - SMOOTHEST) * (rows - 1) + 0.5) / rows

        def _mirrored(self, roughness, cosine, active):
            column = (dr.clip(cosine, 0, 1) * (columns - 1) + 0.5) / columns
            return self.curve.eval(mi.Point2f(column, self._row(roughness)), active)[0]

        def _facets(self, roughness):
            return mi.MicrofacetDistribution(mi.MicrofacetType.GGX, roughness, True)

        def sample(self, ctx, si, sample1, sample2, active):
            facet, _ = self._facets(self.roughness.eval_1(si, active)).sample(si.wi, sample2)
            glossy = sample1 < 0.5
            wo = dr.select(glossy, mi.reflect(si.wi, facet), mi.warp.square_to_cosine_hemisphere(sample2))
            value, density = self.eval_pdf(ctx, si, wo, active)
            result = mi.BSDFSample3f()
            result.wo, result.pdf, result.eta = wo, density, 1.0
            result.sampled_component = dr.select(glossy, mi.UInt32(1), mi.UInt32(0))
            result.sampled_type = dr.select(
                glossy, mi.UInt32(+mi.BSDFFlags.GlossyReflection), mi.UInt32(+mi.BSDFFlags.DiffuseReflection)
            )
            return result, dr.select(active & (density > 0), value / density, 0)

        def eval(self, ctx, si, wo, active):
            return self.eval_pdf(ctx, si, wo, active)[0]

        def pdf(self, ctx, si, wo, active):
            return self.eval_pdf(ctx, si, wo, active)[1]

        def eval_pdf(self, ctx, si, wo, active):
            light, eye = mi.Frame3f.cos_theta(wo), mi.Frame3f.cos_theta(si.wi)
            active = active & (light > 0) & (eye > 0)
            roughness, oil = self.roughness.eval_1(si, active), self.oil.eval_1(si, active)
            half = dr.normalize(wo + si.wi)
            at_facet = dr.dot(half, wo)
            square = dr.square(roughness)
            facets = square / (dr.pi * dr.square(dr.square(half.z) * (square - 1) + 1))
            masking = 0.5 / (
                eye * dr.sqrt(square + (1 - square) * dr.square(light))
                + light * dr.sqrt(square + (1 - square) * dr.square(eye))
            )
            sheen = oil * mi.fresnel(at_facet, mi.Float(REFRACTIVE_INDEX))[0] * facets * masking
            entered = (1 - oil * self._mirrored(roughness, light, active)) * (
                1 - oil * self._mirrored(roughness, eye, active)
            )
            mean = self.mean.eval(mi.Point1f(self._row(roughness)), active)[0]
            body = self._albedo(si, active) * (entered / (dr.pi * (1 - oil * mean)))
            density = 0.5 * light / dr.pi + 0.5 * self._facets(roughness).pdf(si.wi, half) / (4 * at_facet)
            return dr.select(active, (body + sheen) * light, 0), dr.select(active, density, 0)

        def traverse(self, callback):
            pass

        def parameters_changed(self, keys):
            pass

        def to_string(self):
            return "SpectralBodyUnderSheen[]"

    return SpectralBodyUnderSheen
