"""What needs rays: a moved lamp and the transfer of a new mesh, against the bare queries of the ray library."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.meshes.library import load_head
from sitterlight.shading.compiled import each_at_once, kernel, loop, make_ready, over_vertices, unsigned
from sitterlight.shading.directions import equal_area_directions
from sitterlight.shading.embree import FOR_HITS, FOR_SHADOWS, ask_blocked, ask_hits, new_packet, set_ray
from sitterlight.shading.glance import seen_XYZ
from sitterlight.shading.irradiance import in_head_frame
from sitterlight.shading.rays import RayCaster, spatial_order
from sitterlight.shading.resolve_lights import resolve_lights
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.staging import Setup
from sitterlight.shading.transfer import _GROUP, RESOLUTION, cast_transfer

from .lit import BOUNCES, FAR_LAMP, four_lights, fresh_lamps
from .race import Ratio, mean, race


def lamp_race(places: int = 20, rounds: int = 8) -> Ratio:
    """Ours: the whole head under a lamp that stands where it never stood, to XYZ. The rival casts the shadow rays of
    all samples of that lamp, and forgets what they say. Places differ by half in what either has to do, so both are
    raced at the same ones: at each the best counts, as under a hand that drags, and in all the mean of these."""
    rest, alone = four_lights(), replace(four_lights(), lights=(FAR_LAMP,))
    head, caster = load_head(), RayCaster(load_head().vertices, load_head().faces)
    order, origins = spatial_order(head.vertices), head.ray_origins

    def cast(sitting: Sitting) -> None:
        make_ready()
        points = _lamp(sitting).points.astype(np.float32)
        over_vertices(_cast, len(order), caster.tree.scene, order, origins, head.in_single[1], points)

    at_each = []
    for place in range(1, places + 1):
        # What is remembered of one must not help the other.
        lamps, lamps_alone = fresh_lamps(rest, FAR_LAMP.name, place), fresh_lamps(alone, FAR_LAMP.name, place, 1000)
        bare = fresh_lamps(alone, FAR_LAMP.name, place)
        rivals = {
            "ours": lambda lamps=lamps: _lit(next(lamps)),
            "alone": lambda lamps=lamps_alone: _lit(next(lamps)),
            "rays": lambda lamps=bare: cast(next(lamps)),
        }
        at_each.append(race(rivals, rounds, in_a_row=3))
    ours, by_itself, rays = (mean([best[name] for best in at_each]) for name in ("ours", "alone", "rays"))
    single = [best["ours"].seconds / best["rays"].seconds for best in at_each]
    return Ratio(
        "lamp_vs_rays",
        f"a moved lamp {FAR_LAMP.size:g}° across among four lights, sheen and bounces too, to XYZ",
        ours,
        rays,
        1.5,
        False,
        f"mean of {places} places, {min(single):.2f} to {max(single):.2f} at single ones; the third move in a row "
        f"each, the first after a rival {ours.first / rays.first:.2f}; as the only lamp over its ground, "
        f"{by_itself.seconds / rays.seconds:.2f}; {len(_lamp(alone).points)} shadow rays a vertex that faces it",
    )


def transfer_race(rounds: int = 3, head: Head | None = None) -> Ratio:
    """Ours: rays, what they hit, and the packing of both, with progress. The rival asks the same rays in the same
    order and throws the answers away."""
    head = head or load_head()
    directions = equal_area_directions(RESOLUTION).astype(np.float32)
    caster, origins = RayCaster(head.vertices, head.faces), head.ray_origins
    size = np.linalg.norm(np.ptp(head.vertices, axis=0))
    order = spatial_order(head.vertices + size / 8 * head.normals)
    groups = [order[first : first + _GROUP] for first in range(0, len(order), _GROUP)]
    told: list[float] = []

    def ask(group: np.ndarray) -> int:
        return _ask(caster.tree.scene, origins[group], head.normals[group].astype(np.float32), directions)

    rays = sum(each_at_once(ask, groups))
    rivals = {"ours": lambda: cast_transfer(head, progress=told.append), "rays": lambda: sum(each_at_once(ask, groups))}
    best = race(rivals, rounds, warm=0)
    return Ratio(
        "transfer_vs_rays",
        f"transfer of a mesh of {len(head.vertices)} vertices, on all cores, with progress",
        best["ours"],
        best["rays"],
        1.3,
        False,
        f"{rays / 1e6:.1f} million rays; the search tree of the mesh is in ours only; "
        f"progress told {len(told) // rounds} times",
    )


def _lit(sitting: Sitting) -> np.ndarray:
    setup = Setup.of(sitting, bounces=BOUNCES)
    return seen_XYZ(setup, sitting.eye.observer)


def _lamp(sitting: Sitting):
    """The lamp of a sitting that has but one, as the head sees it."""
    return in_head_frame(resolve_lights(sitting)[0], np.eye(3))


@loop
def _cast(first, last, scene, order, origins, normals, points):
    # One place after the other: the rays of one place for a small lamp stay together longer than those of many places.
    packet = new_packet(FOR_SHADOWS)
    filled = 0
    for index in range(first, last):
        v = unsigned(order[index])
        ox, oy, oz = origins[v, 0], origins[v, 1], origins[v, 2]
        nx, ny, nz = normals[v, 0], normals[v, 1], normals[v, 2]
        for s in range(len(points)):
            x, y, z = points[s, 0], points[s, 1], points[s, 2]
            if nx * x + ny * y + nz * z > 0:
                set_ray(packet, FOR_SHADOWS, filled, ox, oy, oz, x, y, z, np.inf)
                filled += 1
            if filled == FOR_SHADOWS or (filled > 0 and index == last - 1 and s == len(points) - 1):
                ask_blocked(scene, packet, filled)
                filled = 0


@kernel
def _ask(scene, origins, normals, directions):
    packet = new_packet(FOR_HITS)
    rays, count = 0, len(origins)
    for d in range(len(directions)):
        x, y, z = directions[d, 0], directions[d, 1], directions[d, 2]
        filled = 0
        for v in range(count):
            if normals[v, 0] * x + normals[v, 1] * y + normals[v, 2] * z > 0:
                set_ray(packet, FOR_HITS, filled, origins[v, 0], origins[v, 1], origins[v, 2], x, y, z, np.inf)
                filled += 1
            if filled == FOR_HITS or (filled > 0 and v == count - 1):
                ask_hits(scene, packet, filled)
                rays += filled
                filled = 0
    return rays
