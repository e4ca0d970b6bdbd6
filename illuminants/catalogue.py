"""Lights by name: CIE illuminants, common lamps, "N K", or a file."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path

import numpy as np

from sitterlight.illuminants.files import is_file, read_spectrum_csv
from sitterlight.illuminants.grid import WAVELENGTHS, on_grid
from sitterlight.illuminants.observer import luminous
from sitterlight.illuminants.tables import table
from sitterlight.illuminants.temperature import DAYLIGHT_RANGE, PLANCKIAN_RANGE, daylight, planckian

LONGEST_NAME = 1000
ROLES = ("lamp", "sky")

_PLAIN = {
    "A": "incandescent lamp, CIE illuminant A, 2856 K",
    "B": "direct sunlight, CIE illuminant B (obsolete), 4874 K",
    "C": "average daylight, CIE illuminant C, 6774 K",
    "D50": "CIE daylight, 5000 K, the print trade's white",
    "D55": "CIE daylight, 5500 K",
    "D60": "CIE daylight, 6000 K",
    "D65": "CIE daylight, 6500 K, the screen's white",
    "D75": "CIE daylight, 7500 K",
    "E": "equal energy at every wavelength",
    "ID50": "CIE indoor daylight, 5100 K, behind window glass",
    "ID65": "CIE indoor daylight, 6600 K, behind window glass",
    "LED-B1": "LED, warm, blue chip with phosphor, 2733 K",
    "LED-B2": "LED, warm, blue chip with phosphor, 2998 K",
    "LED-B3": "LED, neutral, blue chip with phosphor, 4103 K",
    "LED-B4": "LED, cool neutral, blue chip with phosphor, 5109 K",
    "LED-B5": "LED, cool, blue chip with phosphor, 6598 K",
    "LED-BH1": "LED, warm, blue chip with phosphor and red chip, 2851 K",
    "LED-RGB1": "LED, warm, red, green and blue chips, 2840 K, poor colour rendering",
    "LED-V1": "LED, warm, violet chip with phosphors, 2724 K, good colour rendering",
    "LED-V2": "LED, neutral, violet chip with phosphors, 4070 K, good colour rendering",
}

# Flames and halogen lamps glow almost like Planckian radiators; their temperatures here are from memory.
_GLOWING = {
    "halogen": (3000.0, "tungsten halogen lamp, Planckian at 3000 K"),
    "photoflood": (3400.0, "photoflood lamp, Planckian at 3400 K"),
    "household bulb": (2700.0, "household bulb, Planckian at 2700 K"),
    "oil lamp": (2000.0, "oil or kerosene lamp, Planckian at 2000 K"),
    "candle": (1900.0, "candle, Planckian at 1900 K"),
    "fire": (1700.0, "wood fire, Planckian at 1700 K"),
}

_SAME_AS = {
    "incandescent": "A",
    "daylight": "D65",
    "equal energy": "E",
    "warm LED": "LED-B1",
    "neutral LED": "LED-B3",
    "cool LED": "LED-B5",
    "good warm LED": "LED-V1",
    "poor warm LED": "LED-RGB1",
    "fluorescent": "FL2",
    "daylight fluorescent": "FL7",
    "warm fluorescent": "FL12",
    "sodium": "HP1",
}


@dataclass(frozen=True)
class NamedSpectrum:
    """A light's spectrum: `power` (81,) per nm on the grid, scaled to 1 lux, read-only."""

    name: str
    description: str
    power: np.ndarray


def names() -> tuple[str, ...]:
    """Every name that `spectrum` knows; "N K" and files come on top of them."""
    return (*table("illuminants"), *_GLOWING, *_SAME_AS)


