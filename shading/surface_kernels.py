"""What the compiled loops share: the sheen of one place in one direction."""

from __future__ import annotations

import numpy as np

from sitterlight.shading.compiled import kernel
from sitterlight.shading.surface import REFRACTIVE_INDEX

LEAST_FACING = 0.005
"""Least cosine at which the eye looks at a vertex."""

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
def fresnel_at(cosine):
    """Fresnel's reflectance of skin for unpolarised light, as `surface.fresnel`; by the form with no angle inside
    (Cook & Torrance 1982, ACM Transactions on Graphics 1(1)), over one denominator: a processor divides slowly, however
    many at a time. float32."""
    one = np.float32(1)
    inner = np.sqrt(np.float32(REFRACTIVE_INDEX**2 - 1) + cosine * cosine)
    less, more = inner - cosine, inner + cosine
    along, over = cosine * more - one, cosine * less + one
    above, below = less * less * (over * over + along * along), more * more * over * over
    return np.float32(0.5) * above / below


@kernel
def lobe_between(nx, ny, nz, x, y, z, ox, oy, oz, roughness):
    """The sheen's BRDF at normal n between unit vectors (x, y, z) and o, both on its outer side; none where the first
    lies behind it. All float32."""
    light = max(nx * x + ny * y + nz * z, np.float32(0))
    eye, apart = nx * ox + ny * oy + nz * oz, x * ox + y * oy + z * oz
    square = roughness * roughness
    return square * lobe_of(light, eye, apart, square, unshadowed(light, square))


@kernel
def lobe_of(light, eye, apart, square, at_light):
    """The sheen's BRDF over the square of its roughness, from the cosines of light and eye at the normal and of one to
    the other, `apart`; `at_light`: `unshadowed` of the light. All float32."""
    none, one, half = np.float32(0), np.float32(1), np.float32(0.5)
    # The facet that mirrors one to the other lies along their sum, of length √(2 + 2 cos).
    square_of_sum = max(one + apart + one + apart, np.float32(1e-12))
    at_facet = min(np.sqrt(half * half * square_of_sum), one)
    sideways = max(square_of_sum - (light + eye) * (light + eye), none)
    bend = square * square_of_sum + (one - square) * sideways  # times the sum's square, for want of a division
    return (
        fresnel_at(at_facet)
        * np.float32(0.5 / np.pi)
        * (square_of_sum * square_of_sum)
        / (bend * bend * (eye * at_light + light * unshadowed(eye, square)))
    )


@kernel
def unshadowed(cosine, square):
    """Smith's √(α² + (1 − α²) cos²) of a way at `cosine` to the normal, from the `square` of roughness. float32."""
    return np.sqrt(square + (np.float32(1) - square) * cosine * cosine)


@kernel
def way_to_eye(eye, px, py, pz):
    """Unit vector from the place (px, py, pz) to the eye."""
    x, y, z = eye[0] - px, eye[1] - py, eye[2] - pz
    length = np.sqrt(x * x + y * y + z * z)
    return x / length, y / length, z / length


def half_disc(count: int) -> np.ndarray:
    """`count` points (count,2) float32 spread evenly over the half of the unit disc whose first coordinate is
    positive: what `mirror_of_facet` chooses facets by. The halves of a golden spiral, laid onto each other."""
    number = np.arange(count)
    radius, turn = np.sqrt((number + 0.5) / count), number * (np.sqrt(5) - 1) / 2 % 1
    angle = np.pi * (turn - 0.5)
    return np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1).astype(np.float32)


@kernel
def mirror_of_facet(across, along, outgoing, roughness):
    """Where the facet that the eye sees at (across, along) of the disc mirrors to, and its share of the light there.

    Facets are chosen as often as the eye sees them (Heitz 2018, Journal of Computer Graphics Techniques 7(4)), so
    the sheen is the mean over the disc of Fresnel's share times what is not shadowed. `outgoing` is the cosine of the
    eye. Returns the direction (x, y, z) in the frame whose z is the normal and whose x is the eye's side, and that
    share; 0 where the mirrored way runs into the surface.
    """
    none, one, half = np.float32(0), np.float32(1), np.float32(0.5)
    sine = np.sqrt(max(one - outgoing * outgoing, none))
    length = one / np.sqrt(roughness * roughness * sine * sine + outgoing * outgoing)
    eye_x, eye_z = roughness * sine * length, outgoing * length
    lean = half * (one + eye_z)
    along = (one - lean) * np.sqrt(max(one - across * across, np.float32(0))) + lean * along
    up = np.sqrt(max(one - across * across - along * along, np.float32(0)))
    hx, hy, hz = (
        roughness * (eye_x * up - eye_z * along),
        roughness * across,
        max(eye_x * along + eye_z * up, np.float32(1e-6)),
    )
    length = one / np.sqrt(hx * hx + hy * hy + hz * hz)
    hx, hy, hz = hx * length, hy * length, hz * length
    at_facet = sine * hx + outgoing * hz
    twice = at_facet + at_facet
    x, y, z = twice * hx - sine, twice * hy, twice * hz - outgoing
    square = roughness * roughness
    at_eye = np.sqrt(square + (one - square) * outgoing * outgoing) / outgoing
    at_light = np.sqrt(square + (one - square) * z * z) / max(z, np.float32(1e-12))
    share = fresnel_at(min(max(at_facet, none), one)) * (one + at_eye) / (at_eye + at_light)
    return x, y, z, share if z > none and at_facet > none else none


@kernel
def across_normal(nx, ny, nz, ox, oy, oz, cosine):
    """Unit vector across the normal n, on the side of o; any such where o lies along n."""
    x, y, z = ox - cosine * nx, oy - cosine * ny, oz - cosine * nz
    square = x * x + y * y + z * z
    if square < np.float32(1e-10):
        if abs(nx) < np.float32(0.7):
            x, y, z = np.float32(1) - nx * nx, -nx * ny, -nx * nz
        else:
            x, y, z = -ny * nx, np.float32(1) - ny * ny, -ny * nz
        square = x * x + y * y + z * z
    length = np.float32(1) / np.sqrt(square)
    return x * length, y * length, z * length


@kernel
def looking(outgoing, look):
    """The cosine of the eye for the first and the second `look` at a vertex, and how much each counts.

    A vertex that the eye looks at from before is looked at once. One that it looks at along or from behind is given
    the straight continuation of what lies before: twice the sheen along it, less that as far before as it is behind.
    """
    least = np.float32(LEAST_FACING)
    if outgoing >= least:
        return outgoing, np.float32(1 - look)
    if look == 0:
        return least, np.float32(2)
    return min(least + least - outgoing, np.float32(1)), np.float32(-1)


@kernel
def facing_way(nx, ny, nz, ox, oy, oz, outgoing, cosine):
    """The unit vector o, of cosine `outgoing` to the normal n, turned in their plane to have `cosine` instead."""
    if outgoing == cosine:
        return ox, oy, oz
    tx, ty, tz = across_normal(nx, ny, nz, ox, oy, oz, outgoing)
    sine = np.sqrt(np.float32(1) - cosine * cosine)
    return sine * tx + cosine * nx, sine * ty + cosine * ny, sine * tz + cosine * nz
