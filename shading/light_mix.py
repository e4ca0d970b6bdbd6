"""Mixing light knowingly: what each light of a scene gives, key against fill, and what each adds to a plane.

Light adds up, so everything here is a sum that can be checked: the lights' shares make the whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sitterlight.shading.eye import Eye
from sitterlight.shading.families import LEAST_HALFTONE, LEAST_LIGHT, irradiance_ratio, strongest_light
from sitterlight.shading.keying import resolve_eye
from sitterlight.shading.strokes import PlaneParts, part_means, part_planes, seen_light, stroke_weights


@dataclass(frozen=True)
class LightShare:
    """One light: lux at the white card and its share of the lights' there (`card_share`), CCT (None far from white
    light) and Duv, its share of all direct light on the head's planes (`head_share`), and how many stops the key,
    the strongest light on the head, is above it there (`stops_below_key`; None where it gives nothing)."""

    name: str
    kind: str
    card_lux: float
    card_share: float
    cct: float | None
    duv: float
    head_share: float
    stops_below_key: float | None


@dataclass(frozen=True, eq=False)
class LightMix:
    """All of a scene's mixing: its lights' `shares`, `key_to_fill` in stops, and what each light alone adds to each
    plane, `added` XYZ (planes,3) cd/m² by name."""

    shares: tuple[LightShare, ...]
    key_to_fill: float | None
    added: dict[str, np.ndarray]


def light_mix(scene, eye: Eye | None = None, planes: Sequence[PlaneParts] | None = None) -> LightMix:
    """What the lights of a scene give and add; `planes` as for `added_light`."""
    return LightMix(light_shares(scene), key_to_fill(scene), added_light(scene, eye, planes))


def light_shares(scene) -> tuple[LightShare, ...]:
    """The scene's own lights, in their order; ground and walls are none."""
    area = np.asarray(scene.head.plane_weights.sum(axis=0)).ravel()
    on_head = np.asarray(scene.irradiance_by_light, float) @ area
    on_card = np.array([info["card_lux"] for info in scene.light_info])
    return tuple(
        LightShare(
            name=info["name"],
            kind=info["kind"],
            card_lux=float(lux),
            card_share=float(lux / max(on_card.sum(), 1e-300)),
            cct=info["cct"],
            duv=info["duv"],
            head_share=float(light / max(on_head.sum(), 1e-300)),
            stops_below_key=float(np.log2(on_head.max() / light)) if light > 0 else None,
        )
        for info, lux, light in zip(scene.light_info, on_card, on_head, strict=True)
    )


def key_to_fill(scene) -> float | None:
    """Stops from what fills the shadows to what stands in the light: all light on the planes' places of family
    light over that on those of family shadow, means by area. None where nothing is in shadow, or shadow is black.
    """
    area = np.asarray(scene.head.plane_weights.sum(axis=0)).ravel()
    ratio = irradiance_ratio(scene)
    lux = sum(scene.illuminance.values())
    light, shadow = area * (ratio >= LEAST_LIGHT), area * (ratio < LEAST_HALFTONE)
    if shadow.sum() == 0 or light.sum() == 0 or shadow @ lux <= 0:
        return None
    return float(np.log2((light @ lux / light.sum()) / (shadow @ lux / shadow.sum())))


def key_light(scene) -> str:
    """The name of the key: the strongest light on the head."""
    return strongest_light(scene)


def added_light(scene, eye: Eye | None = None, planes: Sequence[PlaneParts] | None = None) -> dict[str, np.ndarray]:
    """What each light alone adds to each plane of the head, XYZ (planes,3) in cd/m², its bounces and sheen included.

    Under "ground" and "walls" stands what they return of all the lights together, under "bounce" the skin that the
    sheen mirrors. The sum is each plane's XYZ in `targets.plane_rows`. Without `planes` these are parted here.
    """
    planes = part_planes(seen_light(scene), eye or resolve_eye(scene)) if planes is None else planes
    hidden = np.array([plane.hidden for plane in planes], bool)
    weights = stroke_weights([plane.whole for plane in planes], len(scene.own_XYZ))
    added: dict[str, np.ndarray] = {}
    for part, means in zip(scene.parts, part_means(scene, weights, hidden, scene.part_XYZ), strict=True):
        added[part.light] = added.get(part.light, 0.0) + means
    return added
