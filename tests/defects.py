"""Meshes with the faults that scanners and sculpting programs leave, made from a clean egg, for tests of mending."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import trimesh

HALVES = np.array([85.0, 120.0, 100.0])  # mm


def egg() -> tuple[np.ndarray, np.ndarray]:
    """A clean ellipsoid of 5120 faces."""
    ball = trimesh.creation.icosphere(subdivisions=4, radius=1.0)
    return np.asarray(ball.vertices) * HALVES, np.asarray(ball.faces)


def _centres(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    centres = (vertices / HALVES)[faces].mean(axis=1)
    return centres / np.linalg.norm(centres, axis=1)[:, None]


def holes() -> tuple[np.ndarray, np.ndarray]:
    vertices, faces = egg()
    centres = _centres(vertices, faces)
    open_at = [np.array(place) / np.linalg.norm(place) for place in ((0, 0.3, 1), (1, 0.2, 0), (-0.5, -1, 0.4))]
    missing = [centres @ place > np.cos(angle) for place, angle in zip(open_at, (0.22, 0.12, 0.07), strict=True)]
    return vertices, faces[~np.any(missing, axis=0)]


def doubled() -> tuple[np.ndarray, np.ndarray]:
    vertices, faces = egg()
    return vertices, np.vstack([faces, faces[:300], faces[1000:1200, ::-1]])


def inverted() -> tuple[np.ndarray, np.ndarray]:
    vertices, faces = egg()
    faces = faces.copy()
    turned = np.random.default_rng(0).random(len(faces)) < 0.2
    faces[turned] = faces[turned][:, ::-1]
    return vertices, faces


def inside_out() -> tuple[np.ndarray, np.ndarray]:
    vertices, faces = egg()
    return vertices, faces[:, ::-1]


def flaps() -> tuple[np.ndarray, np.ndarray]:
    """Edges that more than two faces share: flaps that stand on the surface."""
    vertices, faces = egg()
    edges = faces[::900, :2]
    tips = vertices[edges].mean(axis=1) * 1.04
    flap = np.column_stack([edges, len(vertices) + np.arange(len(edges))])
    return np.vstack([vertices, tips]), np.vstack([faces, flap])


def needles() -> tuple[np.ndarray, np.ndarray]:
    """Faces cut at a corner that lies on an edge, and faces around a very short edge."""
    vertices, faces = egg()
    chosen = np.arange(0, 2000, 50)
    a, b, c = faces[chosen].T
    tips = vertices[a] * 0.6 + vertices[b] * 0.4 + 1e-3
    tip = len(vertices) + np.arange(len(chosen))
    kept = np.delete(faces, chosen, axis=0)
    return np.vstack([vertices, tips]), np.vstack(
        [kept, np.stack([a, tip, c], 1), np.stack([tip, b, c], 1), np.stack([a, b, tip], 1)]
    )


def specks() -> tuple[np.ndarray, np.ndarray]:
    vertices, faces = egg()
    dust = trimesh.creation.icosphere(subdivisions=0, radius=0.4)
    places = np.random.default_rng(1).normal(size=(6, 3))
    places *= 130 / np.linalg.norm(places, axis=1)[:, None]
    pieces = [np.asarray(dust.faces) + len(vertices) + k * len(dust.vertices) for k in range(len(places))]
    return np.vstack([vertices, *(dust.vertices + place for place in places)]), np.vstack([faces, *pieces])


DEFECTS = {
    "holes": (holes, "3 holes, the largest"),
    "doubled": (doubled, "500 doubled faces were left out"),
    "inverted": (inverted, "faces wound against their neighbours were turned"),
    "inside out": (inside_out, "A part that was inside out was turned"),
    "flaps": (flaps, "flaps that stood on the surface were left out"),
    "needles": (needles, "40 needle-thin faces were taken out"),
    "specks": (specks, "6 loose specks were left out"),
}
"""What makes each, and what is said of it."""


def write(path: Path, mesh: tuple[np.ndarray, np.ndarray]) -> Path:
    """The mesh as a file, exactly as it is."""
    trimesh.Trimesh(*mesh, process=False).export(path)
    return path


def write_polygons(path: Path) -> Path:
    """An egg of quads with a polygon of 24 corners at each pole, as an OBJ file with texture places and materials."""
    turns, rows = 24, 23
    around = 2 * np.pi * np.arange(turns) / turns
    lines = ["# an egg", "mtllib egg.mtl", "o egg", "vt 0 0"]
    for row in range(rows):
        down = np.pi * (row + 1) / (rows + 1)
        ring = np.column_stack(
            [np.sin(down) * np.sin(around), np.full(turns, np.cos(down)), np.sin(down) * np.cos(around)]
        )
        lines += [f"v {x:.6f} {y:.6f} {z:.6f}" for x, y, z in ring * HALVES]
    lines.append("usemtl skin")
    for row in range(rows - 1):
        for k in range(turns):
            here, after = row * turns + k + 1, row * turns + (k + 1) % turns + 1
            corners = (here, here + turns, after + turns, after)
            lines.append("f " + " ".join(f"{corner}/1" for corner in corners))
    lines.append("f " + " ".join(str(k + 1) for k in range(turns)))
    lines.append("f " + " ".join(str(-(k + 1)) for k in range(turns)))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path
