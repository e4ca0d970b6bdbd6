"""How long recipes for a head take, against trying every mix: `python -m tests.recipes_speed` from the top folder.

Forty targets as heads have them, twelve paints, up to four in a mix; whites and strong paints in the amounts of
shading/recipe_table.py. Brute force computes every such mix exactly and its ΔE00 to every target. Both in one run, on
as many threads as numpy takes.
"""

from __future__ import annotations

import time

import numpy as np

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.mixing import mix_Lab, viewing_light
from sitterlight.shading.paints import DEFAULT_PALETTE, Paint, paints
from sitterlight.shading.recipe_table import REMEMBERED, mixes_of
from sitterlight.shading.recipes import recipes_for

TARGETS, BLOCK = 40, 4096
TWELVE = (*DEFAULT_PALETTE, "PY42 deep", "PR108", "PBk9")


def flesh(count: int, seed: int = 1) -> np.ndarray:
    """Lab (count, 3): L* 15 to 85, hue angle 30° to 80°, C*ab 5 to 32."""
    rng = np.random.default_rng(seed)
    L, C, h = rng.uniform(15, 85, count), rng.uniform(5, 32, count), np.radians(rng.uniform(30, 80, count))
    return np.stack([L, C * np.cos(h), C * np.sin(h)], axis=1)


def brute_force(targets: np.ndarray, palette: tuple[Paint, ...], light) -> tuple[np.ndarray, int]:
    """The least ΔE00 (targets,) over every mix, each computed exactly, and how many there are."""
    best, tried = np.full(len(targets), np.inf), 0
    for count in (1, 2, 3, 4):
        drops = mixes_of(palette, light, count).drops
        for start in range(0, len(drops), BLOCK):
            Lab = mix_Lab(drops[start : start + BLOCK].astype(float), palette, light)
            best = np.minimum(best, delta_E00(targets[:, None], Lab).min(axis=1))
            tried += len(Lab)
    return best, tried


def measure() -> dict[str, float]:
    """Seconds of the search with no table at hand, with its tables, and of brute force; how their distances compare."""
    palette, light, targets = paints(TWELVE), viewing_light("D50"), flesh(TARGETS)
    recipes_for(targets[:1], palette[:3])
    REMEMBERED.forget()
    cold = _seconds(lambda: recipes_for(targets, palette))
    warm = _seconds(lambda: recipes_for(targets, palette))
    found = np.array([min(o.delta_e for o in r.alternatives) for r in recipes_for(targets, palette)])
    start = time.perf_counter()
    least, tried = brute_force(targets, palette, light)
    slow = time.perf_counter() - start
    return {
        "cold": cold,
        "warm": warm,
        "brute force": slow,
        "mixes": tried,
        "largest excess": float((found - least).max()),
        "mean gain": float((least - found).mean()),
    }


def _seconds(work) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


if __name__ == "__main__":
    got = measure()
    print(f"{TARGETS} targets, {len(TWELVE)} paints, up to four in a mix; {got['mixes']:.0f} mixes")
    print(f"search, nothing remembered  {got['cold']:7.2f} s")
    print(f"search, tables remembered   {got['warm']:7.2f} s")
    print(
        f"every mix tried exactly     {got['brute force']:7.2f} s, {got['brute force'] / got['cold']:.0f} times as long"
    )
    print(
        f"ΔE00 of the search above brute force: at most {got['largest excess']:+.2f}; nearer by {got['mean gain']:.2f}"
    )
