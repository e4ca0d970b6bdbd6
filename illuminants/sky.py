"""Skies: radiance over the upper half of the sphere, as a few basis spectra with weights by direction."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sitterlight.illuminants import catalogue
from sitterlight.illuminants.catalogue import NamedSpectrum
from sitterlight.illuminants.general_sky import (
    TRADITIONAL_OVERCAST,
    TYPES,
    gradation,
    hemisphere,
    relative_luminance,
)
from sitterlight.illuminants.observer import luminous
from sitterlight.illuminants.temperature import daylight_basis, daylight_weights

AUTO = "auto"
DEFAULT_SPECTRUM = "6500 K"

OPEN_SHADE_HORIZON = 9000.0
OPEN_SHADE_ZENITH = 20000.0
"""CCT in K of the sky that open shade sees, low and overhead (common practice, no source)."""

_OPEN_SHADE_GRADATION = "V"


@dataclass(frozen=True, eq=False)
class Sky:
    """Radiance of the dome: weights(directions) @ basis, in W/(m² sr nm).

    `basis` (K, 81), read-only; single rows may have negative parts, their weighted sums have none. `pattern`
    gives the weights (N, K) for unit vectors (N, 3) on or above the horizon.
    """

    name: str
    basis: np.ndarray
    pattern: Callable[[np.ndarray], np.ndarray]

    def weights(self, directions: np.ndarray) -> np.ndarray:
        """Weights (N, K) of the basis for directions (N, 3) in the room frame, of any length; 0 below the
        horizon.
        """
        directions = np.asarray(directions, dtype=float)
        directions = directions / np.linalg.norm(directions, axis=-1, keepdims=True)
        up = directions[:, 1] >= 0
        weights = np.zeros((len(directions), len(self.basis)))
        weights[up] = self.pattern(directions[up])
        return weights

    def radiance(self, directions: np.ndarray) -> np.ndarray:
        """Spectral radiance (N, 81) in W/(m² sr nm) from directions (N, 3)."""
        return self.weights(directions) @ self.basis

    def horizontal_irradiance(self) -> np.ndarray:
        """Spectral irradiance (81,) in W/(m² nm) of open horizontal ground under the whole sky."""
        points, solid_angles = hemisphere()
        return ((solid_angles * points[:, 1]) @ self.weights(points)) @ self.basis

    def scaled(self, factor: float) -> Sky:
        """The same sky, so many times as bright."""
        return Sky(self.name, _frozen(self.basis * factor), self.pattern)


def sky_names() -> tuple[str, ...]:
    """The names that `make_sky` knows besides the numbers 1 to 16."""
    return ("overcast", "uniform", "open shade")


def needs_sun(sky: str | int) -> bool:
    """Whether `make_sky` needs a sun direction for this sky."""
    kind = _kind(sky)
    return isinstance(kind, int) and TYPES[kind].directional


def make_sky(
    sky: str | int = "overcast",
    spectrum: str | NamedSpectrum | np.ndarray | None = None,
    sun_direction: np.ndarray | None = None,
) -> Sky:
    """A sky that lights open horizontal ground with 1 lux.

    `sky`: "overcast" is the traditional (1 + 2 sin γ)/3 of Moon and Spencer 1942, also type 16; "uniform";
    "open shade", a clear blue sky without the region of the sun, brighter and less blue toward the horizon;
    or a type 1 to 16 of ISO 15469. `spectrum`: one for the whole dome, by name or as power (81,); without it
    or with "auto" 6500 K, and for open shade CIE daylight of 9000 K at the horizon to 20 000 K at the zenith.
    `sun_direction` (3,) in the room frame, for the types that depend on it.

    Raises ValueError for an unknown sky or spectrum, and where a sun direction is needed and missing.
    """
    kind = _kind(sky)
    name = f"sky type {kind}" if isinstance(kind, int) and kind != TRADITIONAL_OVERCAST else str(sky)
    sun = None if sun_direction is None else _unit(sun_direction)
    if isinstance(spectrum, str) and spectrum.strip().casefold() == AUTO:
        spectrum = None
    if kind == "open shade" and spectrum is None:
        return _normalised(name, daylight_basis(), _open_shade)
    luminance = _luminance(kind, sun)
    return _normalised(name, _power(spectrum)[None], lambda directions: luminance(directions)[:, None])


def _kind(sky: str | int) -> str | int:
    """The sky as one of the plain names or a type number."""
    if isinstance(sky, str) and sky.strip().isdigit():
        sky = int(sky)
    if isinstance(sky, int) and not isinstance(sky, bool) and sky in TYPES:
        return sky
    if isinstance(sky, str):
        name = " ".join(sky.casefold().replace("-", " ").split())
        if name == "overcast":
            return TRADITIONAL_OVERCAST
        if name in sky_names():
            return name
    allowed = ", ".join(f'"{name}"' for name in sky_names())
    raise ValueError(f"sky: {sky!r} is not known; it must be {allowed} or a type 1 to 16 of ISO 15469")


def _luminance(kind: str | int, sun: np.ndarray | None) -> Callable[[np.ndarray], np.ndarray]:
    """Relative luminance (N,) as a function of unit directions (N, 3)."""
    if kind == "uniform":
        return lambda directions: np.ones(len(directions))
    if kind == "open shade":
        return lambda directions: gradation(_OPEN_SHADE_GRADATION, directions[:, 1])
    return lambda directions: relative_luminance(int(kind), directions, sun)


def _open_shade(directions: np.ndarray) -> np.ndarray:
    """Weights of the daylight components for open shade, up to a factor.

    Brightness is the gradation of clear skies; the brighter a part, the longer the path of air that it shows
    and the whiter it is, so reciprocal temperature goes along with brightness.
    """
    luminance = gradation(_OPEN_SHADE_GRADATION, directions[:, 1])
    zenith, horizon = gradation(_OPEN_SHADE_GRADATION, np.array([1.0, 0.0]))
    share = (luminance - zenith) / (horizon - zenith)
    reciprocal = (1 - share) / OPEN_SHADE_ZENITH + share / OPEN_SHADE_HORIZON
    return luminance[:, None] * daylight_weights(1 / reciprocal)


def _power(spectrum: str | NamedSpectrum | np.ndarray | None) -> np.ndarray:
    """A spectrum (81,) scaled to 1 lux."""
    if isinstance(spectrum, np.ndarray):
        return spectrum / luminous(spectrum)
    if isinstance(spectrum, NamedSpectrum):
        return spectrum.power
    return catalogue.spectrum(spectrum or DEFAULT_SPECTRUM, role="sky").power


def _normalised(name: str, basis: np.ndarray, pattern: Callable[[np.ndarray], np.ndarray]) -> Sky:
    """Scale the basis so that open ground receives 1 lux."""
    sky = Sky(name, np.array(basis), pattern)
    return sky.scaled(1 / float(luminous(sky.horizontal_irradiance())))


def _unit(direction: np.ndarray) -> np.ndarray:
    """A direction (3,) as a unit vector."""
    direction = np.asarray(direction, dtype=float)
    length = np.linalg.norm(direction)
    if direction.shape != (3,) or not length > 0:
        raise ValueError(f"sun_direction: must be three numbers, not all 0, not {direction.tolist()}")
    return direction / length


def _frozen(array: np.ndarray) -> np.ndarray:
    array.setflags(write=False)
    return array
