"""Light that arrives straight at each vertex: from domes through the transfer, from patches by shadow rays.

Every sum is taken twice: plain (what a light meter reads) and entered (what the sheen lets through to the body).
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass, replace

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.rays import RayCaster
from sitterlight.shading.sources import Patch
from sitterlight.shading.surface import directional_albedo, mean_albedo
from sitterlight.shading.surface_kernels import sheen_share, way_to_sample
from sitterlight.shading.transfer import Transfer, ray_origins

SHEEN_NODES = 64


@dataclass(frozen=True, eq=False)
class Gloss:
    """The surface of each vertex: `roughness (V,)`, `oil (V,)`, `albedo (V,65)` oil·E at even cosines from 0 to 1,
    `mean (V,)` oil·Ē. All float32."""

    roughness: np.ndarray
    oil: np.ndarray
    albedo: np.ndarray
    mean: np.ndarray

    @staticmethod
    def of(roughness: np.ndarray, oil: np.ndarray) -> Gloss:
        """The gloss of vertices with `roughness (V,)` and `oil (V,)`."""
        cosines = np.linspace(0, 1, SHEEN_NODES + 1)
        albedo = oil[:, None] * directional_albedo(roughness[:, None], cosines)
        mean = oil * mean_albedo(roughness)
        return Gloss(*(np.ascontiguousarray(each, np.float32) for each in (roughness, oil, albedo, mean)))


@dataclass(frozen=True, eq=False)
class Arriving:
    """Irradiance weights per vertex and basis spectrum, (V,K) float32: `plain` and `entered`."""

    plain: np.ndarray
    entered: np.ndarray


def from_dome(head: Head, transfer: Transfer, gloss: Gloss, cells: np.ndarray) -> Arriving:
    """Direct light of a dome with radiance weights `cells (N,K)` at the transfer's directions."""
    shape = (len(head.vertices), cells.shape[1])
    plain, entered = np.zeros(shape, np.float32), np.zeros(shape, np.float32)
    over_vertices(
        _gather_dome,
        shape[0],
        head.normals.astype(np.float32),
        transfer.directions.astype(np.float32),
        transfer.open_bits,
        transfer.unoccluded,
        gloss.albedo,
        cells,
        plain,
        entered,
    )
    return Arriving(plain, entered)


def from_patch(head: Head, gloss: Gloss, patch: Patch, visible: np.ndarray) -> Arriving:
    """Direct light of a patch given in the HEAD's frame, `visible (V,S)` from `patch_visibility`."""
    shape = (len(head.vertices), patch.weights.shape[1])
    plain, entered = np.zeros(shape, np.float32), np.zeros(shape, np.float32)
    over_vertices(
        _gather_patch,
        shape[0],
        head.vertices,
        head.normals,
        patch.points,
        np.zeros_like(patch.points) if patch.facing is None else np.ascontiguousarray(patch.facing),
        patch.weights,
        patch.place_kind,
        visible,
        gloss.albedo,
        plain,
        entered,
    )
    return Arriving(plain, entered)


def patch_visibility(head: Head, patch: Patch) -> np.ndarray:
    """Which samples of a patch in the HEAD's frame each vertex sees, (V,S) bool; remembered for the last patches."""
    key = (head.key, patch.points.tobytes(), patch.distant)
    with _seen_lock:
        if key in _seen:
            _seen.move_to_end(key)
            return _seen[key]
    visible = _cast_shadows(head, patch)
    with _seen_lock:
        _seen[key] = visible
        while len(_seen) > 16:
            _seen.popitem(last=False)
    return visible


def unshadowed(head: Head, patch: Patch) -> np.ndarray:
    """The visibility that nothing blocks, (V,S) bool."""
    return np.ones((len(head.vertices), len(patch.points)), dtype=bool)


_seen: OrderedDict[tuple, np.ndarray] = OrderedDict()
_seen_lock = threading.Lock()
_casters: OrderedDict[str, RayCaster] = OrderedDict()


def caster_of(head: Head) -> RayCaster:
    """The ray caster of a head, kept while the head is among the last few."""
    with _seen_lock:
        if head.key not in _casters:
            _casters[head.key] = RayCaster(head.vertices, head.faces)
            while len(_casters) > 4:
                _casters.popitem(last=False)
        return _casters[head.key]


def _cast_shadows(head: Head, patch: Patch) -> np.ndarray:
    caster, origins = caster_of(head), ray_origins(head)
    visible = np.zeros((len(origins), len(patch.points)), dtype=bool)
    for index, point in enumerate(patch.points):
        toward = np.broadcast_to(point, origins.shape) if patch.distant else point - head.vertices
        facing = np.flatnonzero((head.normals * toward).sum(axis=1) > 0)
        start = origins[facing]
        if patch.distant:
            seen = ~caster.occluded(start, toward[facing])
        else:
            seen = caster.reaches(start, np.broadcast_to(point, start.shape))
        visible[facing, index] = seen
    return visible


@kernel
def _gather_dome(first, last, normals, directions, bits, unoccluded, albedo, cells, plain, entered):
    count, basis = cells.shape
    for v in range(first, last):
        nx, ny, nz = normals[v, 0], normals[v, 1], normals[v, 2]
        scale = np.float32(np.pi) / unoccluded[v]
        for byte in range(count // 8):
            mask = bits[v, byte]
            if mask == 0:
                continue
            for bit in range(8):
                if not mask & (128 >> bit):
                    continue
                d = byte * 8 + bit
                cosine = nx * directions[d, 0] + ny * directions[d, 1] + nz * directions[d, 2]
                if cosine <= 0:
                    continue
                sheen = sheen_share(albedo, v, cosine)
                for k in range(basis):
                    light = cells[d, k] * cosine * scale
                    plain[v, k] += light
                    entered[v, k] += light * (1 - sheen)


@kernel
def _gather_patch(first, last, places, normals, points, facing, weights, kind, visible, albedo, plain, entered):
    samples, basis = weights.shape
    for v in range(first, last):
        for s in range(samples):
            if not visible[v, s]:
                continue
            x, y, z, factor = way_to_sample(kind, points, facing, s, places[v, 0], places[v, 1], places[v, 2])
            cosine = normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z
            if cosine <= 0:
                continue
            sheen = sheen_share(albedo, v, cosine)
            for k in range(basis):
                light = weights[s, k] * cosine * factor
                plain[v, k] += light
                entered[v, k] += light * (1 - sheen)


def in_head_frame(patch: Patch, rotation: np.ndarray) -> Patch:
    """The patch seen from a head turned by `rotation (3,3)`, head→room."""
    facing = None if patch.facing is None else patch.facing @ rotation
    return replace(patch, points=patch.points @ rotation, facing=facing)
