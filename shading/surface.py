"""How the skin's surface mirrors light, and how body and sheen share what arrives.

Sheen is a rough dielectric boundary: Fresnel's equations for an uncoated, non-absorbing medium (Born & Wolf,
Principles of Optics, section 1.5), the GGX distribution of facets (Walter et al. 2007) and Smith's height-correlated
masking (Heitz 2014, Journal of Computer Graphics Techniques 3(2)). `roughness` is GGX's alpha itself.
Body and sheen share the light so that the pair is reciprocal and never returns more than it gets:

    body BRDF = ρ (1 − E(i)) (1 − E(o)) / (π (1 − Ē))

with E the directional albedo of the sheen and Ē its cosine-weighted mean (Ashikhmin & Shirley 2000; Kelemen &
Szirmay-Kalos 2001 give the reciprocal form).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

REFRACTIVE_INDEX = 1.4
SMOOTHEST, ROUGHEST = 0.05, 1.0

_ROUGHNESS_NODES = np.linspace(SMOOTHEST, ROUGHEST, 39)
_COSINE_NODES = np.linspace(0.0, 1.0, 65)


def fresnel(cosine: np.ndarray | float, index: float = REFRACTIVE_INDEX) -> np.ndarray:
    """Unpolarised reflectance of a boundary of relative `index` at incidence `cosine` (any shape)."""
    cosine = np.clip(np.asarray(cosine, dtype=float), 0.0, 1.0)
    inner = np.sqrt(1 - (1 - cosine**2) / index**2)
    parallel = (index * cosine - inner) / (index * cosine + inner)
    perpendicular = (cosine - index * inner) / (cosine + index * inner)
    return (parallel**2 + perpendicular**2) / 2


def sheen_brdf(
    to_light: np.ndarray, to_eye: np.ndarray, normal: np.ndarray, roughness: float | np.ndarray
) -> np.ndarray:
    """BRDF of the sheen, 1/sr, for unit vectors (..., 3); zero where light or eye is below the surface."""
    half = to_light + to_eye
    half = half / np.maximum(np.linalg.norm(half, axis=-1, keepdims=True), 1e-12)
    light, eye = (to_light * normal).sum(-1), (to_eye * normal).sum(-1)
    facing, at_facet = (half * normal).sum(-1), (half * to_light).sum(-1)
    above = (light > 0) & (eye > 0)
    light, eye = np.maximum(light, 1e-6), np.maximum(eye, 1e-6)
    square = np.asarray(roughness, dtype=float) ** 2
    facets = square / (np.pi * (facing**2 * (square - 1) + 1) ** 2)
    return np.where(above, fresnel(at_facet) * facets * _masking_over_cosines(light, eye, square), 0.0)


def directional_albedo(roughness: np.ndarray | float, cosine: np.ndarray | float) -> np.ndarray:
    """E: the share of light from incidence `cosine` that the sheen of `roughness` returns, broadcast together."""
    table = directional_albedo_table()
    row = np.interp(roughness, _ROUGHNESS_NODES, np.arange(len(_ROUGHNESS_NODES)))
    column = np.clip(np.asarray(cosine, dtype=float), 0, 1) * (len(_COSINE_NODES) - 1)
    row, column = np.broadcast_arrays(row, column)
    low_row = np.minimum(row.astype(int), len(_ROUGHNESS_NODES) - 2)
    low_column = np.minimum(column.astype(int), len(_COSINE_NODES) - 2)
    part_row, part_column = row - low_row, column - low_column
    below = table[low_row, low_column] * (1 - part_column) + table[low_row, low_column + 1] * part_column
    above = table[low_row + 1, low_column] * (1 - part_column) + table[low_row + 1, low_column + 1] * part_column
    return below * (1 - part_row) + above * part_row


def mean_albedo(roughness: np.ndarray | float) -> np.ndarray:
    """Ē = 2 ∫ E(μ) μ dμ, the sheen's share of light from a uniform dome."""
    weight = 2 * _COSINE_NODES
    means = np.trapezoid(directional_albedo_table() * weight, _COSINE_NODES, axis=1)
    return np.interp(roughness, _ROUGHNESS_NODES, means)


def body_albedo(reflectance: np.ndarray, sheen: float = 0.0, sheen_included: bool = True) -> np.ndarray:
    """The skin's body ρ = (R − E) / (1 − E) of a measured `reflectance` (any shape), `sheen` being E at the
    instrument's incidence; a measurement with the mirror part excluded has lost only the share E of the light."""
    if sheen_included:
        return np.maximum(reflectance - sheen, 0.0) / (1 - sheen)
    return np.asarray(reflectance) / (1 - sheen)


@lru_cache(maxsize=1)
def directional_albedo_table() -> np.ndarray:
    """E at (39 roughnesses from 0.05 to 1, 65 cosines from 0 to 1).

    An average of F·G2/G1 over the facets that the eye sees (Heitz 2018, Journal of Computer Graphics Techniques
    7(4)), taken on a regular grid of the two numbers that choose a facet.
    """
    table = np.stack([_row_of_albedos(roughness) for roughness in _ROUGHNESS_NODES])
    table.setflags(write=False)
    return table


def _row_of_albedos(roughness: float, steps: int = 40) -> np.ndarray:
    cosine = np.maximum(_COSINE_NODES, 1e-4)[:, None]
    radius, angle = np.meshgrid((np.arange(steps) + 0.5) / steps, (np.arange(steps) + 0.5) / steps)
    radius, angle = np.sqrt(radius.ravel())[None], 2 * np.pi * angle.ravel()[None]
    eye_x, eye_z = np.sqrt(1 - cosine**2) * roughness, cosine
    length = np.hypot(eye_x, eye_z)
    eye_x, eye_z = eye_x / length, eye_z / length
    across, along = radius * np.cos(angle), radius * np.sin(angle)
    lean = 0.5 * (1 + eye_z)
    along = (1 - lean) * np.sqrt(np.maximum(1 - across**2, 0)) + lean * along
    up = np.sqrt(np.maximum(1 - across**2 - along**2, 0))
    half_y, half_x, half_z = across, -eye_z * along + eye_x * up, eye_x * along + eye_z * up
    half_x, half_y, half_z = roughness * half_x, roughness * half_y, np.maximum(half_z, 1e-9)
    size = np.sqrt(half_x**2 + half_y**2 + half_z**2)
    half_x, half_z = half_x / size, half_z / size
    at_facet = np.sqrt(1 - cosine**2) * half_x + cosine * half_z
    light = 2 * at_facet * half_z - cosine
    square = roughness**2
    share = np.where(light > 0, _masking_ratio(np.maximum(light, 1e-6), cosine, square), 0.0)
    return (fresnel(at_facet) * share).mean(axis=1)


def _smith(cosine: np.ndarray, square: np.ndarray) -> np.ndarray:
    return (np.sqrt(1 + square * (1 - cosine**2) / cosine**2) - 1) / 2


def _masking_ratio(light: np.ndarray, eye: np.ndarray, square: float) -> np.ndarray:
    """G2/G1: light not shadowed, given that the eye sees the facet."""
    return (1 + _smith(eye, square)) / (1 + _smith(eye, square) + _smith(light, square))


def _masking_over_cosines(light: np.ndarray, eye: np.ndarray, square: np.ndarray) -> np.ndarray:
    """G2 / (4 cos cos), the form in which both cosines cancel near grazing."""
    at_light = eye * np.sqrt(square + (1 - square) * light**2)
    at_eye = light * np.sqrt(square + (1 - square) * eye**2)
    return 0.5 / (at_light + at_eye)
