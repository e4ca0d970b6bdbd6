"""Reading the CC0 source of the bust: base mesh, its groups, and the average adult shape.

Used only by make_bust.py. Lengths are the source's own units until `to_millimetres`.
"""

from __future__ import annotations

import gzip
from collections import defaultdict
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

# The source's own coordinates of the point between the ear canals, and the two heights whose
# distance is the height of the head (lowest point of the chin, crown).
BETWEEN_THE_EARS = np.array([0.0, 7.16, 0.45])
CHIN_HEIGHT, CROWN_HEIGHT = 6.272, 8.405
HEAD_HEIGHT_MM = 230.0


def read_base(folder: Path) -> tuple[NDArray[np.float64], dict[str, list[list[int]]]]:
    """Vertices (N, 3) and the faces of each group of the base mesh."""
    vertices: list[list[float]] = []
    groups: dict[str, list[list[int]]] = defaultdict(list)
    group = ""
    for line in (folder / "3dobjs" / "base.obj").read_text().splitlines():
        key, _, rest = line.partition(" ")
        if key == "v":
            vertices.append([float(word) for word in rest.split()[:3]])
        elif key == "g":
            group = rest.strip()
        elif key == "f":
            groups[group].append([int(word.split("/")[0]) - 1 for word in rest.split()])
    return np.array(vertices), groups


def average_adult(folder: Path, vertices: NDArray[np.float64]) -> NDArray[np.float64]:
    """The base vertices moved by the average of the six adult base targets."""
    targets = sorted((folder / "targets" / "macrodetails").glob("*-*male-young.target.gz"))
    if len(targets) != 6:
        raise ValueError(f"{folder}: six adult base targets were expected, {len(targets)} found.")
    moved = vertices.copy()
    for target in targets:
        with gzip.open(target, "rt") as lines:
            for line in lines:
                words = line.split()
                if len(words) == 4 and not line.startswith("#"):
                    moved[int(words[0])] += np.array(words[1:], dtype=float) / len(targets)
    return moved


def mirror_pairs(folder: Path, count: int) -> NDArray[np.int64]:
    """(count,) for each vertex the number of its mirror image."""
    pairs = np.arange(count)
    for line in (folder / "mesh_metadata" / "hm08.mirror").read_text().splitlines():
        words = line.split()
        if len(words) >= 2:
            first, second = int(words[0]), int(words[1])
            pairs[first], pairs[second] = second, first
    return pairs


def symmetric(vertices: NDArray[np.float64], pairs: NDArray[np.int64]) -> NDArray[np.float64]:
    """The vertices made exactly symmetric about x = 0."""
    image = vertices[pairs] * [-1.0, 1.0, 1.0]
    mean = (vertices + image) / 2
    mean[pairs == np.arange(len(pairs)), 0] = 0.0
    return mean


def to_millimetres(vertices: NDArray[np.float64]) -> NDArray[np.float64]:
    """Room frame of the head: millimetres, origin between the ears."""
    return (vertices - BETWEEN_THE_EARS) * (HEAD_HEIGHT_MM / (CROWN_HEIGHT - CHIN_HEIGHT))
