"""Where a patch's light ends on a head: vertices there carry what the surface around them gets, not what they get.

At the edge of a shadow, and where a surface turns away from the light, irradiance bends too sharply to be known from
vertices a few millimetres apart: the faces between them would be given light that they don't have. There the faces
around each vertex are lit at a place within each, by part of the patch's samples, and the vertices are given values
whose blend over the faces has these means.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from sitterlight.meshes.head import Head, face_vectors
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.embree import LANES, ask_blocked, is_blocked, new_packet, set_ray
from sitterlight.shading.irradiance import Gloss
from sitterlight.shading.matrix import Rows
from sitterlight.shading.patch_samples import samples_of
from sitterlight.shading.rays import RayCaster, count_rays
from sitterlight.shading.shadows import PROBES, probes_about, probes_seen
from sitterlight.shading.sources import Patch, spread_order
from sitterlight.shading.surface_kernels import DISTANT, sheen_share, way_to_sample
from sitterlight.shading.transfer import lift_of

LEAST_SAMPLES = 16
"""Each place is lit by a quarter of the samples, its neighbours by the others, but by no fewer than this."""
_ASKED_ABOUT = 3
"""How many probes the corners of a face must agree on to know of a sample."""
_TURNS = 4
_INWARD = 0.5
"""How far toward the middle of its face the place within each lies from its vertex: the centre of a third of it."""


@dataclass(frozen=True, eq=False)
class Surroundings:
    """The faces around each vertex: `face[start[v]:start[v + 1]]`; `share (F,)` mm², a third of each face."""

    start: np.ndarray
    face: np.ndarray
    share: np.ndarray

    blend: Rows
    """(V,V): means at those places of values that are blended over the faces."""

    @staticmethod
    def of(head: Head) -> Surroundings:
        """The faces around the vertices of a head."""
        corners = head.faces.ravel()
        order = np.argsort(corners, kind="stable")
        start = np.searchsorted(corners[order], np.arange(len(head.vertices) + 1)).astype(np.int64)
        share = np.linalg.norm(face_vectors(head.vertices, head.faces), axis=1) / 3
        share = np.maximum(share, 1e-12)
        total = np.bincount(corners, np.repeat(share, 3), len(head.vertices))
        vertex = np.repeat(np.arange(len(head.vertices)), np.diff(start))
        weight = np.repeat(share[order // 3] / total[vertex] * _INWARD / 3, 3)
        met = head.faces[order // 3].ravel()
        mean = sparse.csr_matrix((weight, (np.repeat(vertex, 3), met)), shape=(len(total), len(total)))
        mean = (mean + sparse.diags(np.where(total > 0, 1 - _INWARD, 1.0))).tocsr()
        blend = Rows(mean.indptr.astype(np.int64), mean.indices.astype(np.int32), mean.data.astype(np.float32))
        return Surroundings(start, (order // 3).astype(np.int32), share.astype(np.float32), blend)


def carried(around: Surroundings, values: np.ndarray, vertices: np.ndarray, means: np.ndarray) -> np.ndarray:
    """Values (E,K) of `vertices` whose blend with the others, `values (V,K)`, has the `means (E,K)`; none negative."""
    blended = np.array(values)
    blended[vertices] = means
    for _ in range(_TURNS):
        blended[vertices] = np.maximum(blended[vertices] + means - around.blend.only(vertices, blended), 0)
    return blended[vertices]


def light_around(
    head: Head,
    around: Surroundings,
    caster: RayCaster,
    gloss: Gloss,
    patch: Patch,
    visible: np.ndarray,
    vertices: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Irradiance weights (E,K) float32, plain and entered, of a patch in the HEAD's frame: means over what lies around
    each of `vertices (E,)`. Where the corners of a face all see the probes next to a sample, or none of them,
    `visible (V,S)`, the face is taken to see the sample all over, or nowhere."""
    plain, entered = np.zeros((2, len(vertices), patch.weights.shape[1]), np.float32)
    order = spread_order(patch.points)
    probes = order[:PROBES]
    count = max(1, min(4, len(order) // LEAST_SAMPLES))
    parts = [order[part::count] for part in range(count)]
    samples, ends = np.concatenate(parts), np.cumsum([0, *map(len, parts)])
    rays = np.zeros(len(vertices), np.int32)
    over_vertices(
        _around,
        len(vertices),
        caster.tree.scene,
        vertices,
        around.start,
        around.face,
        around.share,
        probes_seen(visible, probes),
        probes_about(patch, probes, np.arange(len(order)), _ASKED_ABOUT)[1],
        head.faces,
        head.vertices.astype(np.float32),
        head.normals.astype(np.float32),
        np.float32(lift_of(head)),
        *samples_of(patch),
        patch.place_kind,
        samples,
        ends,
        gloss.albedo,
        plain,
        entered,
        rays,
    )
    count_rays(rays.sum())
    return plain, entered


@kernel
def _around(
    first,
    last,
    scene,
    vertices,
    start,
    face,
    share,
    seen,
    about,
    faces,
    places,
    normals,
    lift,
    points,
    facing,
    weights,
    kind,
    samples,
    ends,
    albedo,
    plain,
    entered,
    rays,
):
    packet = new_packet()
    light, kept = np.empty(LANES, np.float32), np.empty(LANES, np.float32)
    who, which = np.empty(LANES, np.int64), np.empty(LANES, np.int64)
    none, one, parts, filled = np.float32(0), np.float32(1), len(ends) - 1, 0
    for e in range(first, last):
        v = vertices[e]
        total = none
        for f in range(start[v], start[v + 1]):
            total += share[face[f]]
        for f in range(start[v], start[v + 1]):
            a, b, c = faces[face[f], 0], faces[face[f], 1], faces[face[f], 2]
            by_all, by_any = seen[a] & seen[b] & seen[c], seen[a] | seen[b] | seen[c]
            if by_any == 0:
                continue
            part = (f + v) % parts
            counts = share[face[f]] / total * np.float32(ends[parts] / (ends[part + 1] - ends[part]))
            px, py, pz = _between(places, v, a, b, c)
            nx, ny, nz = _between(normals, v, a, b, c)
            over = one / np.sqrt(nx * nx + ny * ny + nz * nz)
            nx, ny, nz = nx * over, ny * over, nz * over
            for index in range(ends[part], ends[part + 1]):
                s = samples[index]
                if by_any & about[s] == 0:
                    continue
                x, y, z, factor = way_to_sample(kind, points, facing, s, px, py, pz)
                cosine = nx * x + ny * y + nz * z
                if cosine <= none or factor <= none:
                    continue
                arrived, through = counts * cosine * factor, one - sheen_share(albedo, v, cosine)
                if by_all & about[s] == about[s]:
                    for k in range(weights.shape[1]):
                        plain[e, k] += arrived * weights[s, k]
                        entered[e, k] += arrived * weights[s, k] * through
                    continue
                ox, oy, oz, far = px + lift * nx, py + lift * ny, pz + lift * nz, np.inf
                if kind != DISTANT:
                    x, y, z = points[s, 0] - ox, points[s, 1] - oy, points[s, 2] - oz
                    far = 1 - 1e-5
                set_ray(packet, filled, ox, oy, oz, x, y, z, far)
                light[filled], kept[filled], who[filled], which[filled] = arrived, through, e, s
                filled += 1
                if filled == LANES:
                    _take(scene, packet, filled, light, kept, who, which, weights, plain, entered)
                    rays[first] += filled
                    filled = 0
    if filled > 0:
        _take(scene, packet, filled, light, kept, who, which, weights, plain, entered)
        rays[first] += filled


@kernel
def _take(scene, packet, filled, light, kept, who, which, weights, plain, entered):
    ask_blocked(scene, packet, filled)
    for lane in range(filled):
        if not is_blocked(packet, lane):
            e = who[lane]
            for k in range(weights.shape[1]):
                arrived = light[lane] * weights[which[lane], k]
                plain[e, k] += arrived
                entered[e, k] += arrived * kept[lane]


@kernel
def _between(values, v, a, b, c):
    """The mean of a vertex's value and that of the middle of one of its faces."""
    to_middle, stay = np.float32(_INWARD / 3), np.float32(1 - _INWARD)
    x = stay * values[v, 0] + to_middle * (values[a, 0] + values[b, 0] + values[c, 0])
    y = stay * values[v, 1] + to_middle * (values[a, 1] + values[b, 1] + values[c, 1])
    z = stay * values[v, 2] + to_middle * (values[a, 2] + values[b, 2] + values[c, 2])
    return x, y, z
