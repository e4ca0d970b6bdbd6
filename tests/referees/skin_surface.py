"""Our surface, body under sheen, as a BSDF of the renderer. Values per vertex come from the mesh: `vertex_albedo`
(the body in three bands), `vertex_roughness`, `vertex_oil`. Only the curve of the sheen's directional albedo is taken
from the calculation, and that has a referee of its own (tests/test_against_fresnel.py)."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from sitterlight.shading.surface import REFRACTIVE_INDEX, ROUGHEST, SMOOTHEST, directional_albedo_table, mean_albedo

from .renderer import mitsuba

NAME = "body_under_sheen"


@lru_cache(maxsize=1)
def register() -> dict:
    """Makes the surface known to the renderer; its scene entry."""
    mi = mitsuba()
    mi.register_bsdf(NAME, surface_class(mi))
    return {"type": NAME}


def surface_class(mi, attributes: tuple[str, ...] = ("albedo",)):
    """The surface for a variant of the renderer. The body's colour comes from `attributes` of the vertices, by
    `_albedo`, which a class of its own may replace."""
    import drjit as dr

    table = np.ascontiguousarray(directional_albedo_table(), np.float32)
    rows, columns = table.shape
    means = mean_albedo(np.linspace(SMOOTHEST, ROUGHEST, rows)).astype(np.float32)

    class BodyUnderSheen(mi.BSDF):
        def __init__(self, properties):
            mi.BSDF.__init__(self, properties)
            for name in (*attributes, "roughness", "oil"):
                setattr(self, name, mi.load_dict({"type": "mesh_attribute", "name": f"vertex_{name}"}))
            front = mi.BSDFFlags.FrontSide | mi.BSDFFlags.SpatiallyVarying
            self.m_components = [mi.BSDFFlags.DiffuseReflection | front, mi.BSDFFlags.GlossyReflection | front]
            self.m_flags = self.m_components[0] | self.m_components[1]
            self.curve = mi.Texture2f(mi.TensorXf(table[..., None]), wrap_mode=dr.WrapMode.Clamp)
            self.mean = mi.Texture1f(mi.TensorXf(means[..., None]), wrap_mode=dr.WrapMode.Clamp)

        def _albedo(self, si, active):
            return self.albedo.eval(si, active)

        def _row(self, roughness):
            return ((roughness - SMOOTHEST) / (ROUGHEST - SMOOTHEST) * (rows - 1) + 0.5) / rows

        def _mirrored(self, roughness, cosine, active):
            column = (dr.clip(cosine, 0, 1) * (columns - 1) + 0.5) / columns
            return self.curve.eval(mi.Point2f(column, self._row(roughness)), active)[0]

        def _facets(self, roughness):
            return mi.MicrofacetDistribution(mi.MicrofacetType.GGX, roughness, True)

        def sample(self, ctx, si, sample1, sample2, active):
            roughness = self.roughness.eval_1(si, active)
            facet, _ = self._facets(roughness).sample(si.wi, sample2)
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
            bend = dr.square(half.z) * (square - 1) + 1
            facets = square / (dr.pi * dr.square(bend))
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
            return "BodyUnderSheen[]"

    return BodyUnderSheen
