"""Whether a mesh is a head, and how it lies on the bust.

A mesh is laid on the bust from several beginnings. What decides is the relief of the face: how far nose, sockets,
mouth and chin stand out of or back from a smooth face, seen from within the head. A ball, an egg or a jar fits a skull
well enough, but has no such relief.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations, product

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.bust_surface import LEAN, bust_surface
from sitterlight.meshes.similarity import Cloud, Similarity, Target, cloud, laid_on

LIKE_ENOUGH = 0.42  # correlation of the reliefs of two faces: other heads reached 0.46 to 0.9, other shapes up to 0.35
COVERED_ENOUGH = 0.7  # share of the bust's face that the mesh has
AGREES = 25.0  # mm between two faces along a ray
CENTRE = np.array([0.0, -5.0, 10.0])  # mm, where the face is seen from, within the bust
STEP, SIDEWAYS, UPWARD = 3.0, 54.0, 54.0  # degrees
FACE = (39.0, -51.0, 24.0)  # degrees to either side, down, up: what of it is compared
SMOOTH = 2.5  # steps; what is broader is no relief
MOST_RELIEF = 6.0  # mm, more counts as this
JUDGED = 24  # times as many places are judged as are laid down
BOXED = 4000  # places that the box of a mesh is taken from
STAGES = (
    (250, np.geomspace(60, 20, 8), 10),
    (3000, np.geomspace(25, 8, 10), 5),
)
"""Places laid down, their reach in mm at each step, and how many of the best go on."""
SAME = 0.05  # mm; nearer to each other two placings are one
TURNS = (0.0, -35.0, 35.0)  # degrees about the upright axis


@dataclass(frozen=True)
class Alignment:
    """How a mesh lies on the bust. `likeness` −1 to 1 of the relief of its face, `covered` 0 to 1 of it."""

    placing: Similarity
    likeness: float
    covered: float

    @property
    def is_head(self) -> bool:
        return self.likeness >= LIKE_ENOUGH and self.covered >= COVERED_ENOUGH

    @property
    def merit(self) -> float:
        return self.likeness * min(1.0, self.covered / COVERED_ENOUGH)


@dataclass(frozen=True, eq=False)
class _Bust:
    target: Target
    relief: NDArray
    radius: NDArray
    extents: tuple[tuple[NDArray, NDArray], ...]


@lru_cache(maxsize=1)
def _bust() -> _Bust:
    outer = bust_surface()
    vertices, faces = outer.head.vertices, outer.surface.faces
    whole, head = cloud(vertices, faces, 8000), cloud(vertices, faces[outer.is_head], 40_000)
    radius = _radii(head)
    middles = vertices[faces].mean(axis=1)
    above, chin = outer.is_head, middles[:, 1] > -110
    crops = [np.ones(len(faces), bool), middles[:, 1] > -190, above & chin, above & (middles[:, 2] > 20)]
    boxes = [vertices[faces[crop]].reshape(-1, 3) for crop in crops]
    extents = tuple((box.min(axis=0), box.max(axis=0)) for box in boxes)
    return _Bust(Target(whole, head.some(800), LEAN), _relief(radius), radius, extents)


def _radii(surface: Cloud) -> NDArray[np.float64]:
    """(rows, columns) mm from the centre to the outermost place in each direction ahead; NaN where there is none."""
    arms = surface.points - CENTRE
    radius = np.linalg.norm(arms, axis=1)
    side, height = np.degrees(np.arctan2(arms[:, 0], arms[:, 2])), np.degrees(np.arcsin(arms[:, 1] / radius))
    columns, rows = int(2 * SIDEWAYS / STEP), int(2 * UPWARD / STEP)
    column, row = np.floor((side + SIDEWAYS) / STEP).astype(int), np.floor((height + UPWARD) / STEP).astype(int)
    out = np.einsum("ij,ij->i", arms, surface.normals) > 0
    inside = out & (column >= 0) & (column < columns) & (row >= 0) & (row < rows)
    result = np.full(rows * columns, -np.inf)
    np.maximum.at(result, row[inside] * columns + column[inside], radius[inside])
    result[np.isinf(result)] = np.nan
    return result.reshape(rows, columns)


def _face() -> NDArray[np.bool_]:
    """(rows, columns) whether a direction is one of the face's."""
    side, down, up = FACE
    across = np.arange(-SIDEWAYS, SIDEWAYS, STEP) + STEP / 2
    height = np.arange(-UPWARD, UPWARD, STEP) + STEP / 2
    return (np.abs(across) < side)[None] & ((height > down) & (height < up))[:, None]


