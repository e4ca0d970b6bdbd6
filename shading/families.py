"""Light, halftone, shadow: the families of a painter, from the irradiance of the strongest light alone.

The strongest light is the sitting's own light that gives the planes of the head the most light in all, averaged
over their area (a rim light from behind counts, though the white card doesn't see it). A place's ratio is its
irradiance from that light over the largest such irradiance on any plane.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FAMILIES = ("light", "halftone", "shadow")
LEAST_LIGHT = 0.5
LEAST_HALFTONE = 0.15


def irradiance_ratio(scene) -> NDArray[np.float64]:
    """Irradiance from the strongest light over its largest on the head's planes (V,), 0 to 1 on them."""
    area = np.asarray(scene.head.plane_weights.sum(axis=0)).ravel()
    irradiance = np.asarray(scene.irradiance_by_light, float)
    strongest = irradiance[np.argmax(irradiance @ area)]
    largest = np.max(strongest, where=area > 0.0, initial=0.0)
    return strongest / largest if largest > 0.0 else np.zeros_like(strongest)


def strongest_light(scene) -> str:
    """The name of the light that the families go by."""
    area = np.asarray(scene.head.plane_weights.sum(axis=0)).ravel()
    return scene.light_info[int(np.argmax(np.asarray(scene.irradiance_by_light) @ area))]["name"]


def family_numbers(ratio: ArrayLike) -> NDArray[np.int8]:
    """Places in FAMILIES of irradiance ratios, same shape."""
    ratio = np.asarray(ratio)
    return np.where(ratio >= LEAST_LIGHT, 0, np.where(ratio >= LEAST_HALFTONE, 1, 2)).astype(np.int8)


def family_name(ratio: float) -> str:
    """ "light", "halftone" or "shadow" of one irradiance ratio."""
    return FAMILIES[int(family_numbers(ratio))]
