"""What to mix for each plane: its seen colour in several notations, where its light comes from, and its strokes.

A plane's colour is the mean over the area that the eye sees of it, where that is at least a fiftieth of the plane;
otherwise the plane is hidden and its colour is the mean over the whole plane without sheen. Area is that of the skin
itself, not as foreshortened, and what is seen of it is found on the mesh that is looked at (`sight`). Light is
averaged as light (cd/m²), then seen, so XYZ and Lab of a row belong together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.head import face_vectors, unit
from sitterlight.shading import colour_spaces
from sitterlight.shading.eye import Eye
from sitterlight.shading.families import family_name, irradiance_ratio
from sitterlight.shading.keying import easel_eye, resolve_eye, two_degree_eye
from sitterlight.shading.munsell import munsell_notations
from sitterlight.shading.notes import notes_of
from sitterlight.shading.strokes import PlaneParts, Stroke, part_means, part_planes, seen_light, stroke_weights

Array = NDArray[np.floating]
Triple = tuple[float, float, float]
Shares = dict[str, float | None]
ByLightAndPath = dict[str, Shares]


@dataclass(frozen=True)
class Seen:
    """What a plane and a target have in common: a colour, as seen, and why it is so.

    XYZ: cd/m², before the eye. Lab: D65, after eye and key. srgb: "#rrggbb", brought into the gamut where
    in_srgb is False. above_white: brighter than white paint (then munsell is None). own_Lab: the skin's body
    under the white card's light. shares: of luminance, sum 1: each light through the skin's body, "ground",
    "bounce" (light from other skin), "sheen". sheen_by_light and bounce_by_light: shares of the same luminance,
    so they sum to shares["sheen"] and shares["bounce"]; in sheen_by_light, "bounce" is mirrored skin.
    note_shares, greying_shares: by light, then by path ("body", "bounce", "sheen"); they sum to the note and the
    greying. paint_XYZ: relative to the white of the easel's light, what the paint has to give there.
    """

    XYZ: Triple
    Lab: Triple
    munsell: str | None
    srgb: str
    in_srgb: bool
    own_Lab: Triple
    family: str
    skylight_note: float | None
    greying: float | None
    shares: Shares
    sheen_by_light: Shares
    bounce_by_light: Shares
    above_white: bool
    spread: float
    paint_XYZ: Triple
    note_shares: ByLightAndPath
    greying_shares: ByLightAndPath


@dataclass(frozen=True)
class Target(Seen):
    """One stroke of a plane. part: "lit", "shadow", "highlight" or "whole"; share_of_area: of what counts of the
    plane; recipe: None until there is one."""

    part: str
    share_of_area: float
    recipe: object | None = None


@dataclass(frozen=True)
class PlaneRow(Seen):
    """One plane. normal: mean, in the room frame; visible: share of its area that the eye sees; hidden: too little
    of it is seen to count; illuminance: lux, mean over the whole plane, "direct", "ground", "bounced"."""

    name: str
    side: str
    region: str
    normal: Triple
    area_mm2: float
    visible: float
    hidden: bool
    illuminance: dict[str, float]
    targets: tuple[Target, ...]


def plane_rows(scene, eye: Eye | None = None, planes: Sequence[PlaneParts] | None = None) -> list[PlaneRow]:
    """A row for every plane of the scene's head, in the head's order. Without `eye`, the sitting's own; without
    `planes` they are parted here."""
    eye = eye or resolve_eye(scene)
    planes = part_planes(seen_light(scene), eye) if planes is None else planes
    strokes, hidden = [], []
    for plane in planes:
        single = len(plane.strokes) == 1
        strokes += [plane.whole] if single else [plane.whole, *plane.strokes]
        hidden += [plane.hidden] * (1 if single else 1 + len(plane.strokes))
    seen = iter(_seen(scene, eye, strokes, np.array(hidden, bool)))
    places = _places(scene)
    rows = []
    for number, plane in enumerate(planes):
        whole = next(seen)
        parts = [whole] if len(plane.strokes) == 1 else [next(seen) for _ in plane.strokes]
        targets = tuple(
            Target(**part, part=stroke.part, share_of_area=stroke.share_of_area)
            for part, stroke in zip(parts, plane.strokes, strict=True)
        )
        rows.append(PlaneRow(**whole, **places[number], **_visibility(plane), targets=targets))
    return rows


def _visibility(plane: PlaneParts) -> dict:
    return {"visible": plane.visible, "hidden": plane.hidden}


def _places(scene) -> list[dict]:
    """What a row says of the plane itself: name, normal, area and the light that falls on it."""
    head = scene.head
    area = np.asarray(head.plane_weights.sum(axis=1)).ravel()
    normals = plane_normals(head) @ np.asarray(scene.rotation).T
    safe = np.maximum(area, 1e-300)
    lux = {path: (head.plane_weights @ values) / safe for path, values in scene.illuminance.items()}
    return [
        {
            "name": plane.name,
            "side": plane.side,
            "region": plane.region,
            "normal": _triple(normals[i]),
            "area_mm2": float(area[i]),
            "illuminance": {path: float(values[i]) for path, values in lux.items()},
        }
        for i, plane in enumerate(head.planes)
    ]


def plane_normals(head) -> Array:
    """Mean normal of each plane, weighted by area, unit (planes, 3), in the head's frame."""
    vectors = face_vectors(head.vertices, head.faces)
    member = head.plane_of_face >= 0
    count = len(head.planes)
    sums = [np.bincount(head.plane_of_face[member], vectors[member, k], count) for k in range(3)]
    return unit(np.stack(sums, axis=1))


