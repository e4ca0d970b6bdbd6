"""The plain way to light a skin: all 81 bands of every vertex, from its albedo to its radiance, XYZ last.

Written as well as we know how: float32, compiled loops that run along the bands, on every core, the bounces' matrix
merged to one entry for each pair of vertices, and all that no skin changes (the light that arrives, the sheen of the
lights) worked out beforehand. What makes ours fast it does not do: integrate first, on tables of regions.
"""

from __future__ import annotations

import numpy as np
from scipy import sparse

from sitterlight.illuminants.grid import STEP
from sitterlight.illuminants.observer import KM, colour_matching
from sitterlight.shading.bounce import bounce_matrix, received
from sitterlight.shading.compiled import loop, over_vertices
from sitterlight.shading.lighting import Body, Columns
from sitterlight.shading.matrix import Rows
from sitterlight.shading.membership import Membership
from sitterlight.shading.staging import Setup

from .lit import BOUNCES


class Plain:
    """A setup with the spectra that arrive at each vertex; `display` holds them at the display mesh as well."""

    def __init__(self, setup: Setup, display: bool):
        lighting, look, head = setup.lighting, setup.look, setup.head
        basis = np.concatenate([source.basis for source in setup.sources])
        widths = setup.body.by_width.shape[1]
        self.direct = np.stack([_spectra(lighting.direct, basis, width) for width in range(widths)], axis=1)
        self.mirrored = _spectra(lighting.mirrored, basis, 0)
        self.entered = self.direct[:, 0] + self.mirrored
        self.sheen = ((look.sheen + look.glints) @ basis).astype(np.float32)
        self.toward_eye = look.toward_eye
        self.skin = look.skin
        self.exchange = _merged(setup)
        self.weights = head.region_weights.astype(np.float32)
        self.members = Membership.of(self.weights)
        self.shown = _Shown(self, head.to_display.astype(np.float32)) if display else None

    def bounced(self, body: Body) -> np.ndarray:
        """Irradiance spectra (V,81) that entered each vertex after one to three bounces, each vertex with its own
        albedo at every bounce."""
        albedo = self.weights @ body.albedo.astype(np.float32)
        leaves, arrived = albedo * self.entered, np.zeros_like(albedo)
        rows = self.exchange.start, self.exchange.column, self.exchange.weight
        for _ in range(BOUNCES):
            leaves, before = np.empty_like(albedo), leaves
            over_vertices(_bounce, len(albedo), *rows, before, albedo, leaves, arrived)
        return arrived

    def XYZ(self, body: Body, observer: int, bounced: np.ndarray | None = None) -> np.ndarray:
        """Seen XYZ, cd/m²: (D,3) at the display mesh where that is held, else (V,3)."""
        bounced = self.bounced(body) if bounced is None else bounced
        left = _reflected(self.members, self.direct, self.mirrored + bounced, body)
        if self.shown is None:
            seen = left * self.toward_eye + self.skin @ left + self.sheen
        else:
            seen = self.shown.seen(body, left, bounced)
        return seen @ (colour_matching(observer) * (KM * STEP)).astype(np.float32)


class _Shown:
    """The same at the display mesh: what arrives is blended over it band by band, and lights the albedo there."""

    def __init__(self, plain: Plain, blend: sparse.csr_matrix):
        self.blend = _rows(blend)
        vertices, widths, bands = plain.direct.shape
        self.direct = (self.blend @ plain.direct.reshape(vertices, -1)).reshape(-1, widths, bands)
        self.mirrored, self.sheen = self.blend @ plain.mirrored, self.blend @ plain.sheen
        self.toward_eye = self.blend @ plain.toward_eye
        mirrored = sparse.csr_matrix((plain.skin.weight, plain.skin.column, plain.skin.start), (vertices, vertices))
        self.skin = _rows(blend @ mirrored)
        self.members = Membership.of(blend @ plain.weights)

    def seen(self, body: Body, left: np.ndarray, bounced: np.ndarray) -> np.ndarray:
        """Radiance spectra (D,81) from those that `left (V,81)` the bodies and the irradiance that `bounced (V,81)`."""
        seen = _reflected(self.members, self.direct, self.mirrored + self.blend @ bounced, body)
        seen *= self.toward_eye
        seen += self.skin @ left
        seen += self.sheen
        return seen


def bounced_by_kind(setup: Setup, body: Body) -> np.ndarray:
    """Irradiance spectra (V,81) after the bounces by the rule of the calculation, in all bands: paths are counted as
    kinds of light."""
    columns, senders = setup.lighting.bounced, setup.stage.exchange.senders
    basis = np.concatenate([source.basis for source in setup.sources])
    sent = setup.stage.exchange.bounces.kinds.sent(body.albedo)
    total = sum(_spectra(columns, basis, order) * sent[senders.region, order] for order in range(BOUNCES))
    sums = np.concatenate([np.zeros((1, total.shape[1])), np.cumsum(total, axis=0)])
    return np.diff(sums[senders.start], axis=0).astype(np.float32)


def _spectra(columns: Columns, basis: np.ndarray, way: int) -> np.ndarray:
    """Spectra (rows,81) of what came one way."""
    chosen = np.flatnonzero(columns.way == way)
    return columns.values[:, chosen] @ basis[columns.basis[chosen]].astype(np.float32)


def _merged(setup: Setup) -> Rows:
    """The bounces' matrix (V,V), all senders of a vertex together."""
    stage, between = setup.stage, setup.stage.exchange
    receive = received(setup.head, stage.transfer, stage.gloss)
    return bounce_matrix(stage.transfer, between.paths, receive, between.send, between.mirror)


def _rows(matrix: sparse.csr_matrix) -> Rows:
    matrix = matrix.tocsr().copy()  # what follows works in place
    matrix.sum_duplicates()
    return Rows(matrix.indptr.astype(np.int64), matrix.indices.astype(np.int32), matrix.data.astype(np.float32))


def _reflected(members: Membership, direct: np.ndarray, indirect: np.ndarray, body: Body) -> np.ndarray:
    """Radiance spectra (rows,81) that leave bodies."""
    left = np.empty_like(indirect)
    of = members.start, members.region, members.weight
    spread, albedo = ((each / np.pi).astype(np.float32) for each in (body.by_width, body.albedo))
    over_vertices(_reflect, len(left), *of, direct, indirect, spread, albedo, left)
    return left


@loop
def _bounce(first, last, start, column, weight, before, albedo, leaves, arrived):
    bands = before.shape[1]
    row = np.empty(bands, np.float32)
    for v in range(first, last):
        row[:] = 0
        for entry in range(start[v], start[v + 1]):
            u, w = column[entry], weight[entry]
            for band in range(bands):
                row[band] += w * before[u, band]
        for band in range(bands):
            arrived[v, band] += row[band]
            leaves[v, band] = albedo[v, band] * row[band]


@loop
def _reflect(first, last, start, region, share, direct, indirect, spread, albedo, left):
    widths, bands = direct.shape[1], direct.shape[2]
    for v in range(first, last):
        left[v, :] = 0
        for m in range(start[v], start[v + 1]):
            r, w = region[m], share[m]
            for width in range(widths):
                for band in range(bands):
                    left[v, band] += w * direct[v, width, band] * spread[r, width, band]
            for band in range(bands):
                left[v, band] += w * indirect[v, band] * albedo[r, band]
