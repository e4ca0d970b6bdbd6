"""Blocks the sun or a part of the sky: open shade, a tree, an awning, a porch.

What blocks is taken as dark and at a distance; light that it returns is the ground's and the walls' business.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sitterlight.illuminants.sky import Sky
from sitterlight.illuminants.sun import SunDisc


@dataclass(frozen=True)
class Shade:
    """`passes` gives the share (N,) of light that comes through from unit directions (N, 3) of the room
    frame.
    """

    description: str
    passes: Callable[[np.ndarray], np.ndarray]
    hides_sun: bool = False


def _all(directions: np.ndarray) -> np.ndarray:
    return np.ones(len(directions))


def _tree(directions: np.ndarray) -> np.ndarray:
    return np.where(directions[:, 1] > np.sin(np.radians(25)), 0.1, 1.0)


def _awning(directions: np.ndarray) -> np.ndarray:
    return np.where(directions[:, 1] > np.sin(np.radians(40)), 0.0, 1.0)


def _porch(directions: np.ndarray) -> np.ndarray:
    in_front = (directions[:, 2] > 0) & (directions[:, 1] < np.sin(np.radians(60)))
    return np.where(in_front, 1.0, 0.0)


SHADES = {
    "none": Shade("nothing blocked", _all),
    "open": Shade("open shade: the sun blocked, the whole sky there", _all, hides_sun=True),
    "tree": Shade("under a tree: a tenth comes through above 25 degrees", _tree),
    "awning": Shade("under an awning: nothing from above 40 degrees", _awning),
    "porch": Shade("in a porch: only the sky in front, up to 60 degrees", _porch),
}


def shade_named(name: str) -> Shade:
    """The shade of that name. Raises ValueError with the list otherwise."""
    if name not in SHADES:
        raise ValueError(f"shade: {name!r} is not known; it must be one of {', '.join(SHADES)}")
    return SHADES[name]


def shaded_sky(sky: Sky, shade: Shade) -> Sky:
    """The sky as far as it comes through."""
    pattern = sky.pattern
    return Sky(sky.name, sky.basis, lambda directions: pattern(directions) * shade.passes(directions)[:, None])


def shaded_sun(sun: SunDisc | None, shade: Shade) -> SunDisc | None:
    """The sun as far as it comes through; None where it is blocked."""
    if sun is None or shade.hides_sun:
        return None
    passes = float(shade.passes(sun.direction[None])[0])
    return sun.dimmed(passes) if passes > 0 else None
