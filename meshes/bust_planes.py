"""The planes of the bust (rough)."""

from __future__ import annotations

import numpy as np

SEEDS = [
    ("forehead front", "centre", "forehead", (0, 60, 100)),
    ("forehead side", "left", "forehead", (35, 62, 88)),
    ("temple", "left", "forehead", (62, 35, 60)),
    ("brow", "left", "forehead", (32, 32, 98)),
    ("between the brows", "centre", "forehead", (0, 28, 104)),
    ("upper eye socket", "left", "eyelid", (30, 27, 92)),
    ("upper lid", "left", "eyelid", (31, 23, 92)),
    ("lower lid", "left", "eyelid", (31, 14, 92)),
    ("nose bridge", "centre", "nose", (0, 5, 110)),
    ("nose side", "left", "nose", (12, -3, 104)),
    ("nose tip", "centre", "nose", (0, -17, 124)),
    ("nose wing", "left", "nose", (16, -22, 108)),
    ("nose underside", "centre", "nose", (0, -30, 114)),
    ("cheekbone top", "left", "cheek", (42, -2, 86)),
    ("cheek front", "left", "cheek", (36, -25, 88)),
    ("cheek side", "left", "cheek", (60, -22, 55)),
    ("upper lip area", "centre", "muzzle", (0, -38, 114)),
    ("muzzle side", "left", "muzzle", (22, -42, 102)),
    ("upper lip", "centre", "lips", (0, -48, 114)),
    ("lower lip", "centre", "lips", (0, -58, 112)),
    ("below the lip", "centre", "jaw", (0, -70, 103)),
    ("chin front", "centre", "jaw", (0, -82, 104)),
    ("chin underside", "centre", "jaw", (0, -97, 80)),
    ("chin side", "left", "jaw", (24, -76, 94)),
    ("jaw side", "left", "jaw", (56, -58, 45)),
    ("jaw underside", "left", "jaw", (35, -88, 55)),
    ("ear", "left", "ear", (80, 0, -5)),
    ("neck front", "centre", "neck", (0, -150, 30)),
    ("neck side", "left", "neck", (50, -110, 5)),
    ("neck back", "centre", "neck", (0, -90, -65)),
    ("crown", "centre", "scalp", (0, 134, 0)),
    ("crown side", "left", "scalp", (45, 105, 10)),
    ("scalp front", "centre", "scalp", (0, 105, 78)),
    ("scalp side", "left", "scalp", (72, 45, -10)),
    ("scalp back", "centre", "scalp", (0, 60, -100)),
    ("scalp back side", "left", "scalp", (50, 40, -75)),
    ("nape", "centre", "scalp", (0, -15, -80)),
    ("chest", "centre", "neck", (0, -215, 50)),
    ("shoulder top", "left", "neck", (90, -160, -20)),
]


def label(vertices, faces):
    """Plane number for each face, and the table of planes (rough)."""
    table = []
    points = []
    for name, side, region, p in SEEDS:
        table.append((name, side, region))
        points.append(p)
        if side == "left":
            table.append((name, "right", region))
            points.append((-p[0], p[1], p[2]))
    c = np.array([vertices[f].mean(0) for f in faces])
    d = np.linalg.norm(c[:, None] - np.array(points)[None], axis=2)
    return [int(i) for i in d.argmin(1)], table
