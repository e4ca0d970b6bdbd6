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
from sitterlight.shading.bits import WORD, next_bit
from sitterlight.shading.compiled import kernel, loop, over_vertices, unsigned
from sitterlight.shading.crew import add
from sitterlight.shading.embree import FOR_SHADOWS, ask_blocked, is_blocked, new_packet, set_ray
from sitterlight.shading.irradiance import Gloss, meet_sheen
from sitterlight.shading.matrix import Rows
from sitterlight.shading.patch_samples import ways_from_afar, ways_to_samples
from sitterlight.shading.rays import RayCaster, count_rays
from sitterlight.shading.shadows import PROBES, Shadows, nearest_of
from sitterlight.shading.sources import Patch
from sitterlight.shading.surface_kernels import DISTANT

LEAST_SAMPLES = 16
"""Each place is lit by a quarter of the samples, its neighbours by the others, but by no fewer than this."""
_ASKED_ABOUT = 2
"""How many probes the corners of a face must agree on to know of a sample. By three they know hardly better, beside
the error of half a percent of a lamp's light that comes of a quarter of its samples, for a fifth more rays."""
_DOUBTS, _CLOSE = 1, 4
"""About how many of these one corner may see otherwise, where at least one in so many samples is a probe: nearly nine
in ten samples are as the others say, and a seventh of the rays is spared."""
_MOST_PARTS = 4
_TOGETHER = 4
"""Probes that are looked up together."""
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


def carry(around: Surroundings, fields: np.ndarray, vertices: np.ndarray, means: np.ndarray) -> None:
    """Give `vertices` of the `fields (F,V,K)` values whose blend with the others has the `means (F,E,K)`; none
    negative. All float32."""
    blend = around.blend
    about = vertices, blend.start, blend.column, blend.weight, fields, means
    over_vertices(_carry, len(fields), *about, each=_TURNS * len(vertices))


@loop
def _carry(first, last, vertices, start, column, weight, fields, means):
    """Bring the blend at `vertices` to its means, one after the other and all of them nearer by every turn."""
    for field in range(first, last):
        blended, wanted_means = fields[field], means[field]
        for e in range(len(vertices)):
            blended[vertices[e]] = wanted_means[e]
        for _ in range(_TURNS):
            for e in range(len(vertices)):
                v = unsigned(vertices[e])
                for k in range(blended.shape[1]):
                    wanted = blended[v, k] + wanted_means[e, k]
                    for entry in range(unsigned(start[v]), unsigned(start[v + unsigned(1)])):
                        wanted -= weight[entry] * blended[unsigned(column[entry]), k]
                    blended[v, k] = max(wanted, np.float32(0))


def light_around(
    head: Head,
    around: Surroundings,
    caster: RayCaster,
    gloss: Gloss,
    patch: Patch,
    shadows: Shadows,
) -> np.ndarray:
    """Irradiance weights (2,E,K) float32, plain and entered, of a patch in the HEAD's frame: means over what lies
    around each of the E vertices at the edge of its `shadows`. Where the corners of a face as good as all see the
    probes next to a sample, or none of them, the face is taken to see the sample all over, or nowhere."""
    vertices = shadows.edge
    means = np.zeros((2, len(vertices), patch.weights.shape[1]), np.float32)
    rays = np.zeros(1, np.int64)
    over_vertices(
        _around,
        len(vertices),
        caster.tree.scene,
        vertices,
        around.start,
        around.face,
        around.share,
        shadows.seen,
        shadows.free,
        head.faces,
        *head.in_single,
        np.float32(head.lift),
        patch.place_kind,
        *_in_parts(patch),
        gloss.albedo,
        *means,
        rays,
    )
    count_rays(rays[0])
    return means