def _seen(scene, eye: Eye, strokes: list[Stroke], hidden: NDArray[np.bool_]) -> list[dict]:
    """The fields of `Seen` for each stroke; all strokes at once, since most of it is array work."""
    weights = stroke_weights(strokes, len(scene.own_XYZ))
    parts, neutral = (part_means(scene, weights, hidden, X) for X in (scene.part_XYZ, scene.part_XYZ_neutral))
    two_degrees = parts if eye.observer == 2 else part_means(scene, weights, hidden, scene.part_XYZ_2deg)
    XYZ, own = parts.sum(0), weights @ np.asarray(scene.own_XYZ, float)
    colours = _colours(scene, eye, XYZ, own, two_degrees.sum(0))
    notes = notes_of(scene)
    note, greying = notes.skylight_note(XYZ, neutral.sum(0)), notes.greying(XYZ, own)
    note_shares, greying_shares = notes.note_shares(parts, neutral), notes.greying_shares(parts, own)
    ratio = weights @ irradiance_ratio(scene)
    return [
        {
            **{name: values[i] for name, values in colours.items()},
            **_luminance_shares(scene, parts[:, i, 1]),
            "family": family_name(ratio[i]),
            "skylight_note": _number(note[i]),
            "greying": _number(greying[i]),
            "spread": strokes[i].spread,
            "note_shares": _by_light_and_path(scene, note_shares[:, i]),
            "greying_shares": _by_light_and_path(scene, greying_shares[:, i]),
        }
        for i in range(len(strokes))
    ]


def _colours(scene, eye: Eye, XYZ: Array, own: Array, XYZ_2deg: Array) -> dict[str, list]:
    """The notations of each stroke's colour, a list for each."""
    munsell_eye = two_degree_eye(scene, eye)
    screen = eye.screen_XYZ(XYZ)
    return {
        "XYZ": _triples(XYZ),
        "Lab": _triples(eye.Lab(XYZ)),
        "munsell": munsell_notations(munsell_eye.see(XYZ_2deg), munsell_eye.white),
        "srgb": [colour_spaces.hex_from_XYZ(one) for one in screen],
        "in_srgb": colour_spaces.in_sRGB(screen).tolist(),
        "own_Lab": _triples(eye.Lab(own)),
        "above_white": eye.above_white(XYZ).tolist(),
        "paint_XYZ": _triples(easel_eye(scene, eye).see(XYZ)),
    }


def _luminance_shares(scene, luminance: Array) -> dict[str, Shares]:
    """`shares`, `sheen_by_light` and `bounce_by_light` from the luminance of each part (P,)."""
    total = float(luminance.sum())
    share = luminance / total if total > 0.0 else np.full(len(luminance), np.nan)
    by_path: dict[str, Shares] = {"body": {}, "bounce": {}, "sheen": {}}
    for part, value in zip(scene.parts, share, strict=True):
        by_path[part.path][part.light] = _number(value)
    sums = {path: _number(sum(share[i] for i, p in enumerate(scene.parts) if p.path == path)) for path in by_path}
    return {
        "shares": {**by_path["body"], "bounce": sums["bounce"], "sheen": sums["sheen"]},
        "sheen_by_light": by_path["sheen"],
        "bounce_by_light": by_path["bounce"],
    }


def _by_light_and_path(scene, values: Array) -> ByLightAndPath:
    table: ByLightAndPath = {}
    for part, value in zip(scene.parts, values, strict=True):
        table.setdefault(part.light, {})[part.path] = _number(value)
    return table


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _triple(values: Array) -> Triple:
    return tuple(float(value) for value in values)


def _triples(values: Array) -> list[Triple]:
    return [_triple(row) for row in values]
