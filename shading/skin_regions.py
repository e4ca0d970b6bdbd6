"""How the skin differs over the head: amounts and sheen by region, and the eyes.

A region never tints a colour: it changes what is in the skin. How much is from memory of clinical colour
measurement (more blood than on the arm all over the face and most in nose, ears and lips; more melanin round
the eyes and above the lip) and, for the beard, of histology: dark hair roots under a third of a millimetre of
dermis, which scatters short waves back before they reach the roots and lets long ones through to be lost.
Common practice among painters divides the face likewise: golden forehead, ruddy middle, cool jaw (no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.skin import AMOUNTS, LIMITS, SkinAmounts
from sitterlight.shading.skin_bands import albedos
from sitterlight.shading.surface import ROUGHEST, SMOOTHEST


@dataclass(frozen=True)
class RegionChange:
    """What a region does to the amounts of the plain skin, and to its sheen."""

    melanin: float = 1.0
    """Factor."""
    blood: float = 1.0
    """Factor."""
    oxygenation: float = 0.0
    """Added to the share."""
    carotene: float = 1.0
    """Factor."""
    scattering: float = 1.0
    """Factor."""
    veil: float = 1.0
    """Factor."""
    deep_melanin: float = 0.0
    """Added, mm⁻¹."""
    roughness: float = 1.0
    """Factor on the sitting's roughness."""
    oil: float = 1.0
    """Factor on the sitting's oil."""


CHANGES: dict[str, RegionChange] = {
    "skin": RegionChange(),
    "forehead": RegionChange(melanin=1.08, blood=1.5, carotene=1.6, roughness=0.85, oil=1.15),
    "eyelid": RegionChange(melanin=1.15, blood=1.5, oxygenation=-0.12, scattering=0.9, veil=0.9),
    "nose": RegionChange(melanin=0.97, blood=2.2, oxygenation=0.05, roughness=0.75, oil=1.25),
    "cheek": RegionChange(melanin=0.94, blood=1.9, oxygenation=0.06, roughness=1.1, oil=0.95),
    "ear": RegionChange(melanin=0.95, blood=2.6, oxygenation=0.08, veil=0.9, oil=0.9),
    "muzzle": RegionChange(melanin=1.14, blood=1.45),
    "lips": RegionChange(melanin=0.68, blood=7.0, oxygenation=0.18, veil=0.65, roughness=0.75, oil=1.2),
    "jaw": RegionChange(blood=1.5, oxygenation=-0.1, carotene=0.7, deep_melanin=0.025, roughness=1.1, oil=0.9),
    "neck": RegionChange(melanin=1.02, blood=1.15, carotene=1.2, roughness=1.15, oil=0.85),
    "scalp": RegionChange(melanin=1.03, blood=1.2, deep_melanin=0.008, roughness=0.9, oil=1.1),
}
"""Regions of skin; the others of REGIONS are eyes and clothes."""

EYE_WHITE = SkinAmounts(
    melanin=0.012, blood=0.25, oxygenation=0.85, carotene=0.03, scattering=4.0, veil=0.02, deep_melanin=0.03
)
"""The white of the eye as a dermis with fine vessels, and the dark lining of the eye faintly through it; from
memory: it is no white, but a light warm grey."""
IRIS = SkinAmounts(melanin=0.8, blood=0.3, oxygenation=0.7, carotene=0.0, scattering=3.5, veil=0.25)
"""A brown iris: much melanin before a pale stroma; from memory."""
PUPIL = 0.006
"""What comes back out of a pupil in the room's light, at every wavelength; from memory."""
CLOTHES = 0.2
"""Stands in the row of the clothes until the scene says what they are."""

EYE_ROUGHNESS = 0.08
"""The eye is wet: its sheen is nearly a mirror, whatever the skin's roughness and oil."""

_EYES = ("eye white", "iris", "pupil")
_EYE_AMOUNTS = np.stack([EYE_WHITE.as_array(), IRIS.as_array()])
_SKIN = [REGIONS.index(name) for name in CHANGES]
_PLAIN = list(CHANGES).index("skin")

_IS_ADDED = np.array([name in ("oxygenation", "deep_melanin") for name in AMOUNTS])
_GIVEN = np.array([[getattr(change, name) for name in AMOUNTS] for change in CHANGES.values()])
_FACTORS, _ADDED = np.where(_IS_ADDED, 1.0, _GIVEN), np.where(_IS_ADDED, _GIVEN, 0.0)
_LEAST, _MOST = np.array([LIMITS[name] for name in AMOUNTS]).T


@lru_cache(maxsize=4)
def amounts_by_region(amounts: SkinAmounts) -> np.ndarray:
    """The amounts (11, 7), read-only, in each region of CHANGES, kept within the limits of the model."""
    each = np.clip(amounts.as_array() * _FACTORS + _ADDED, _LEAST, _MOST)
    each.setflags(write=False)
    return each


def region_amounts(amounts: SkinAmounts, region: str) -> SkinAmounts:
    """The amounts in a region of skin, kept within the limits of the model."""
    return SkinAmounts(*map(float, amounts_by_region(amounts)[list(CHANGES).index(region)]))


def region_albedos(amounts: SkinAmounts, regions: bool = True, base_albedo: np.ndarray | None = None) -> np.ndarray:
    """Body albedos (15, 81), a row for each of REGIONS.

    Without `regions` every row of skin is the plain one. With a user's own `base_albedo` (81,), rows of skin
    are that times what the model of `amounts` says the region does to it, kept between 0 and 1.
    """
    of_skin = _of_skin(amounts, regions)
    if base_albedo is not None:
        of_skin = np.clip(base_albedo * of_skin / of_skin[_PLAIN], 0.0, 1.0)
    result = _others().copy()
    result[_SKIN] = of_skin
    return result


@lru_cache(maxsize=4)
def _of_skin(amounts: SkinAmounts, regions: bool) -> np.ndarray:
    return albedos(amounts_by_region(amounts) if regions else np.tile(amounts.as_array(), (len(CHANGES), 1)))


@cache
def _others() -> np.ndarray:
    """The albedos (15, 81) of eyes and clothes; zero in the rows of skin."""
    result = np.zeros((len(REGIONS), len(WAVELENGTHS)))
    result[[REGIONS.index("eye white"), REGIONS.index("iris")]] = albedos(_EYE_AMOUNTS)
    result[REGIONS.index("pupil")], result[REGIONS.index("clothes")] = PUPIL, CLOTHES
    return result


@lru_cache(maxsize=16)
def region_sheen(roughness: float, oil: float, regions: bool = True) -> tuple[np.ndarray, np.ndarray]:
    """Roughness (15,) and oil (15,) of each of REGIONS, read-only, for a sitting's roughness and oil.

    Without `regions` all skin has the sitting's. Eyes are wet whatever the skin; clothes have no sheen.
    """
    rough, oily = np.full(len(REGIONS), roughness), np.full(len(REGIONS), oil)
    for row, name in enumerate(REGIONS):
        if name in CHANGES and regions:
            rough[row] *= CHANGES[name].roughness
            oily[row] *= CHANGES[name].oil
        elif name in _EYES:
            rough[row], oily[row] = EYE_ROUGHNESS, 1.0
        elif name == "clothes":
            rough[row], oily[row] = ROUGHEST, 0.0
    rough = np.clip(rough, SMOOTHEST, ROUGHEST)
    rough.setflags(write=False)
    oily.setflags(write=False)
    return rough, oily
