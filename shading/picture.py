"""Pictures by primary rays: what stands behind each pixel, kept, so that any number of maps cost one casting.

A `Film` is a linear map from values at the vertices of the display mesh to pixels. Rays go once through
every pixel's centre; where neighbours differ in plane, piece, depth or slope the pixel is an edge and gets
sixteen. Averages are taken in linear light, and what no ray meets is neutral ground.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
from scipy import sparse

from sitterlight.shading.colour_spaces import decode_sRGB, encode_sRGB
from sitterlight.shading.progress import Progress, part, tell
from sitterlight.shading.rays import Hits, RayCaster
from sitterlight.shading.view import View

MUNSELL_N5 = 0.1927
"""Luminance factor of Munsell value 5 (ASTM D1535: 1.1914 V − 0.22533 V² + 0.23352 V³ − 0.020484 V⁴ +
0.00081939 V⁵)."""

EDGE_SAMPLES = 16
_BLOCK = 1 << 18  # rays cast between one word of progress and the next
_CREASE = 0.75  # neighbouring faces whose normals have a smaller cosine make an edge
_STEP_MM = 1.2  # as does a jump in depth


@dataclass(frozen=True)
class Film:
    """What the pixels see. `size` (width, height); `pixel (S,)` of each sample in reading order, ascending;
    `face (S,)` of the display mesh; `corners (S,3)` vertices of that face; `weights (S,3)` barycentric
    weights times the sample's share of its pixel. `centre_face (H,W)`: the face behind each pixel's centre,
    −1 for ground."""

    size: tuple[int, int]
    pixel: np.ndarray
    face: np.ndarray
    corners: np.ndarray
    weights: np.ndarray
    vertices: int
    faces: int
    centre_face: np.ndarray

    @cached_property
    def by_vertex(self) -> sparse.csr_matrix:
        """(pixels, vertices): what each vertex gives to each pixel. Rows sum to the covered share of the
        pixel."""
        starts = 3 * self._starts
        shape = (self.pixels, self.vertices)
        return sparse.csr_matrix((self.weights.ravel(), self.corners.ravel(), starts), shape=shape)

    @cached_property
    def by_face(self) -> sparse.csr_matrix:
        """(pixels, faces): the share of each pixel that each face covers."""
        shape = (self.pixels, self.faces)
        return sparse.csr_matrix((self.weights.sum(axis=1), self.face, self._starts), shape=shape)

    @cached_property
    def coverage(self) -> np.ndarray:
        """(H,W) float32: the share of each pixel that the head covers."""
        shares = np.bincount(self.pixel, self.weights.sum(axis=1), minlength=self.pixels)
        return np.clip(shares, 0, 1).astype(np.float32).reshape(self.size[1], self.size[0])

    @property
    def pixels(self) -> int:
        return self.size[0] * self.size[1]

    @cached_property
    def _starts(self) -> np.ndarray:
        counts = np.bincount(self.pixel, minlength=self.pixels)
        return np.concatenate([[0], np.cumsum(counts)]).astype(np.int32)


def expose(display, view: View, caster: RayCaster | None = None, progress: Progress | None = None) -> Film:
    """The film of a display mesh (`vertices (D,3)`, `faces (G,3)`, `plane_of_face (G,)`) seen in a view.

    A `caster` made earlier for the same mesh saves the building of its tree. `progress` is told the share done.
    """
    faces = np.asarray(display.faces, dtype=np.int32)
    caster = caster or RayCaster(display.vertices, faces)
    width, height = view.size
    column, row = np.meshgrid(np.arange(width), np.arange(height))
    centres = _cast(caster, view, column.ravel() + 0.5, row.ravel() + 0.5, part(progress, 0.0, 0.5))
    edge = _edges(display, faces, centres, (height, width)).ravel()
    plain = np.flatnonzero((centres.face >= 0) & ~edge)
    fine_pixel, fine = _cast_edges(caster, view, np.flatnonzero(edge), part(progress, 0.6, 0.9))
    hit = np.flatnonzero(fine.face >= 0)
    pixel = np.concatenate([plain, fine_pixel[hit]]).astype(np.int32)
    order = np.argsort(pixel, kind="stable")
    face = np.concatenate([centres.face[plain], fine.face[hit]])[order]
    u = np.concatenate([centres.u[plain], fine.u[hit]])[order]
    v = np.concatenate([centres.v[plain], fine.v[hit]])[order]
    share = np.concatenate([np.ones(len(plain)), np.full(len(hit), 1 / EDGE_SAMPLES)])[order]
    weights = (np.stack([1 - u - v, u, v], axis=1) * share[:, None]).astype(np.float32)
    return Film(
        (width, height),
        pixel[order],
        face,
        faces[face],
        weights,
        len(display.vertices),
        len(faces),
        centres.face.reshape(height, width),
    )


def develop(film: Film, linear: np.ndarray, ground: float = MUNSELL_N5) -> np.ndarray:
    """The picture (H,W,3) uint8 of linear sRGB 0…1 at the vertices, `linear (D,3)`, on neutral ground."""
    return encode(_lay(film, film.by_vertex, linear, ground))


def develop_flat(film: Film, linear_of_face: np.ndarray, ground: float = MUNSELL_N5) -> np.ndarray:
    """The picture (H,W,3) uint8 of one linear sRGB colour for each face, `linear_of_face (G,3)`."""
    return encode(_lay(film, film.by_face, linear_of_face, ground))


def develop_layer(film: Film, linear: np.ndarray) -> np.ndarray:
    """The picture (H,W,4) uint8 of `linear (D,3)` with each pixel's covered share as straight opacity."""
    colour = _lay(film, film.by_vertex, linear, 0.0)
    colour /= np.maximum(film.coverage, 1e-6)[..., None]
    alpha = np.rint(film.coverage * 255).astype(np.uint8)
    return np.dstack([encode(colour), alpha])


