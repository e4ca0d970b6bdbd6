"""What throws light back: reflectance of ground, walls and clothes, as diffuse surfaces."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from pathlib import Path

import numpy as np

from sitterlight.illuminants.files import is_file, read_spectrum_csv
from sitterlight.illuminants.grid import WAVELENGTHS, on_grid
from sitterlight.illuminants.tables import DATA


@dataclass(frozen=True)
class Surface:
    """A listed surface: `reflectance` (81,) from 0 to 1, read-only."""

    name: str
    description: str
    reflectance: np.ndarray


@cache
def surfaces() -> dict[str, Surface]:
    """All listed surfaces by name."""
    from scipy.interpolate import PchipInterpolator  # here, since few sittings name one and it is slow to load

    listed = {}
    with (DATA / "surfaces.csv").open(encoding="utf-8", newline="") as file:
        rows = csv.reader(file)
        anchors = [float(nm) for nm in next(rows)[2:]]
        for name, description, *values in rows:
            # Monotone between the anchors, so nothing overshoots 0 or 1.
            reflectance = PchipInterpolator(anchors, [float(value) for value in values])(WAVELENGTHS)
            reflectance.setflags(write=False)
            listed[name] = Surface(name, description, reflectance)
    return listed


@cache
def _by_plain_names() -> dict[str, str]:
    return {_plain(name): name for name in surfaces()}


def surface_names() -> tuple[str, ...]:
    """Names of the listed surfaces."""
    return tuple(surfaces())


def reflectance(surface: str | float, folder: str | Path | None = None, what: str = "surface") -> np.ndarray:
    """Reflectance (81,), 0 to 1, of a grey number 0 to 1, a listed surface or a CSV file relative to
    `folder`.

    Raises ValueError, opening with `what` (the key it was asked for), with near matches for an unknown name.
    """
    number = _as_number(surface)
    if number is not None:
        if not 0 <= number <= 1:
            raise ValueError(f"{what}: {surface!r} is out of range; a grey is a number from 0 to 1")
        return np.full(WAVELENGTHS.shape, number)
    if not isinstance(surface, str):
        raise ValueError(f"{what}: {surface!r} must be a number from 0 to 1, a listed surface or a CSV file")
    known = _by_plain_names()
    if _plain(surface) in known:
        return surfaces()[known[_plain(surface)]].reflectance.copy()
    path = Path(folder or ".") / surface
    if re.search(r"[/\\]|\.(csv|txt|tsv)$", surface, re.IGNORECASE) or (surface and is_file(path)):
        nm, values = read_spectrum_csv(path, "reflectance")
        return on_grid(nm, values, str(path))
    near = [known[each] for each in get_close_matches(_plain(surface), known, n=4, cutoff=0.5)]
    hint = f"near it: {', '.join(near)}" if near else f"there are {', '.join(surface_names()[:12])} and others"
    shown = repr(surface if len(surface) <= 40 else surface[:39] + "…")
    raise ValueError(f"{what}: {shown} is not a listed surface; {hint}; or a number from 0 to 1, or a CSV file")


def _plain(name: str) -> str:
    """A name without capitals, spaces, hyphens and underscores."""
    return re.sub(r"[\s_-]+", "", name).casefold()


def _as_number(surface: object) -> float | None:
    """The surface as a number, or None where it is none; true and false are none."""
    if isinstance(surface, bool):
        return None
    if isinstance(surface, (int, float, np.integer, np.floating)):
        return float(surface)
    try:
        return float(surface) if isinstance(surface, str) else None
    except ValueError:
        return None
