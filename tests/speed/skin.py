"""A change of skin: against the plain evaluation of all bands, and against the least that it can cost."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.glance import screen_codes, seen_XYZ
from sitterlight.shading.staging import Setup

from .fine import body_on, on_display_mesh
from .floor import Floor
from .lit import BOUNCES, codes_of, eye_of, four_lights, fresh_skins, largest
from .plain import Plain, bounced_by_kind
from .race import Ratio, fastest_of, race


def skin_races(rounds: int = 30) -> Iterator[Ratio]:
    """Both ratios, from one race."""
    sitting = four_lights()
    eye, skins = eye_of(sitting), fresh_skins(sitting)
    setup = Setup.of(sitting, bounces=BOUNCES)
    fine = on_display_mesh(setup)
    floor, plain, everywhere = Floor(setup, eye), Plain(setup, display=False), Plain(fine, display=False)

    def plainly() -> np.ndarray:
        fresh = Setup.of(next(skins), bounces=BOUNCES)
        return screen_codes(setup.head, plain.XYZ(fresh.body, 2), eye)

    def plainly_everywhere() -> np.ndarray:
        fresh = Setup.of(next(skins), bounces=BOUNCES)
        return screen_codes(fine.head, everywhere.XYZ(body_on(fine.stage, fresh), 2), eye)

    rivals = {
        "ours": lambda: codes_of(next(skins), eye),
        **floor.ways,
        "plain, calculation mesh": plainly,
        "plain, display mesh": plainly_everywhere,
    }
    best = race(rivals, rounds, in_a_row=3)
    fastest = fastest_of(best, list(floor.ways))
    ours, other, rival = (best[name] for name in ("ours", "plain, calculation mesh", "plain, display mesh"))
    yield Ratio(
        "skin_vs_naive",
        f"change of skin, {fine.head.vertices.shape[0]} vertices, four lights, three bounces, all regions, to bytes",
        ours,
        rival,
        100,
        True,
        f"against the 81 bands of the calculation mesh's {len(setup.head.vertices)} vertices, then blended, "
        f"{other.seconds / ours.seconds:.0f} times; the third change in a row each, the first after a rival "
        f"{rival.first / ours.first:.0f} times; {agreement(setup, plain, next(skins))}",
    )
    yield Ratio(
        "skin_vs_floor",
        "the same against bare products and look-up",
        ours,
        best[fastest],
        3,
        False,
        f"the faster floor: {fastest}",
    )


def agreement(setup: Setup, plain: Plain, sitting) -> str:
    """ΔE00 over the display mesh between ours and the plain evaluation, before rounding, in words."""
    same, exact = differences(setup, plain, sitting)
    return (
        f"ΔE00 median / 999 in 1000 / largest: {largest(same)} where paths of several bounces are counted alike, "
        f"{largest(exact)} where each vertex of the plain one has its own albedo at every bounce"
    )


def differences(setup: Setup, plain: Plain, sitting) -> tuple[np.ndarray, np.ndarray]:
    """ΔE00 (D,) between ours and the plain evaluation, which counts longer paths as we do, and which does not."""
    fresh = Setup.of(sitting, bounces=BOUNCES)
    eye, blend = eye_of(sitting), setup.head.to_display
    by_rule = bounced_by_kind(fresh, fresh.body)
    ours, same, exact = (
        eye.Lab(np.asarray(blend @ XYZ, float))
        for XYZ in (seen_XYZ(fresh, 2), plain.XYZ(fresh.body, 2, by_rule), plain.XYZ(fresh.body, 2))
    )
    return delta_E00(ours, same), delta_E00(ours, exact)
