"""The body of the skin as a spectral albedo, from the amounts of what absorbs and scatters in it.

Two layers. Light crosses the epidermis, where melanin absorbs and a little is scattered; the dermis below,
thick enough to be without end, scatters it back through blood and carotene; it crosses the epidermis again.
Each layer is taken as Kubelka and Munk did (1931; Kubelka 1948, Journal of the Optical Society of America 38,
448), with absorption K = 2 μa and scattering S = ¾ μs′ of diffuse light (Star, Marijnissen & van Gemert 1988,
Physics in Medicine & Biology 33, 437), and what comes up from inside is partly turned back at the surface
(Saunderson 1942, Journal of the Optical Society of America 32, 727). The mirror reflection of the surface is
no part of the albedo: that is the sheen.

The constants of the model are in data/skin_constants.json, fitted to measured forearms by fit_skin.py.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading.surface import REFRACTIVE_INDEX, fresnel

DATA = Path(__file__).parent / "data"

UPPER_DERMIS = 0.35
"""mm of dermis above the hair roots of a beard; from memory of histology, 0.2 to 0.5."""

# Whole blood: 150 g/l of haemoglobin, 64 500 g/mol; decadic cm⁻¹ to natural mm⁻¹ (Prahl 1998).
_BLOOD_PER_PERCENT = 0.01 * 2.303 * 150 / 64500 / 10


@dataclass(frozen=True)
class SkinAmounts:
    """What is in a skin, so far as it shows."""

    melanin: float
    """Absorption of the epidermis crossed once straight, at 550 nm: about 0.03 very fair to 0.8 very deep."""
    blood: float
    """Percent of the dermis that is blood: 0.3 to 2, in lips more."""
    oxygenation: float
    """Share of the blood that carries oxygen, 0 to 1: about 0.6."""
    carotene: float
    """Absorption of carotene at 450 nm, mm⁻¹: 0.01 to 0.15."""
    scattering: float
    """Reduced scattering of the dermis at 550 nm, mm⁻¹: 2 to 5."""
    veil: float = 0.21
    """Reduced scattering of the whole epidermis at 550 nm, as a depth: a pale veil over what is below, 0.16 to 0.3."""
    deep_melanin: float = 0.0
    """Absorption by hair roots under the upper dermis, mm⁻¹, alike at all wavelengths: 0, or to 0.1 in a beard."""

    def __post_init__(self) -> None:
        for name, (low, high) in LIMITS.items():
            value = getattr(self, name)
            if not low <= value <= high:
                raise ValueError(f"skin amounts: {name} is {value:g}, but must be from {low:g} to {high:g}")

    def as_array(self) -> np.ndarray:
        """The amounts in the order of AMOUNTS, shape (7,)."""
        return np.array([getattr(self, name) for name in AMOUNTS], dtype=float)

    def as_dict(self) -> dict[str, float]:
        """The amounts by name."""
        return {name: getattr(self, name) for name in AMOUNTS}


LIMITS: dict[str, tuple[float, float]] = {
    "melanin": (0.0, 5.0),
    "blood": (0.0, 20.0),
    "oxygenation": (0.0, 1.0),
    "carotene": (0.0, 5.0),
    "scattering": (0.5, 20.0),
    "veil": (0.01, 2.0),
    "deep_melanin": (0.0, 10.0),
}
AMOUNTS: tuple[str, ...] = tuple(field.name for field in fields(SkinAmounts))


@dataclass(frozen=True)
class SkinConstants:
    """What is the same in everyone, as fitted by fit_skin.py."""

    melanin_power: float
    """Melanin absorbs as (λ / 550 nm) to minus this."""
    fibre_power: float
    """Scattering of coarse fibres falls as λ to minus this."""
    fine_share: float
    """Share of scattering at 550 nm that falls as λ⁻⁴."""
    base: float
    """Absorption of a dermis without blood, mm⁻¹."""
    bandwidth: float
    """Standard deviation, nm, by which the bands of haemoglobin look widened."""
    carotene_shift: float
    """nm by which carotene in skin absorbs at longer wavelengths than in hexane."""


def albedo(amounts: SkinAmounts) -> np.ndarray:
    """Spectral albedo of the skin's body on the grid, shape (81,), without sheen."""
    return albedos(amounts.as_array(), constants())


def albedos(amounts: np.ndarray, of: SkinConstants | None = None) -> np.ndarray:
    """Spectral albedos (..., 81) of amounts (..., 7) in the order of AMOUNTS."""
    of = of or constants()
    return under_epidermis(amounts, dermis_reflectance(amounts, dermis_absorption(amounts, of), of), of)


def dermis_reflectance(amounts: np.ndarray, absorption: np.ndarray, of: SkinConstants) -> np.ndarray:
    """Reflectance (..., 81) of the dermis alone, from inside, of amounts (..., 7) whose dermis above any hair roots
    has this `absorption` (..., 81), mm⁻¹."""
    columns = np.moveaxis(np.asarray(amounts, dtype=float)[..., None], -2, 0)
    scattering, deep_melanin = columns[AMOUNTS.index("scattering")], columns[AMOUNTS.index("deep_melanin")]
    K, S = 2 * absorption, 0.75 * scattering * scattering_shape(of)
    if not deep_melanin.any():
        return thick(K, S)
    over_roots = over(thick(K + 2 * deep_melanin, S), layer(K, S, UPPER_DERMIS))
    return np.where(deep_melanin > 0, over_roots, thick(K, S))


