"""Simple meshes written to files, and what `study` says of them."""

from __future__ import annotations

import json
import os
from hashlib import sha256
from pathlib import Path

import numpy as np
import trimesh

from sitterlight.shading.sitting import HeadSetting, Sitting


def write_mesh(folder: Path, name: str, vertices: np.ndarray, faces: np.ndarray) -> str:
    """Write a PLY file as it stands, nothing merged; its name. One file for all
    tests that want the same, whatever their `folder`, so that whether it is a head is asked once."""
    content = trimesh.Trimesh(vertices, faces, process=False).export(file_type="ply")
    shared = Path(os.environ["SITTERLIGHT_CACHE"]).parent / "solids" / f"{name}-{sha256(content).hexdigest()[:16]}.ply"
    shared.parent.mkdir(exist_ok=True)
    if not shared.exists():
        shared.write_bytes(content)
    return str(shared)


def write_cube(folder: Path, side: float = 100.0) -> str:
    """A cube about the origin."""
    box = trimesh.creation.box((side, side, side))
    return write_mesh(folder, "cube", box.vertices, box.faces)


def write_plates(folder: Path, tilts: list[float], side: float = 20.0, apart: float = 2500.0) -> str:
    """Thin slabs whose broad faces are tilted by `tilts` degrees from looking up toward +z, far from each other."""
    slabs = []
    for index, tilt in enumerate(np.radians(tilts)):
        slab = trimesh.creation.box((side, side / 200, side))
        slab.apply_transform(trimesh.transformations.rotation_matrix(tilt, [1, 0, 0]))
        slab.apply_translation([apart * (index - (len(tilts) - 1) / 2), 0, 0])
        slabs.append(slab)
    whole = trimesh.util.concatenate(slabs)
    return write_mesh(folder, "plates", whole.vertices, whole.faces)


def write_bowl(folder: Path, radius: float = 100.0, rings: int = 24) -> str:
    """The inner side of half a sphere, open upward."""
    down, around = np.meshgrid(np.linspace(0.5, 0, rings + 1)[1:], np.linspace(0, 2, 4 * rings + 1)[:-1], indexing="ij")
    rows, columns = down.shape
    level = np.sin(np.pi * (0.5 - down))
    places = np.stack(
        [level * np.sin(np.pi * around), -np.cos(np.pi * (0.5 - down)), level * np.cos(np.pi * around)], -1
    )
    vertices = np.concatenate([radius * places.reshape(-1, 3), [[0, -radius, 0]]])
    corner = np.arange(rows * columns).reshape(rows, columns)
    wrapped = np.concatenate([corner, corner[:, :1]], axis=1)
    a, b, c, d = wrapped[:-1, :-1], wrapped[:-1, 1:], wrapped[1:, 1:], wrapped[1:, :-1]
    belt = np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)])
    bottom = np.full(columns, len(vertices) - 1)
    faces = np.concatenate([belt, np.stack([bottom, wrapped[0, :-1], wrapped[0, 1:]], -1)])
    return write_mesh(folder, "bowl", vertices, _facing_inward(vertices, faces))


def _facing_inward(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    outward = (np.cross(b - a, c - a) * a).sum(axis=1) > 0
    return np.where(outward[:, None], faces[:, ::-1], faces)


def write_groove(folder: Path, width: float = 60.0, length: float = 6000.0, steps: int = 40) -> str:
    """A right-angled groove open upward: two walls at 45°, meeting along x, each `width` broad."""
    along = np.linspace(-length / 2, length / 2, 2 * steps + 1)
    across = np.linspace(0, width, steps // 2 + 1) / np.sqrt(2)
    x, s = np.meshgrid(along, across)
    walls = []
    for sign in (1, -1):
        vertices = np.stack([x.ravel(), s.ravel(), sign * s.ravel()], axis=1)
        faces = _grid_faces(*x.shape)
        outward = np.cross(vertices[faces[0, 1]] - vertices[faces[0, 0]], vertices[faces[0, 2]] - vertices[faces[0, 0]])
        walls.append(trimesh.Trimesh(vertices, faces if outward[1] > 0 else faces[:, ::-1], process=False))
    whole = trimesh.util.concatenate(walls)
    return write_mesh(folder, "groove", whole.vertices, whole.faces)


def _grid_faces(rows: int, columns: int) -> np.ndarray:
    corner = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = corner[:-1, :-1], corner[:-1, 1:], corner[1:, 1:], corner[1:, :-1]
    return np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)])


def sitting_of(folder: Path, mesh: str, **settings) -> Sitting:
    """A sitting of a mesh in `folder`, without ground unless asked for."""
    return Sitting(head=HeadSetting(mesh=mesh), folder=Path(folder), **settings)


def studied(sitting: Sitting, folder: Path) -> dict:
    """What `study` writes into targets.json, written by the same functions."""
    from sitterlight.shading.exports import export
    from sitterlight.shading.study import study_of

    path = Path(folder, "targets.json")
    export(study_of(sitting), "data", path)
    return json.loads(path.read_text(encoding="utf-8"))
