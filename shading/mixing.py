"""From parts of tubes to the colour of the mix, for many mixes at once.

A mix is laid on thickly enough to hide what is beneath, and seen clear of its gloss. Colours are given as the
targets are: as they would look under D65, taken there from the viewing light by full CAT16.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sitterlight.illuminants.catalogue import spectrum
from sitterlight.illuminants.observer import colour_matching
from sitterlight.shading.cat16 import adaptation_matrix
from sitterlight.shading.colour_spaces import D65_WHITE, Lab_from_XYZ
from sitterlight.shading.paint_optics import (
    beneath_surface,
    film_reflectance,
    mixture,
    opaque_reflectance,
    seen_through_surface,
)
from sitterlight.shading.paints import Paint

Array = NDArray[np.floating]


@dataclass(frozen=True, eq=False)
class ViewingLight:
    """A light to look at paint under: `XYZ` (81, 3) takes reflectance to XYZ as seen in D65, white Y = 1."""

    name: str
    XYZ: Array = field(repr=False)


@lru_cache(maxsize=32)
def viewing_light(name: str, folder: str | Path | None = None, observer: int = 2) -> ViewingLight:
    """The light of that name, sight fully used to it. Raises ValueError for a light that is not known."""
    weights = spectrum(name, folder).power[:, None] * colour_matching(observer)
    weights = weights / weights[:, 1].sum()
    to_D65 = adaptation_matrix(weights.sum(axis=0), D65_WHITE)
    matrix = weights @ to_D65.T
    matrix.setflags(write=False)
    return ViewingLight(name, matrix)


def spectra_of(palette: tuple[Paint, ...]) -> tuple[Array, Array]:
    """K and S (paints, 81) of a palette."""
    return np.stack([p.K for p in palette]), np.stack([p.S for p in palette])


def mix_reflectance(parts: ArrayLike, palette: tuple[Paint, ...]) -> Array:
    """Reflectance (..., 81) of mixes of `parts` (..., paints) by volume, opaque, gloss excluded."""
    K, S = mixture(parts, *spectra_of(palette))
    return seen_through_surface(opaque_reflectance(K, S))


def glaze_reflectance(parts: ArrayLike, palette: tuple[Paint, ...], thickness: ArrayLike, ground: ArrayLike) -> Array:
    """Reflectance (..., 81) of films of mixes laid over a dry ground, gloss excluded.

    thickness: in units of the depth over which titanium white scatters, of any shape that broadcasts with the mixes;
    ground: reflectance (..., 81) as it is seen by itself, its own gloss excluded. The film lies on the ground without
    air between, so light meets one surface only.
    """
    K, S = mixture(parts, *spectra_of(palette))
    thickness = np.asarray(thickness, float)[..., None]
    return seen_through_surface(film_reflectance(K, S, thickness, beneath_surface(ground)))


def Lab_under(reflectance: ArrayLike, light: ViewingLight) -> Array:
    """Lab (..., 3), in D65 notation, of a reflectance (..., 81) seen under a light."""
    return Lab_from_XYZ(np.asarray(reflectance, float) @ light.XYZ)


def mix_Lab(parts: ArrayLike, palette: tuple[Paint, ...], light: ViewingLight) -> Array:
    """Lab (..., 3), in D65 notation, of mixes of `parts` (..., paints) seen under a light."""
    return Lab_under(mix_reflectance(parts, palette), light)


@lru_cache(maxsize=1)
def _coarse() -> Array:
    """Takes spectra on every other wavelength (41,) to the whole grid by straight lines, (81, 41)."""
    whole, coarse = np.arange(81), np.arange(0, 81, 2)
    return np.stack([np.interp(whole, coarse, row) for row in np.eye(41)], axis=1)


def many_mix_Lab(parts: Array, palette: tuple[Paint, ...], light: ViewingLight) -> Array:
    """Lab (mixes, 3), float32, of very many mixes, 10 nm apart and in blocks that fit the processor's cache.

    Within 0.1 of `mix_Lab` for the paints of the library; to find candidates, not to report.
    """
    K, S = (values[:, ::2].astype(np.float32) for values in spectra_of(palette))
    matrix = (_coarse().T @ light.XYZ).astype(np.float32)
    found = np.empty((len(parts), 3), np.float32)
    for start in range(0, len(parts), 1024):
        some = mixture(parts[start : start + 1024].astype(np.float32), K, S)
        found[start : start + 1024] = Lab_from_XYZ(seen_through_surface(opaque_reflectance(*some)) @ matrix)
    return found
