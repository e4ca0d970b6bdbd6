"""The planes of the bust: where each begins and ends, drawn on the left half of the source mesh.

CUTS are lines along edges of the mesh, each given by vertices it runs through (found by eye, the
shortest way between two of them is taken). They part the left half into facets; each plane holds
the vertex named beside it. The right half mirrors the left. Used only by make_bust.py.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.bust_shape import neckline, straight_loop

# name, whether it lies on the middle line, region, a vertex within
PLANES = (
    ("forehead front", True, "forehead", 3750),
    ("forehead side", False, "forehead", 10413),
    ("temple", False, "forehead", 10411),
    ("between the brows", True, "forehead", 220),
    ("brow", False, "forehead", 6980),
    ("inner eye socket", False, "eyelid", 6893),
    ("upper eye socket", False, "eyelid", 6946),
    ("below the eye", False, "eyelid", 11829),
    ("upper lid", False, "eyelid", 6788),
    ("lower lid", False, "eyelid", 6826),
    ("nose bridge", True, "nose", 164),
    ("nose side", False, "nose", 11862),
    ("nose tip", True, "nose", 5054),
    ("nose wing", False, "nose", 11674),
    ("nose underside", True, "nose", 312),
    ("cheekbone top", False, "cheek", 7028),
    ("cheekbone side", False, "cheek", 11798),
    ("cheek front", False, "cheek", 11762),
    ("cheek side", False, "cheek", 7039),
    ("cheek hollow", False, "cheek", 11894),
    ("muzzle front", True, "muzzle", 5342),
    ("muzzle side", False, "muzzle", 7137),
    ("mouth corner", False, "jaw", 7159),
    ("upper lip", True, "lips", 467),
    ("lower lip", True, "lips", 495),
    ("lower lip side", False, "lips", 7232),
    ("below the lip", True, "jaw", 491),
    ("chin front", True, "jaw", 5162),
    ("chin side", False, "jaw", 11775),
    ("chin underside", True, "jaw", 780),
    ("jaw side", False, "jaw", 11834),
    ("jaw underside", False, "jaw", 7463),
    ("ear", False, "ear", 12333),
    ("scalp front", True, "scalp", 5554),
    ("scalp front side", False, "scalp", 12146),
    ("crown", True, "scalp", 881),
    ("crown side", False, "scalp", 7670),
    ("scalp side", False, "scalp", 11994),
    ("scalp back top", True, "scalp", 969),
    ("scalp back", True, "scalp", 962),
    ("scalp back side", False, "scalp", 7656),
    ("nape", True, "scalp", 5544),
    ("behind the ear", False, "scalp", 12154),
    ("neck front", True, "neck", 803),
    ("neck side front", False, "neck", 7632),
    ("neck side back", False, "neck", 7474),
    ("neck back", True, "neck", 856),
    ("trapezius", False, "neck", 7478),
    ("chest", True, "neck", 1526),
    ("shoulder top", False, "neck", 8088),
    ("upper back", True, "neck", 1467),
)

# What lies behind an edge and has no plane: its region and a vertex within.
HIDDEN = (("lips", 520), ("eyelid", 13352), ("nose", 7108))

CUTS = (
    # hairline, to the front of the ear
    (983, 7678, 7016, 7019, 7040, 7576, 7572, 12010, 12360),
    # forehead: front from side, side from temple, above the brows
    (6996, 7598, 10414, 7437, 11802, 11840, 7016),
    (6999, 11868, 10412, 7439, 11803, 11839, 7019),
    (234, 7006, 6997, 6998, 6999, 7024, 7023, 6986, 6965),
    # between the brows, root of the nose
    (7006, 6983, 6984, 6944, 6908, 6904, 6905, 6906, 6907),
    (132, 6910, 6904),
    (6984, 6957),
    # around the eye socket, around the lids, and the four ways between
    (6957, 6956, 6953, 6952, 6954, 6955, 6966, 6965, 6964, 6969, 6970, 6971, 11702, 6972, 7608, 7607),
    (7607, 7610, 11857, 11908, 11911, 11912, 7611, 6901, 6907),
    (6874, 6873, 6875, 6876, 6866, 6867, 6868, 6869, 6870, 6871, 11698, 6872, 6859, 6860, 6861, 6862),
    (6862, 6863, 6864, 11697, 6865, 6883, 6882, 6881, 6880, 6887, 6879, 6878, 6877, 6874),
    (6957, 6951, 6934, 6878),
    (6901, 6896, 6891, 6883),
    (6970, 6962, 6926, 6870, 11499, 6810, 6809, 11473, 6808),
    (6881, 11512, 6852, 6851, 11487, 6850),
    # nose: bridge, side, tip, wing, underside
    (6907, 6903, 11680, 6940, 6975, 7058, 11686, 7060),
    (11911, 11701, 7609, 11861, 11860, 11703, 11708, 7052, 11685, 7053, 11669, 7057),
    (294, 7061, 7060, 7046, 7100, 11711, 7051, 7052),
    (7046, 11668, 7045, 7044),
    (302, 7067, 7066, 7044, 7127, 7056, 7081, 7080, 7119, 7057, 11750),
    (317, 7079, 7078, 7073, 7072),
    (7055, 7119),
    # mouth: border of the lips, muzzle, corner
    (455, 7214, 7210, 7215, 7169, 11956, 7170, 7171, 7168, 7167, 10405, 7162, 7163, 10370, 7164, 7165),
    (7165, 7166, 7235, 7241, 492),
    (7095, 7121, 11749, 11965, 11966, 11956),
    (11750, 11934, 11866, 11759, 11758, 11757, 11756, 10367, 7599, 7600, 7454),
    (7191, 7188, 7249, 7185, 7182, 7162, 7129, 7139, 7435, 11757),
    (7236, 7237, 7259, 7238, 7239, 7235),
    (7166, 7130, 7161, 7444, 7454),
    # chin and jaw
    (724, 7446, 7445, 7444),
    (7454, 11773, 11823, 11779, 11832, 11899, 7616, 7623, 7615, 7687, 7628, 7627),
    (5171, 11781, 11780, 11779, 11778, 11784, 11783, 11782, 11786),
    (7623, 7624, 7593, 10365, 7594, 7595, 7596),
    (787, 7502, 7503, 7627, 7626, 7504, 10361, 7726, 7725, 7482),
    (7596, 7460, 7695, 7480, 7482),
    (7460, 7459, 7613, 7571, 12349),
    # cheek
    (6970, 6991, 7026, 11799, 11933, 11800, 11801, 11813, 7037, 11845, 7572),
    (11799, 11796, 11793, 11790, 11787, 11682, 11681),
    (7610, 6968, 11748, 11681, 11927, 11765, 11767, 11819, 7455),
    (11793, 11931, 11794, 11795, 11814, 11707, 11854, 11713, 11712, 12356),
    (11866, 7602, 11755, 11892, 11893, 11907, 11767),
    (11757, 11770, 11818, 11786, 11837, 11904, 7455, 11849, 7596),
    # ear
    (12351, 12360, 12347, 12356, 12349, 12358, 12365, 12350, 12359, 12361, 12367, 12354, 12346, 12344),
    (12344, 12363, 12348, 12357, 12345, 12355, 12353, 12364, 12352, 12362, 12366, 12351),
    # skull
    (1013, 7712, 7746, 7708, 7706, 7703, 7704),
    (7016, 7676, 12147, 7706, 7668, 7667, 7584, 7566, 7664, 11975, 7658, 11986, 7652, 7646, 7640, 11877, 7591),
    (7019, 7669, 12149, 7704, 7680, 7671, 7673, 7569, 7568, 11970, 7565, 7570, 12355),
    (5368, 11971, 11972, 7567, 7566, 11969, 7569),
    (5379, 11981, 11982, 11974, 11975),
    (948, 7719, 7740, 7647, 7646, 7645, 7644, 7643, 7698, 7642, 7580, 12346),
    (934, 7715, 7734, 7592, 7591, 7590, 7589, 7588, 7696, 7635, 12006, 12350),
    # neck and shoulders
    (7627, 7730, 7526, 7521, 7516, 7511, 8149),
    (7482, 7484, 7486, 7488, 7490, 7492, 8152),
    (7589, 7540, 7541, 7542, 7543, 7544),
    (7490, 7491, 7476, 7477, 7532, 7538, 7544, 7550, 7556, 7557),
)
# Loops of edges that run straight on from two vertices.
LOOPS = (
    (1522, 8205),  # where the neck ends
    (10355, 10418),  # chest from shoulder
    (7557, 8182),  # shoulder from back
    (6785, 6784),  # edge of the lids
    (474, 7229),  # where the lips meet
    (7084, 7085),  # rim of the nostril
)


def label(
    vertices: NDArray[np.float64], faces: list[list[int]], pairs: NDArray[np.int64]
) -> tuple[list[int], list[str], list[tuple[str, str, str]]]:
    """The plane of each face (−1: none), its region, and the table of planes: name, side, region.

    pairs names each vertex's mirror image. Raises ValueError when the cuts part no facet for a plane.
    """
    left = [i for i, face in enumerate(faces) if vertices[face, 0].mean() > 0 and _near_skin(vertices[face])]
    walls = _walls(_neighbours(vertices, [faces[i] for i in left]), CUTS)
    for first, second in LOOPS:
        loop = straight_loop(faces, first, second)
        walls |= {(min(a, b), max(a, b)) for a, b in zip(loop, loop[1:] + loop[:1], strict=True)}
    members: dict[int, list[int]] = defaultdict(list)
    for i, number in zip(left, _facets([faces[i] for i in left], walls), strict=True):
        members[number].append(i)
    table: list[tuple[str, str, str]] = []
    owner: dict[int, tuple[int, str]] = {}
    for name, central, region, seed in PLANES:
        owner[_facet_of(seed, name, faces, members, owner)] = (len(table), region)
        table += [(name, "centre", region)] if central else [(name, s, region) for s in ("left", "right")]
    for region, seed in HIDDEN:
        owner[_facet_of(seed, region, faces, members, owner)] = (-1, region)
    return *_both_sides(faces, pairs, members, owner, table), table


def _facet_of(seed: int, name: str, faces: list[list[int]], members: dict, owner: dict) -> int:
    holding = {number for number, inside in members.items() if any(seed in faces[i] for i in inside)}
    if len(holding) != 1 or holding & owner.keys():
        raise ValueError(f'vertex {seed} does not mark one facet of its own for "{name}".')
    return holding.pop()


def _near_skin(corners: NDArray) -> bool:
    return bool((neckline(corners) > -0.5).any())


def _neighbours(vertices: NDArray, faces: list[list[int]]) -> dict[int, dict[int, float]]:
    near: dict[int, dict[int, float]] = defaultdict(dict)
    for face in faces:
        for a, b in zip(face, face[1:] + face[:1], strict=True):
            near[a][b] = near[b][a] = float(np.linalg.norm(vertices[a] - vertices[b]))
    return near


def _walls(near: dict[int, dict[int, float]], cuts: tuple[tuple[int, ...], ...]) -> set[tuple[int, int]]:
    walls = set()
    for cut in cuts:
        for start, end in pairwise(cut):
            way = shortest_way(near, start, end)
            walls |= {(min(a, b), max(a, b)) for a, b in pairwise(way)}
    return walls


def shortest_way(near: dict[int, dict[int, float]], start: int, end: int) -> list[int]:
    """The vertices of the shortest way along edges from start to end."""
    waiting, before, done = [(0.0, start, -1)], {}, set()
    while waiting:
        length, here, came = heapq.heappop(waiting)
        if here in done:
            continue
        done.add(here)
        before[here] = came
        if here == end:
            way = [here]
            while before[way[-1]] >= 0:
                way.append(before[way[-1]])
            return way[::-1]
        for there, step in near[here].items():
            if there not in done:
                heapq.heappush(waiting, (length + step, there, here))
    raise ValueError(f"there is no way from vertex {start} to vertex {end}.")


def _facets(faces: list[list[int]], walls: set[tuple[int, int]]) -> list[int]:
    """The number of the facet of each face: faces that meet across an edge that is no wall share it."""
    beside: dict[tuple[int, int], list[int]] = defaultdict(list)
    for number, face in enumerate(faces):
        for a, b in zip(face, face[1:] + face[:1], strict=True):
            beside[min(a, b), max(a, b)].append(number)
    facet = [-1] * len(faces)
    for start in range(len(faces)):
        if facet[start] >= 0:
            continue
        facet[start], waiting = start, [start]
        while waiting:
            face = faces[waiting.pop()]
            for a, b in zip(face, face[1:] + face[:1], strict=True):
                edge = (min(a, b), max(a, b))
                for other in beside[edge] if edge not in walls else ():
                    if facet[other] < 0:
                        facet[other] = start
                        waiting.append(other)
    return facet


def _both_sides(
    faces: list[list[int]], pairs: NDArray, members: dict, owner: dict, table: list
) -> tuple[list[int], list[str]]:
    number = {frozenset(face): i for i, face in enumerate(faces)}
    plane, region = [-1] * len(faces), ["neck"] * len(faces)
    for facet, inside in members.items():
        first, name = owner.get(facet, (-1, "neck"))
        second = first + 1 if first >= 0 and table[first][1] == "left" else first
        for i in inside:
            other = number[frozenset(int(pairs[v]) for v in faces[i])]
            plane[i], plane[other] = first, second
            region[i] = region[other] = name
    return plane, region