def _relief(radius: NDArray) -> NDArray[np.float64]:
    """What stands out of a smooth face, mm; NaN where nothing is known."""
    known = np.isfinite(radius).astype(float)
    from scipy.ndimage import gaussian_filter  # here, being slow to load

    share = gaussian_filter(known, SMOOTH, mode="constant")
    smooth = gaussian_filter(np.nan_to_num(radius) * known, SMOOTH, mode="constant") / np.maximum(share, 1e-9)
    return np.where(known > 0, radius - smooth, np.nan)


def _judged(places: Cloud, placing: Similarity) -> Alignment:
    bust = _bust()
    radius = _radii(Cloud(placing(places.points), placing.turned(places.normals)))
    wanted = np.isfinite(bust.radius) & _face()
    both = wanted & np.isfinite(radius)
    covered = float(np.sum(np.abs(radius[both] - bust.radius[both]) < AGREES) / wanted.sum())
    relief = _relief(radius)
    both &= np.isfinite(relief)
    one, other = (np.clip(each[both], -MOST_RELIEF, MOST_RELIEF) for each in (relief, bust.relief))
    if both.sum() < 0.3 * wanted.sum() or np.std(one) < 1e-9:
        return Alignment(placing, 0.0, covered)
    return Alignment(placing, float(np.corrcoef(one, other)[0, 1]), covered)


def aligned(vertices: NDArray[np.float64], faces: NDArray[np.int32], turned: bool = False) -> Alignment:
    """The best that laying the mesh on the bust gives: as it stands, or `turned` along any of its axes."""
    places = cloud(vertices, faces, 40_000)
    turns = all_turns() if turned else [np.eye(3)]
    yaws = TURNS[:1] if turned else TURNS
    tried = [start for turn in turns for start in _starts(places.points[:BOXED], turn, yaws)]
    for count, reaches, kept in STAGES:
        laid = [laid_on(places.some(count), _bust().target, start, reaches) for start in tried]
        judged = sorted((_judged(places.some(JUDGED * count), placing) for placing in laid), key=lambda one: -one.merit)
        tried = _distinct([one.placing for one in judged[:kept]], places.points[:BOXED])
    return max((_judged(places, placing) for placing in tried), key=lambda one: one.merit)


def _distinct(placings: list[Similarity], points: NDArray) -> list[Similarity]:
    """Each of those that lay the box of the points elsewhere, once: good beginnings often end at the same place."""
    ends = np.stack([points.min(axis=0), points.max(axis=0)])
    corners = ends[list(product((0, 1), repeat=3)), range(3)]
    kept = {}
    for placing in placings:
        kept.setdefault(np.round(placing(corners) / SAME).tobytes(), placing)
    return list(kept.values())


def all_turns() -> list[NDArray[np.float64]]:
    """The 24 ways to turn a mesh by right angles, the one that leaves it as it is first."""
    found = [np.eye(3)]
    for order in permutations(range(3)):
        for signs in product((1.0, -1.0), repeat=3):
            turn = np.zeros((3, 3))
            turn[range(3), order] = signs
            if np.linalg.det(turn) > 0 and not np.array_equal(turn, found[0]):
                found.append(turn)
    return found


def _starts(points: NDArray, rotation: NDArray, yaws: tuple[float, ...]) -> list[Similarity]:
    """Beginnings that lay the box of the points on boxes of the bust: all of it, head and neck, head, face."""
    starts = []
    for yaw in np.radians(yaws):
        turn = np.array([[np.cos(yaw), 0, np.sin(yaw)], [0, 1, 0], [-np.sin(yaw), 0, np.cos(yaw)]]) @ rotation
        turned = points @ turn.T
        low, high = turned.min(axis=0), turned.max(axis=0)
        for bust_low, bust_high in _bust().extents:
            scale = float(np.median((bust_high - bust_low) / np.maximum(high - low, 1e-9)))
            shift = (bust_low + bust_high) / 2 - scale * (low + high) / 2
            shift[1] = bust_high[1] - scale * high[1]
            starts.append(Similarity(scale, turn, shift))
    return starts