def spectrum(name: str, folder: str | Path | None = None, role: str = "lamp") -> NamedSpectrum:
    """The light called `name`.

    A name from `names()`, capitals and hyphens not minded; "N K", which is CIE daylight from 4000 to 25000 K
    for the `role` "sky" and Planckian from 1000 to 25000 K for "lamp"; "daylight N K" and "Planckian N K" in
    either role; or a CSV file of wavelength in nm and power, relative to `folder`.

    Raises ValueError with near matches for a name that is none of these, and for a file that is no spectrum.
    """
    if role not in ROLES:
        raise ValueError(f"role: {role!r} is not known; it must be one of {', '.join(ROLES)}")
    name = str(name).strip()
    if len(name) > LONGEST_NAME:
        raise ValueError(f"spectrum: a name of {len(name)} letters is too long; allowed are {LONGEST_NAME}")
    listed = _by_plain_name().get(_plain(name))
    if listed is not None:
        return _listed(listed)
    return _of_temperature(name, role) or _from_file(name, folder) or _unknown(name)


@lru_cache(maxsize=1)
def _by_plain_name() -> dict[str, str]:
    return {_plain(each): each for each in names()}


def _plain(name: str) -> str:
    """A name without capitals, spaces, hyphens and underscores."""
    return re.sub(r"[\s_-]+", "", name).casefold()


@lru_cache(maxsize=64)
def _listed(name: str) -> NamedSpectrum:
    """A light from the catalogue by its exact name."""
    if name in _GLOWING:
        temperature, description = _GLOWING[name]
        return _named(name, description, planckian(temperature))
    original = _SAME_AS.get(name, name)
    description = _PLAIN.get(original, _family(original))
    if original != name:
        description += f" ({original})"
    return _named(name, description, table("illuminants")[original])


def _family(name: str) -> str:
    """What an illuminant without a line of its own is."""
    if name.startswith("FL"):
        return f"fluorescent lamp, CIE {name}"
    return f"high-pressure discharge lamp, CIE {name}"


def _of_temperature(name: str, role: str) -> NamedSpectrum | None:
    """The light "N K", or None where the name is no temperature."""
    match = re.fullmatch(r"(daylight|planckian|blackbody)?\s*(-?\d+(?:\.\d+)?)\s*k", name.casefold())
    if not match:
        return None
    temperature = float(match[2])
    as_daylight = match[1] == "daylight" or (match[1] is None and role == "sky")
    low, high = DAYLIGHT_RANGE if as_daylight else PLANCKIAN_RANGE
    kind = "CIE daylight" if as_daylight else "Planckian radiator"
    if not low <= temperature <= high:
        raise ValueError(
            f"spectrum: {name!r} is out of range; a {role} of so many K is a {kind}, {low:g} K to {high:g} K"
        )
    make: Callable[[float], np.ndarray] = daylight if as_daylight else planckian
    return _named(name, f"{kind}, {temperature:g} K", make(temperature))


def _from_file(name: str, folder: str | Path | None) -> NamedSpectrum | None:
    """A user's spectrum, or None where the name does not look like a file."""
    path = Path(folder or ".") / name
    if not (re.search(r"[/\\]|\.(csv|txt|tsv)$", name, re.IGNORECASE) or is_file(path)):
        return None
    nm, values = read_spectrum_csv(path, "power")
    return _named(name, f"measured, {nm[0]:g} to {nm[-1]:g} nm", on_grid(nm, values / values.max(), str(path)))


def _named(name: str, description: str, power: np.ndarray) -> NamedSpectrum:
    """Scale to 1 lux and freeze."""
    lux = float(luminous(power))
    if lux <= 0:
        raise ValueError(f"{name}: has no visible power between {WAVELENGTHS[0]:g} and {WAVELENGTHS[-1]:g} nm")
    power = power / lux
    power.setflags(write=False)
    return NamedSpectrum(name, description, power)


def _unknown(name: str) -> NamedSpectrum:
    """Raise ValueError that names near matches."""
    known = {_plain(each): each for each in names()}
    near = [known[each] for each in get_close_matches(_plain(name), known, n=4, cutoff=0.5)]
    hint = f"near it: {', '.join(near)}" if near else f"for instance {', '.join(names()[:5])}, candle"
    raise ValueError(f'spectrum: {name!r} is not a known light; {hint}; or "N K", or a CSV file')