def under_epidermis(amounts: np.ndarray, dermis: np.ndarray | float, of: SkinConstants) -> np.ndarray:
    """Albedos (..., 81) of the epidermis and the surface of amounts (..., 7) over what reflects `dermis`; over 0 it is
    the part that the epidermis alone returns, of light that never was in the dermis."""
    columns = np.moveaxis(np.asarray(amounts, dtype=float)[..., None], -2, 0)
    melanin, veil = columns[AMOUNTS.index("melanin")], columns[AMOUNTS.index("veil")]
    epidermis = layer(2 * melanin * melanin_shape(of), 0.75 * veil * scattering_shape(of), 1.0)
    return from_outside(over(dermis, epidermis), internal_reflectance())


@cache
def internal_reflectance(index: float = REFRACTIVE_INDEX) -> float:
    """Share of diffuse light from inside that the surface turns back: 1 − (1 − outside) / n², by reciprocity."""
    cosine = (np.arange(4000) + 0.5) / 4000
    outside = float((fresnel(cosine, index) * 2 * cosine).mean())
    return 1 - (1 - outside) / index**2


def dermis_absorption(amounts: np.ndarray, of: SkinConstants) -> np.ndarray:
    """Absorption of the dermis above any hair roots, mm⁻¹ (..., 81), of amounts (..., 7)."""
    amounts = np.asarray(amounts, dtype=float)
    blood, oxygenation, carotene = (
        amounts[..., [AMOUNTS.index(name)]] for name in ("blood", "oxygenation", "carotene")
    )
    oxygenated, deoxygenated, carotene_shape = pigments(of.bandwidth, of.carotene_shift)
    return absorbed(blood, oxygenation, carotene, oxygenated, deoxygenated, carotene_shape, of.base)


@cache
def melanin_shape(of: SkinConstants) -> np.ndarray:
    """Absorption of melanin relative to 550 nm, shape (81,)."""
    return (WAVELENGTHS / 550) ** -of.melanin_power


@cache
def scattering_shape(of: SkinConstants) -> np.ndarray:
    """Scattering relative to 550 nm, shape (81,): coarse fibres and fine ones (Jacques 2013, Physics in
    Medicine & Biology 58, R37)."""
    relative = WAVELENGTHS / 550
    return (1 - of.fine_share) * relative**-of.fibre_power + of.fine_share * relative**-4


@cache
def pigment_table() -> tuple[np.ndarray, np.ndarray]:
    """Wavelengths (n,) nm, and (n, 3): oxygenated and deoxygenated blood (cm⁻¹ per mol/l), carotene
    (relative)."""
    rows = np.loadtxt(DATA / "skin_pigments.csv", delimiter=",", skiprows=1)
    return rows[:, 0], rows[:, 1:]


@cache
def pigments(bandwidth: float, carotene_shift: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Oxygenated and deoxygenated haemoglobin widened by `bandwidth`, and carotene shifted, each (81,)."""
    nm, columns = pigment_table()
    window = np.exp(-0.5 * ((WAVELENGTHS[:, None] - nm) / max(bandwidth, 0.5)) ** 2)
    window /= window.sum(axis=1, keepdims=True)
    carotene = np.interp(WAVELENGTHS - carotene_shift, nm, columns[:, 2])
    return window @ columns[:, 0], window @ columns[:, 1], carotene


@cache
def constants() -> SkinConstants:
    """The fitted constants."""
    return SkinConstants(**fitted()["constants"])


@cache
def fitted() -> dict:
    """Everything that fit_skin.py wrote."""
    return json.loads((DATA / "skin_constants.json").read_text(encoding="utf-8"))


# Of numbers or arrays alike: skin_bands compiles these same functions.


def absorbed(blood, oxygenation, carotene, oxygenated, deoxygenated, carotene_shape, base):
    """Absorption of a dermis, mm⁻¹, by the amounts in it and how strongly each absorbs."""
    haemoglobin = oxygenation * oxygenated + (1 - oxygenation) * deoxygenated
    return _BLOOD_PER_PERCENT * blood * haemoglobin + carotene * carotene_shape + base


def thick(K, S):
    """Reflectance of a layer without end."""
    ratio = K / S
    return 1 + ratio - np.sqrt(ratio * (ratio + 2))


def layer(K, S, thickness):
    """Reflectance and transmittance of a layer of `thickness` (mm)."""
    a = (K + S) / S
    b = np.sqrt(np.maximum(a * a - 1, 1e-12))
    fallen = np.expm1(-2 * b * S * thickness)  # no hyperbolic function, which in a deep layer overflow
    whole = -a * fallen + b * (2 + fallen)
    return -fallen / whole, 2 * b * np.sqrt(1 + fallen) / whole


def over(below, above):
    """Reflectance of a `layer` above what reflects `below`."""
    reflected, transmitted = above
    return reflected + transmitted * transmitted * below / (1 - reflected * below)


def from_outside(inside, turned_back):
    """Reflectance of what reflects `inside` under a surface that turns back this share of it."""
    return (1 - turned_back) * inside / (1 - turned_back * inside)
