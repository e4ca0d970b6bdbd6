"""Makes data/bust.npz from the CC0 base mesh: python meshes/make_bust.py FOLDER

FOLDER is the unpacked data of the base mesh: it holds 3dobjs/, targets/ and mesh_metadata/.
The result is a closed control mesh with labels; meshes/bust.py subdivides it when it is loaded.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from sitterlight.meshes import bust_planes, bust_shape
from sitterlight.meshes.bust import SEAM
from sitterlight.meshes.bust_regions import soft_weights
from sitterlight.meshes.bust_shape import Cage
from sitterlight.meshes.bust_source import average_adult, mirror_pairs, read_base, symmetric, to_millimetres
from sitterlight.meshes.regions import region_number
from sitterlight.meshes.subdivision import Polygons

# Vertices of the source that the work starts from (found by eye).
UPPER_LIP_MIDDLE, UPPER_LIP_NEXT, INSIDE_MOUTH = 537, 7282, 656
LID_RIM, LID_RIM_NEXT, BEHIND_LIDS = 7747, 7749, 7773
LOWEST_KEPT = -320.0  # mm; the bust ends above


def make(folder: Path) -> dict[str, NDArray]:
    """Everything that bust.npz holds."""
    vertices, groups = read_base(folder)
    pairs = mirror_pairs(folder, len(vertices))
    vertices = to_millimetres(symmetric(average_adult(folder, vertices), pairs))
    body = [face for face in groups["body"] if vertices[face, 1].mean() > LOWEST_KEPT]
    plane, region, table = bust_planes.label(vertices, body, pairs)
    cage = Cage(vertices, body, ["skin"] * len(body), plane, region)
    bust_shape.close_mouth(cage, bust_shape.straight_loop(body, UPPER_LIP_MIDDLE, UPPER_LIP_NEXT), INSIDE_MOUTH)
    centre, radius = sphere_through(vertices[np.unique(np.array(groups["helper-l-eye"]))])
    rim = bust_shape.straight_loop(body, LID_RIM, LID_RIM_NEXT)
    for mirrored in (False, True):
        loop = [int(pairs[i]) if mirrored else i for i in rim]
        behind = int(pairs[BEHIND_LIDS]) if mirrored else BEHIND_LIDS
        bust_shape.shut_socket(cage, loop, behind, centre * [-1 if mirrored else 1, 1, 1], radius)
    bust_shape.cut_bust(cage)
    for side in (1, -1):
        points, faces, kinds = bust_shape.eyeball(centre * [side, 1, 1], radius)
        numbers = cage.add(points)
        for face, kind in zip(faces, kinds, strict=True):
            cage.add_faces([[numbers[i] for i in face]], kind)
    return packed(cage, table)


def sphere_through(points: NDArray[np.float64]) -> tuple[NDArray[np.float64], float]:
    """Centre (3,) and radius of the sphere nearest to the points, by least squares."""
    system = np.column_stack([2 * points, np.ones(len(points))])
    solution = np.linalg.lstsq(system, (points**2).sum(1), rcond=None)[0]
    return solution[:3], float(np.sqrt(solution[3] + solution[:3] @ solution[:3]))


def packed(cage: Cage, table: list[tuple[str, str, str]]) -> dict[str, NDArray]:
    """The cage as compact arrays, unused vertices and planes dropped, exactly symmetric."""
    used = np.unique(np.concatenate([np.array(face) for face in cage.faces]))
    renumber = np.full(len(cage.vertices), -1)
    renumber[used] = np.arange(len(used))
    vertices = exactly_symmetric(cage.vertices[used])
    faces = [renumber[face].tolist() for face in cage.faces]
    polygons = Polygons.from_lists(faces)
    plane = np.array(cage.plane)
    present = np.unique(plane[plane >= 0])
    position = np.full(len(table) + 1, -1)
    position[present] = np.arange(len(present))
    region = np.array([region_number(name) for name in cage.region])
    return {
        "vertices": vertices.astype(np.float32),
        "corners": polygons.corners.astype(np.uint16),
        "counts": polygons.counts.astype(np.uint8),
        "region_of_face": region.astype(np.uint8),
        "plane_of_face": position[plane].astype(np.int16),
        "soft_weights": soft_weights(vertices, faces, np.where(region == SEAM, region_number("clothes"), region)),
        "crease_edges": renumber[np.array(cage.crease_edges)].astype(np.int32),
        "crease_sharpness": np.array(cage.crease_sharpness, dtype=np.int8),
        "plane_names": np.array([table[i][0] for i in present]),
        "plane_sides": np.array([table[i][1] for i in present]),
        "plane_regions": np.array([region_number(table[i][2]) for i in present], dtype=np.uint8),
    }


def exactly_symmetric(vertices: NDArray[np.float64]) -> NDArray[np.float64]:
    """Takes out rounding: every vertex becomes the mean of itself and its mirrored partner."""
    distance, partner = cKDTree(vertices).query(vertices * [-1, 1, 1])
    if distance.max() > 1e-6 or not np.array_equal(partner[partner], np.arange(len(vertices))):
        raise ValueError(f"the bust is not symmetric: a vertex lies {distance.max():.2g} mm from its mirror image.")
    return symmetric(vertices, partner)


def main() -> None:
    """Reads the folder named on the command line and writes data/bust.npz beside this file."""
    target = Path(__file__).parent / "data" / "bust.npz"
    np.savez_compressed(target, **make(Path(sys.argv[1])))
    print(f"{target}: {target.stat().st_size / 1024:.0f} kB")


if __name__ == "__main__":
    main()