def field(film: Film, values: np.ndarray) -> np.ndarray:
    """(H,W) means over the covered part of each pixel of `values (D,)`; NaN where nothing is covered. A
    vertex without a value (NaN) leaves the pixels around it without one."""
    height, width = film.coverage.shape
    picture = (film.by_vertex @ np.asarray(values, dtype=np.float32)).reshape(height, width)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(film.coverage > 1e-4, picture / film.coverage, np.nan)


def halved(picture: np.ndarray) -> np.ndarray:
    """A picture (H,W,3) uint8 at half its width and height, averaged in linear light."""
    height, width = (side // 2 * 2 for side in picture.shape[:2])
    light = _LINEAR[picture[:height, :width]].astype(np.float32)
    return encode((light[::2, ::2] + light[1::2, ::2] + light[::2, 1::2] + light[1::2, 1::2]) / 4)


def encode(linear: np.ndarray) -> np.ndarray:
    """sRGB codes, uint8, of linear light in 0…1 (IEC 61966-2-1)."""
    steps = np.clip(linear * 65535 + 0.5, 0, 65535).astype(np.uint16)
    return _CODE[steps]


def decode(codes: np.ndarray) -> np.ndarray:
    """Linear light in 0…1 of sRGB codes, uint8 (IEC 61966-2-1)."""
    return _LINEAR[np.asarray(codes, dtype=np.uint8)]


def linear_from_hex(code: str) -> np.ndarray:
    """Linear light (3,) of a code such as "#8a5a3c"."""
    return decode(np.frombuffer(bytes.fromhex(code.removeprefix("#")), dtype=np.uint8))


def plane_picture(film: Film, display, codes: list[str], otherwise: np.ndarray) -> np.ndarray:
    """The head in one flat colour a plane, (H,W,3) uint8. `codes`: sRGB of each plane; faces of no plane
    (eyes, clothes) take `otherwise (D,3)`, linear sRGB at the vertices."""
    colours = np.array([linear_from_hex(code) for code in codes]).reshape(-1, 3)
    plane = np.asarray(display.plane_of_face)
    of_face = np.asarray(otherwise)[np.asarray(display.faces)].mean(axis=1)
    of_face[plane >= 0] = colours[plane[plane >= 0]]
    return develop_flat(film, of_face)


def _lay(film: Film, matrix: sparse.csr_matrix, linear: np.ndarray, ground: float) -> np.ndarray:
    colours = np.ascontiguousarray(np.clip(linear, 0, 1), dtype=np.float32)
    width, height = film.size
    picture = (matrix @ colours).reshape(height, width, 3)
    picture += ((1 - film.coverage) * np.float32(ground))[..., None]
    return picture


def _cast(caster: RayCaster, view: View, x: np.ndarray, y: np.ndarray, progress: Progress | None = None) -> Hits:
    """What rays through these places of the picture meet, block by block."""
    found = []
    for start in range(0, max(len(x), 1), _BLOCK):
        tell(progress, start / max(len(x), 1))
        directions = view.directions(x[start : start + _BLOCK], y[start : start + _BLOCK])
        origins = np.broadcast_to(np.asarray(view.eye, np.float32), directions.shape)
        found.append(caster.first_hit(np.ascontiguousarray(origins), directions))
    return Hits(*(np.concatenate([getattr(hits, each.name) for hits in found]) for each in fields(Hits)))


def _cast_edges(caster: RayCaster, view: View, pixels: np.ndarray, progress: Progress | None = None):
    """Sixteen rays in each of `pixels`, all columns and all rows of a 16 × 16 grid used once (Hammersley
    points)."""
    step = np.arange(EDGE_SAMPLES)
    mirrored = np.array([int(f"{i:04b}"[::-1], 2) for i in step])
    fine = np.repeat(pixels, EDGE_SAMPLES)
    row, column = np.divmod(fine, view.size[0])
    x = column + np.tile((step + 0.5) / EDGE_SAMPLES, len(pixels))
    y = row + np.tile((mirrored + 0.5) / EDGE_SAMPLES, len(pixels))
    return fine, _cast(caster, view, x, y, progress)


def _edges(display, faces: np.ndarray, hits, shape: tuple[int, int]) -> np.ndarray:
    """(H,W) bool: pixels whose right or lower, left or upper neighbour shows another thing."""
    face = hits.face.reshape(shape)
    label = _labels(display, faces)[face]
    normal = np.asarray(_face_normals(display.vertices, faces), dtype=np.float32)[face]
    depth = np.where(np.isfinite(hits.distance), hits.distance, 0).astype(np.float32).reshape(shape)
    edge = np.zeros(shape, dtype=bool)
    for here, there in (
        (np.s_[:, :-1], np.s_[:, 1:]),
        (np.s_[:-1], np.s_[1:]),
        (np.s_[:-1, :-1], np.s_[1:, 1:]),
        (np.s_[1:, :-1], np.s_[:-1, 1:]),
    ):
        differs = label[here] != label[there]
        differs |= np.einsum("...i,...i", normal[here], normal[there]) < _CREASE
        differs |= np.abs(depth[here] - depth[there]) > _STEP_MM
        differs &= (face[here] >= 0) | (face[there] >= 0)
        edge[here] |= differs
        edge[there] |= differs
    return edge


def _labels(display, faces: np.ndarray) -> np.ndarray:
    """A number for each face, another one for each plane and loose piece; the last, reached by −1, is the
    ground's."""
    count = len(display.vertices)
    ones = np.ones(2 * len(faces), dtype=np.int8)
    ends = faces[:, [0, 1, 1, 2]].reshape(-1, 2)
    graph = sparse.coo_matrix((ones, (ends[:, 0], ends[:, 1])), shape=(count, count))
    pieces, piece = sparse.csgraph.connected_components(graph, directed=False)
    label = (np.asarray(display.plane_of_face, dtype=np.int64) + 1) * (pieces + 1) + piece[faces[:, 0]]
    return np.append(label, -1)


def _face_normals(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    corner = np.asarray(vertices)[faces]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    return normal / np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None]


_LINEAR = decode_sRGB(np.arange(256) / 255.0)
_CODE = np.rint(encode_sRGB(np.arange(65536) / 65535.0) * 255).astype(np.uint8)