def _in_parts(patch: Patch) -> tuple[np.ndarray, ...]:
    """The samples of a patch dealt out to P parts of at most n, each spread over all of it, as its order is:
    `points (P,3,n)`, the normals of its face there (P,3,n) and `weights (P,K,n)`, float32, times what the part stands
    for; what its probes tell of each, see `_tell`; and how many of them one corner may see otherwise. Where a part has
    fewer, the last counts for nothing."""
    samples = len(patch.order)
    parts = max(1, min(_MOST_PARTS, samples // LEAST_SAMPLES), -(-samples // WORD))
    asked = _ASKED_ABOUT if samples > PROBES else 1  # where all samples are probes, each tells of itself
    doubts = _DOUBTS if PROBES < samples <= _CLOSE * PROBES else 0
    points = patch.rows[0].T
    about = nearest_of(points[:PROBES], points, asked)[1]
    dealt = tuple(np.zeros((parts, len(each), -(-samples // parts)), np.float32) for each in patch.rows)
    tells = np.zeros((parts, 2, PROBES // _TOGETHER, 2**_TOGETHER), np.uint64)
    _deal(*patch.rows, *dealt)
    _tell(about, tells)
    return *dealt, tells, doubts


@kernel
def _deal(points, facing, weights, dealt_points, dealt_facing, dealt_weights):
    """Give samples to parts in turn."""
    parts, samples = len(dealt_points), points.shape[1]
    for part in range(parts):
        stands_for = np.float32(samples) / np.float32(len(range(part, samples, parts)))
        for n in range(dealt_points.shape[2]):
            s = part + n * parts
            for axis in range(3):
                # What counts for nothing stands somewhere too: the way there must have a length.
                dealt_points[part, axis, n] = points[axis, s % samples]
                dealt_facing[part, axis, n] = facing[axis, s % samples]
            if s < samples:
                for k in range(len(weights)):
                    dealt_weights[part, k, n] = weights[k, s] * stands_for


@kernel
def _tell(about, tells):
    """Which samples of each part the probes tell of, by the bits `about (S,)` of those that tell of each: `tells
    (P,2,·,·)`, a bit for each of a part's samples, for every set of _TOGETHER probes and every choice of them. The
    first tells of one probe of each sample, the second of the other."""
    parts = len(tells)
    for s in range(len(about)):
        rest, bit = about[s], unsigned(1) << unsigned(s // parts)
        for which in range(2):
            last = rest & (~rest + unsigned(1))
            rest = rest ^ last if rest != last else rest
            for probe in range(PROBES):
                if last >> unsigned(probe) & unsigned(1):
                    for chosen in range(2**_TOGETHER):
                        if chosen >> probe % _TOGETHER & 1:
                            tells[s % parts, which, probe // _TOGETHER, chosen] |= bit


@loop
def _around(
    first,
    last,
    scene,
    vertices,
    start,
    face,
    share,
    seen,
    free,
    faces,
    places,
    normals,
    lift,
    kind,
    points,
    facing,
    weights,
    tells,
    doubts,
    albedo,
    plain,
    entered,
    rays,
):
    packet = new_packet(FOR_SHADOWS)
    light, kept = np.empty(FOR_SHADOWS, np.float32), np.empty(FOR_SHADOWS, np.float32)
    who, which = np.empty(FOR_SHADOWS, np.int64), np.empty(FOR_SHADOWS, np.int64)
    parts, _, samples = points.shape
    to_parts, through = np.empty((parts, 4, samples), np.float32), np.empty(samples, np.float32)
    arrived, sure = np.empty(samples, np.float32), np.empty(samples, np.float32)
    place = np.empty(samples, np.uint32)
    none, one, filled, cast = np.float32(0), np.float32(1), 0, 0
    for part in range(parts):
        ways_from_afar(kind, points[part], to_parts[part])
    for e in range(first, last):
        v, total = vertices[e], none
        sheen = albedo[v]
        for f in range(start[v], start[v + 1]):
            total += share[face[f]]
        for f in range(start[v], start[v + 1]):
            a, b, c = faces[face[f], 0], faces[face[f], 1], faces[face[f], 2]
            part = (f + v) % parts
            sees, unsure, by_any = _told(tells[part], seen[v, 0], seen[a, 0], seen[b, 0], seen[c, 0], doubts)
            if sees | unsure == 0:
                continue
            counts = share[face[f]] / total
            px, py, pz = _between(places, v, a, b, c)
            nx, ny, nz = _between(normals, v, a, b, c)
            over = one / np.sqrt(nx * nx + ny * ny + nz * nz)
            nx, ny, nz = nx * over, ny * over, nz * over
            ways = to_parts[part]
            ways_to_samples(kind, points[part], facing[part], px, py, pz, ways)
            meet_sheen(nx, ny, nz, counts, ways, sheen, place, arrived, through)
            if unsure & by_any and free[a] and free[b] and free[c]:
                # Where nothing stands before any corner only the curve of the face ends the light: all of it sees what
                # one corner sees and lies before the face.
                gx, gy, gz = _across(places, a, b, c)
                left = unsure & by_any
                while left:
                    s, left = next_bit(left)
                    if gx * ways[0, s] + gy * ways[1, s] + gz * ways[2, s] > none:
                        sees |= unsigned(1) << s
                unsure &= ~sees
            for s in range(samples):
                sure[s] = arrived[s] * np.float32(sees >> unsigned(s) & unsigned(1))
            for k in range(weights.shape[1]):
                light_k, inside_k = none, none
                for s in range(samples):
                    lit = sure[s] * weights[part, k, s]
                    light_k += lit
                    inside_k += lit * through[s]
                plain[e, k] += light_k
                entered[e, k] += inside_k
            ox, oy, oz, far = px + lift * nx, py + lift * ny, pz + lift * nz, np.float32(np.inf)
            while unsure:
                s, unsure = next_bit(unsure)
                if arrived[s] <= none:
                    continue
                x, y, z = points[part, 0, s], points[part, 1, s], points[part, 2, s]
                if kind != DISTANT:
                    x, y, z, far = x - ox, y - oy, z - oz, np.float32(1 - 1e-5)
                set_ray(packet, FOR_SHADOWS, filled, ox, oy, oz, x, y, z, far)
                light[filled], kept[filled], who[filled], which[filled] = arrived[s], through[s], e, part * samples + s
                filled += 1
                if filled == FOR_SHADOWS:
                    _take(scene, packet, filled, light, kept, who, which, weights, plain, entered)
                    cast, filled = cast + filled, 0
    if filled > 0:
        _take(scene, packet, filled, light, kept, who, which, weights, plain, entered)
    add(rays, 0, cast + filled)


@kernel
def _take(scene, packet, filled, light, kept, who, which, weights, plain, entered):
    ask_blocked(scene, packet, filled)
    samples = weights.shape[2]
    for lane in range(filled):
        if not is_blocked(packet, lane):
            e, part, s = who[lane], which[lane] // samples, which[lane] % samples
            for k in range(weights.shape[1]):
                arrived = light[lane] * weights[part, k, s]
                plain[e, k] += arrived
                entered[e, k] += arrived * kept[lane]


@kernel
def _told(tells, own, a, b, c, doubts):
    """What the probes that the corners a, b, c of a face see, one of which is `own`, tell of the samples of a part, a
    bit for each: which the face sees all over; which it may see or not; and which one corner or another sees. All agree
    about the others, but for so many `doubts` of corners other than their own."""
    lit, own_any, own_all = ~unsigned(0), unsigned(0), ~unsigned(0)
    some, several, every, but_one = unsigned(0), unsigned(0), ~unsigned(0), ~unsigned(0)
    for which in range(2):
        x, y, z = _of(tells[which], a), _of(tells[which], b), _of(tells[which], c)
        mine = _of(tells[which], own)
        lit &= x | y | z
        own_any, own_all = own_any | mine, own_all & mine
        for word in (x, y, z):
            several |= some & word
            some |= word
            but_one = but_one & word | every
            every &= word
    sees = (but_one if doubts else every) & own_all
    return sees, ~sees & ((several if doubts else some) | own_any), lit


@kernel
def _of(tells, seen):
    """What those of the probes that are `seen` tell."""
    told = unsigned(0)
    for group in range(len(tells)):
        told |= tells[group, seen >> unsigned(group * _TOGETHER) & unsigned(2**_TOGETHER - 1)]
    return told


@kernel
def _across(places, a, b, c):
    """Across the face of three vertices, outward."""
    x, y, z = places[b, 0] - places[a, 0], places[b, 1] - places[a, 1], places[b, 2] - places[a, 2]
    p, q, r = places[c, 0] - places[a, 0], places[c, 1] - places[a, 1], places[c, 2] - places[a, 2]
    return y * r - z * q, z * p - x * r, x * q - y * p


@kernel
def _between(values, v, a, b, c):
    """The mean of a vertex's value and that of the middle of one of its faces."""
    to_middle, stay = np.float32(_INWARD / 3), np.float32(1 - _INWARD)
    x = stay * values[v, 0] + to_middle * (values[a, 0] + values[b, 0] + values[c, 0])
    y = stay * values[v, 1] + to_middle * (values[a, 1] + values[b, 1] + values[c, 1])
    z = stay * values[v, 2] + to_middle * (values[a, 2] + values[b, 2] + values[c, 2])
    return x, y, z
