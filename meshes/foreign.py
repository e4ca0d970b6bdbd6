"""A head from any mesh file: read, mended, brought to a working size, placed, and its planes found.

The mesh keeps its own origin, which is taken for the place between the ears. Where the mesh is recognised as a head,
that place is known, and becomes the origin; otherwise, where the origin lies outside the box of the mesh, the middle
of the box does. What was mended, guessed or supposed is said in the head's notes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.alignment import Alignment, aligned
from sitterlight.meshes.carried import Carried, carried_over
from sitterlight.meshes.head import Head, make_head, unit
from sitterlight.meshes.mesh_file import GUESS, UNITS, read_mesh
from sitterlight.meshes.orientation import Guess, axes_matrix, guess
from sitterlight.meshes.plane_edits import PlaneEdit, edited
from sitterlight.meshes.plane_finding import PlaneFinder, find_planes
from sitterlight.meshes.regions import REGIONS
from sitterlight.meshes.repair import mended, mended_before_gathering, parts_of, without_specks
from sitterlight.meshes.similarity import Similarity
from sitterlight.meshes.sizing import GATHERED_FACES, gathered, loss_in_words, sampled, simplified
from sitterlight.meshes.triangles import (
    ENOUGH_FACES,
    FINEST_SHARE,
    SHARP_ANGLE,
    cut_in_four,
    extent_of,
    rounds_of_cutting,
    split_at_corners,
    welded,
)

SMALLEST, LARGEST = 1.0, 20_000.0  # mm across
MENDED_FACES = 3_000_000  # of more, only some faults are looked for, so that time and memory stay within bounds
FEWEST_FACES = 150  # of a mesh that may be a head
HEAD_FINEST, HEAD_FACES = 1 / 140, 24_000  # as FINEST_SHARE and ENOUGH_FACES, for a head, whose planes are small
HEAD_SHARP = 80.0  # degrees: skin has no corners, but coarse noses and ears have steep edges
OFF_CENTRE = 30.0  # mm from between the ears to the mesh's own origin, beyond which the origin is moved


@dataclass(frozen=True, eq=False)
class Gathered:
    """A file's mesh as it was written, welded, and gathered into cells where it had very many faces.

    `count` faces in the file; `original (n, 3)` some of its vertices; `notes` what was left out so far.
    """

    name: str
    kind: str
    vertices: NDArray[np.float64]
    faces: NDArray[np.int32]
    count: int
    parts: int
    original: NDArray[np.float64]
    notes: tuple[str, ...]

    @cached_property
    def guess(self) -> Guess:
        """Unit and axes guessed from nothing but the mesh."""
        return guess(self.vertices, self.faces, self.kind)


@dataclass(frozen=True, eq=False)
class Prepared:
    """A mesh ready to be parted into planes: corners kept sharp, regions known, everything said."""

    name: str
    vertices: NDArray[np.float64]
    faces: NDArray[np.int32]
    normals: NDArray[np.float64]
    region_weights: NDArray[np.float32]
    finder: PlaneFinder
    notes: tuple[str, ...]

    def head(self, planes: int | None = None, edits: Sequence[PlaneEdit] = ()) -> Head:
        """The head with that many planes, or as many as its shape asks for, and edits by hand applied."""
        found, plane_of_face = edited(*self.finder.planes(planes), edits)
        return make_head(
            self.name,
            self.vertices,
            self.faces,
            self.region_weights,
            found,
            plane_of_face,
            normals=self.normals,
            notes=self.notes,
        )


@lru_cache(maxsize=2)
def gather(path: Path, _modified: int = 0, _size: int = 0) -> Gathered:
    """The mesh in a file, in its own unit and axes. ValueError, one sentence, when it is missing, empty or broken."""
    mesh = read_mesh(path)
    notes = list(mesh.passed_over)
    try:
        vertices, faces = welded(mesh.vertices, mesh.faces, notes)
    except ValueError as problem:
        raise ValueError(f"{path}: {problem}") from None
    del mesh
    count, original, parts = len(faces), sampled(vertices), parts_of(vertices, faces)[0]
    if GATHERED_FACES < count <= MENDED_FACES:  # before cells make faults of their own
        vertices, faces = mended_before_gathering(vertices, faces, notes)
    elif count > MENDED_FACES and parts > 1:
        vertices, faces = without_specks(vertices, faces, notes)
    vertices, faces = gathered(vertices, faces)
    kind = path.suffix.lower().lstrip(".")
    return Gathered(path.stem, kind, vertices, faces, count, parts, original, tuple(notes))


def prepare(path: Path, unit: str, up: str, front: str, modified: int = 0, size: int = 0) -> Prepared:
    """The mesh in a file, placed in our frame and mended; each of unit, up and front may be "guess".

    Raises ValueError with one sentence when the file is missing, empty, broken or of an impossible size.
    """
    mesh = gather(path, modified, size)
    notes = list(mesh.notes)
    found, scale = None, UNITS.get(unit, 1.0)
    if GUESS in (unit, up, front):
        found = guess(mesh.vertices, mesh.faces, mesh.kind, unit, up, front)
        notes.append(guess_in_words(found, mesh, unit, up, front))
        scale, up, front = found.scale, found.up, found.front
    turn = axes_matrix(up, front)
    vertices = mesh.vertices @ turn.T * scale
    extent = extent_of(vertices, mesh.faces)
    if not SMALLEST <= extent <= LARGEST:
        raise ValueError(
            f'{path}: the mesh is {extent:.3g} mm across when its unit is "{unit}"; between {SMALLEST:g} and'
            f" {LARGEST:g} mm can be used: set another unit."
        )
    known = None
    if found is not None and found.alignment is not None:
        placing = found.alignment.placing
        whole = Similarity(placing.scale / scale, placing.rotation @ turn.T, placing.shift)
        known = Alignment(whole, found.alignment.likeness, found.alignment.covered)
    original = mesh.original @ turn.T * scale
    try:
        return _prepared(mesh.name, vertices, mesh.faces, notes, mesh.count, original, known)
    except ValueError as problem:
        raise ValueError(f"{path}: {problem}") from None


def guess_in_words(found: Guess, mesh: Gathered, unit: str = GUESS, up: str = GUESS, front: str = GUESS) -> str:
    """What was guessed, and how sure it is, without full stop."""
    words = []
    if unit == GUESS:
        words.append(
            f"unit {found.unit}" if found.unit != GUESS else "no unit fits, so it was brought to a head's size"
        )
    if up == GUESS:
        words.append(f"up {found.up}")
    if front == GUESS:
        words.append(f"front {found.front}")
    sure = (unit != GUESS or found.unit_is_sure) and (GUESS not in (up, front) or found.axes_are_sure)
    return f"guessed: {', '.join(words)}" + ("" if sure else " (not sure)")


def head_from_triangles(name: str, vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> Head:
    """A head from triangles in our frame, mm: mended, corners sharper than 40° kept, planes found in its shape."""
    notes: list[str] = []
    vertices, faces = welded(vertices, faces, notes)
    return _prepared(name, vertices, faces, notes, len(faces), sampled(vertices), None, may_be_head=False).head()


def _prepared(
    name: str,
    vertices: NDArray[np.float64],
    faces: NDArray[np.int32],
    notes: list[str],
    count: int,
    original: NDArray[np.float64],
    known: Alignment | None,
    may_be_head: bool = True,
) -> Prepared:
    mendings: list[str] = []
    vertices, faces = mended(vertices, faces, mendings)
    # What gathering into cells left behind is not to be laid at the door of the file.
    if count <= GATHERED_FACES:
        notes += mendings
    elif count > MENDED_FACES:
        notes += [note for note in mendings if _of_file(note)]
    smaller = simplified(vertices, faces)
    if len(smaller[1]) < min(count, len(faces)) or len(faces) < count / 2:
        notes.append(loss_in_words(count, original, *smaller))
    vertices, faces = smaller
    found = None
    if may_be_head and len(faces) >= FEWEST_FACES:
        found = known if known is not None else aligned(vertices, faces)
    is_head = found is not None and found.is_head
    finest, enough = (HEAD_FINEST, HEAD_FACES) if is_head else (FINEST_SHARE, ENOUGH_FACES)
    rounds = rounds_of_cutting(vertices, faces, finest, enough)
    sharp, sharp_faces, normals = split_at_corners(vertices, faces, HEAD_SHARP if is_head else SHARP_ANGLE)
    # Cut alike with corners joined, to find planes on, and with corners kept sharp, to be lit.
    vertices, faces = cut_in_four(vertices, faces, rounds)
    sharp_and_normals, sharp_faces = cut_in_four(np.hstack([sharp, normals]), sharp_faces, rounds)
    same = np.empty(len(sharp_and_normals), dtype=np.int64)
    same[sharp_faces.ravel()] = faces.ravel()
    if is_head:
        carried = carried_over(vertices, faces, found.placing)
        vertices = _placed(vertices, carried, found, notes)
        weights, finder = (
            carried.region_weights,
            find_planes(vertices, faces, carried.plane_of_face, carried.region_weights),
        )
    else:
        vertices = _centred(vertices, notes)
        weights, finder = np.zeros((len(vertices), len(REGIONS)), dtype=np.float32), find_planes(vertices, faces)
        weights[:, 0] = 1.0
    normals = unit(sharp_and_normals[:, 3:])
    return Prepared(name, vertices[same], sharp_faces, normals, weights[same], finder, tuple(notes))


def _of_file(note: str) -> bool:
    return any(word in note for word in ("hole", "opening"))


def _placed(vertices: NDArray[np.float64], carried: Carried, found: Alignment, notes: list[str]) -> NDArray[np.float64]:
    """The vertices of a recognised head about the place between its ears."""
    notes.append("it is a head: its planes and regions are named as on the bust")
    scale = found.placing.scale
    if not 1 / 1.6 < scale < 1.6:
        notes.append(f"it is {1 / scale:.2g} times as large as the bust: is its unit right")
    if np.linalg.norm(carried.origin) <= OFF_CENTRE:
        return vertices
    notes.append("the place between its ears was made the origin")
    return vertices - carried.origin


def _centred(vertices: NDArray[np.float64], notes: list[str]) -> NDArray[np.float64]:
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    room = 0.01 * (high - low).max()
    if np.all(low - room <= 0) and np.all(high + room >= 0):
        return vertices
    notes.append("its origin lay outside the mesh, so the middle of its bounding box was made the origin")
    return vertices - (low + high) / 2
