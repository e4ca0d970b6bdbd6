"""What the compiled loops share: the sheen of one place in one direction, and the way to a patch's sample."""

from __future__ import annotations

import numpy as np

from sitterlight.shading.compiled import kernel

DISTANT, NEAR, NEAR_FACING = 0, 1, 2
"""Kinds of patch: directions without end; places that give alike to all sides; places on a face."""


@kernel
def sheen_share(albedo, v, cosine):
    """oil·E of vertex `v` at incidence `cosine`, from `albedo (V,N+1)` at even cosines."""
    top = albedo.shape[1] - 1
    place = min(max(cosine, np.float32(0)), np.float32(1)) * top
    low = min(int(place), top - 1)
    part = place - low
    return albedo[v, low] * (1 - part) + albedo[v, low + 1] * part


@kernel
def way_to_sample(kind, points, facing, s, px, py, pz):
    """Unit vector from the place (px, py, pz) to sample `s` of a patch, and what turns its weight into solid angle."""
    x, y, z = points[s, 0], points[s, 1], points[s, 2]
    if kind == DISTANT:
        return x, y, z, 1.0
    x, y, z = x - px, y - py, z - pz
    square = x * x + y * y + z * z
    length = np.sqrt(square)
    x, y, z = x / length, y / length, z / length
    factor = 1.0 / square
    if kind == NEAR_FACING:
        factor *= max(-(x * facing[s, 0] + y * facing[s, 1] + z * facing[s, 2]), 0.0)
    return x, y, z, factor


@kernel
def _lobe(light, eye, facing, at_facet, roughness, mirror):
    """The sheen's BRDF from the four cosines; `mirror` is Fresnel's curve at even cosines."""
    square = roughness * roughness
    bend = facing * facing * (square - 1) + 1
    facets = square / (np.float32(np.pi) * bend * bend)
    at_light = eye * np.sqrt(square + (1 - square) * light * light)
    at_eye = light * np.sqrt(square + (1 - square) * eye * eye)
    place = min(at_facet, np.float32(1)) * (len(mirror) - 1)
    low = min(int(place), len(mirror) - 2)
    reflected = mirror[low] + (mirror[low + 1] - mirror[low]) * (place - low)
    return reflected * facets * 0.5 / (at_light + at_eye)


@kernel
def lobe_between(nx, ny, nz, x, y, z, ox, oy, oz, roughness, mirror):
    """The sheen's BRDF at normal n between unit vectors (x, y, z) and o, both on its outer side."""
    hx, hy, hz = x + ox, y + oy, z + oz
    length = max(np.sqrt(hx * hx + hy * hy + hz * hz), np.float32(1e-6))
    facing = (nx * hx + ny * hy + nz * hz) / length
    at_facet = (x * hx + y * hy + z * hz) / length
    light = nx * x + ny * y + nz * z
    eye = nx * ox + ny * oy + nz * oz
    return _lobe(light, eye, facing, at_facet, roughness, mirror)


@kernel
def way_to_eye(eye, px, py, pz):
    """Unit vector from the place (px, py, pz) to the eye."""
    x, y, z = eye[0] - px, eye[1] - py, eye[2] - pz
    length = np.sqrt(x * x + y * y + z * z)
    return x / length, y / length, z / length
