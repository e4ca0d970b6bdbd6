"""The eye of a sitting, with its adaptation, its white and its key found from the scene."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sitterlight.shading.eye import AS_LIT, Eye, Key, adaptation_degree, reference_white
from sitterlight.shading.munsell import luminance_of_value
from sitterlight.shading.strokes import PlaneParts, part_planes, seen_light

PAINT_WHITE = 9.5
PAINT_BLACK = 1.5
"""Munsell values of the lightest and the darkest paint, for the key "compressed" (from memory)."""

_MOST_TRIES = 6


def resolve_eye(scene) -> Eye:
    """The eye of the scene's sitting, laid onto D65.

    A key that is a Munsell value sets one factor so that the lightest target the eye sees has that value;
    which parts are targets depends in turn on the key, so both are found together. Where they chase each other
    (a highlight that stands out under one key is lost under the key it asks for) the planes stay parted as under
    the brighter key. "compressed" keeps the relation of white to the card and raises luminance to a power, at
    most 1, that brings the darkest target up to the darkest paint.
    """
    key, eye = scene.sitting.eye.key, eye_of(scene)
    return eye if key == "as lit" else eye.with_key(_found_key(scene, eye, key))


def eye_of(scene) -> Eye:
    """The same before the key; a glance will do for `scene`."""
    setting = scene.sitting.eye
    card = tuple(map(float, scene.card_XYZ))
    degree = adaptation_degree(setting.adaptation, float(scene.card_XYZ_2deg[1]))
    return Eye(card, degree, AS_LIT, reference_white("D65", setting.observer), setting.observer)


def two_degree_eye(scene, eye: Eye) -> Eye:
    """The same eye for the 2° observer, whose XYZ Munsell notation asks for."""
    if eye.observer == 2:
        return eye
    return Eye(tuple(map(float, scene.card_XYZ_2deg)), eye.adaptation, eye.key, reference_white())


def easel_eye(scene, eye: Eye) -> Eye:
    """The same eye laid onto the easel's light, under which the paint is mixed."""
    sitting = scene.sitting
    return eye.with_white(reference_white(sitting.easel.light, eye.observer, sitting.folder))


def _found_key(scene, eye: Eye, wanted: float | str) -> Key:
    light, key, tried = seen_light(scene), AS_LIT, []
    for _ in range(_MOST_TRIES):
        planes = part_planes(light, eye.with_key(key))
        found = _key_for(_target_luminances(scene, eye, planes), wanted)
        if np.allclose((found.factor, found.exponent), (key.factor, key.exponent), rtol=1e-9):
            return found
        tried.append((key, found))
        key = found
    parting, found = max(tried[-2:], key=lambda pair: pair[0].factor)
    return replace(found, parting=parting)


def _target_luminances(scene, eye: Eye, planes: tuple[PlaneParts, ...]) -> np.ndarray:
    """Adapted 2° luminance relative to the card of every target that the eye sees (of all, if it sees none)."""
    XYZ = np.asarray(scene.part_XYZ_2deg).sum(0, dtype=float)
    Y = two_degree_eye(scene, eye).adapted(XYZ)[:, 1]
    seen = [plane for plane in planes if not plane.hidden] or planes
    return np.array([stroke.weights @ Y[stroke.vertices] for plane in seen for stroke in plane.strokes])


def _key_for(luminances: np.ndarray, wanted: float | str) -> Key:
    lightest, darkest = max(float(luminances.max(initial=0.0)), 1e-9), float(luminances.min(initial=1.0))
    if wanted != "compressed":
        return Key(float(luminance_of_value(float(wanted))) / lightest)
    white, black = luminance_of_value([PAINT_WHITE, PAINT_BLACK])
    top = max(lightest, 1.0)
    exponent = min(1.0, float(np.log(white / black) / np.log(top / max(min(darkest, 0.5 * top), 1e-9))))
    return Key(float(white) / top**exponent, exponent)
