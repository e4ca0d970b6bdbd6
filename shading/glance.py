"""A glance at a sitting: the seen colour alone, without its parts. The same numbers as `light_scene`, much sooner.

For pictures while something is dragged, and for whoever lights the same head many times over.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.illuminants.observer import tristimulus
from sitterlight.meshes.head import Head
from sitterlight.shading.colour_spaces import SRGB_FROM_XYZ
from sitterlight.shading.compiled import kernel, over_vertices
from sitterlight.shading.eye import ROOM_ABOVE_WHITE, Eye
from sitterlight.shading.frame import Gaze
from sitterlight.shading.memory import Memory
from sitterlight.shading.picture import encode
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.staging import Setup, whites_of


@dataclass(frozen=True, eq=False)
class Glance:
    """What the eye sees. `XYZ (V,3)` float32 cd/m² per calculation vertex for the sitting's observer; `card_XYZ (3,)`
    and `card_XYZ_2deg` the scene's white; `eye_position (3,)` mm in the head's frame; `rotation (3,3)` head → room."""

    sitting: Sitting
    head: Head
    XYZ: np.ndarray
    card_XYZ: np.ndarray
    card_XYZ_2deg: np.ndarray
    eye_position: np.ndarray
    rotation: np.ndarray


def glance(sitting: Sitting, gaze: Gaze | None = None, coarse: bool = False) -> Glance:
    """Light a sitting and look at it. Raises ValueError as `light_scene` does.

    `coarse`: a light that has not stood there before is given by few samples and one bounce, as an answer at once
    while it is dragged.
    """
    setup = Setup.of(sitting, gaze=gaze, coarse=coarse)
    observer = sitting.eye.observer
    return Glance(
        sitting,
        setup.head,
        seen_XYZ(setup, observer),
        tristimulus(setup.card, observer) / np.pi,
        tristimulus(setup.card, 2) / np.pi,
        setup.eye,
        setup.stage.rotation,
    )


def seen_XYZ(setup: Setup, observer: int) -> np.ndarray:
    """XYZ (V,3) float32 cd/m² that reaches the eye from each vertex."""
    look, skin = setup.look, setup.look.skin
    body = setup.lighting.radiance(setup.sources, setup.body, observer)
    XYZ = np.empty_like(body)
    rows = skin.start, skin.column, skin.weight
    over_vertices(_see, len(XYZ), *rows, look.toward_eye, body, _mirrored(setup, observer), XYZ)
    return XYZ


def _mirrored(setup: Setup, observer: int) -> np.ndarray:
    """Sheen (V,3) of the lights, which no skin colours: kept while lights and eye stay."""
    look, whites = setup.look, whites_of(setup.sources, observer)
    return _sheens.of((id(look), whites.tobytes()), lambda: (look, (look.sheen + look.glints) @ whites))[1]


_sheens = Memory(4)


def screen_codes(head: Head, XYZ: np.ndarray, eye: Eye, finer: np.ndarray | None = None) -> np.ndarray:
    """sRGB codes of the display mesh, (D,4) uint8, of scene `XYZ (V,3)` seen by an eye laid onto D65; the fourth is 0
    where a colour lies above white or outside the screen's range, else 255. `finer (D,3)`, as `Scene.finer_XYZ`, is
    added between the vertices."""
    blend = head.to_display
    codes = np.empty((blend.shape[0], 4), np.uint8)
    adapted = np.ascontiguousarray(eye.adapted(np.asarray(XYZ, np.float32)), np.float32)
    more = np.zeros((0, 3), np.float32)
    if finer is not None:
        more = np.ascontiguousarray(eye.adapted(np.asarray(finer, np.float32)), np.float32)
    screen = eye.to_screen
    light = np.ascontiguousarray(np.concatenate([SRGB_FROM_XYZ @ screen, screen[1:2]]), np.float32)
    key = np.float32(eye.key.factor), np.float32(eye.key.exponent)
    rows = blend.indptr, blend.indices, blend.data.astype(np.float32, copy=False)
    over_vertices(_expose, len(codes), *rows, adapted, more, *key, light, _codes(), codes)
    return codes


def _codes() -> np.ndarray:
    return _tables.of("codes", lambda: encode(np.arange(65536) / 65535))


_tables = Memory(1)
_ROOM, _SLACK = np.float32(ROOM_ABOVE_WHITE), np.float32(5e-4)


@kernel
def _see(first, last, start, column, weight, toward_eye, body, mirrored, XYZ):
    for v in range(first, last):
        x, y, z = np.float32(0), np.float32(0), np.float32(0)
        for entry in range(start[v], start[v + 1]):
            u, w = column[entry], weight[entry]
            x += w * body[u, 0]
            y += w * body[u, 1]
            z += w * body[u, 2]
        share = toward_eye[v, 0]
        XYZ[v, 0] = x + share * body[v, 0] + mirrored[v, 0]
        XYZ[v, 1] = y + share * body[v, 1] + mirrored[v, 1]
        XYZ[v, 2] = z + share * body[v, 2] + mirrored[v, 2]


@kernel
def _expose(first, last, start, source, weight, adapted, more, factor, exponent, light, table, codes):
    for d in range(first, last):
        x, y, z = np.float32(0), np.float32(0), np.float32(0)
        for entry in range(start[d], start[d + 1]):
            v, w = source[entry], weight[entry]
            x += w * adapted[v, 0]
            y += w * adapted[v, 1]
            z += w * adapted[v, 2]
        if len(more) > 0:
            x, y, z = x + more[d, 0], y + more[d, 1], z + more[d, 2]
        bright = max(y, np.float32(1e-12))
        laid = factor * (bright if exponent == 1 else bright**exponent)
        seen = laid if laid <= 1 else 1 + _ROOM * (1 - np.exp(-(laid - 1) / _ROOM))
        scale = seen / bright
        marked = seen > np.float32(1 + 1e-5)
        grey = min(max(scale * (light[3, 0] * x + light[3, 1] * y + light[3, 2] * z), np.float32(0)), np.float32(1))
        keep = np.float32(1)
        for c in range(3):
            away = scale * (light[c, 0] * x + light[c, 1] * y + light[c, 2] * z) - grey
            if away < -grey - _SLACK or away > 1 - grey + _SLACK:
                marked = True
            room = 1 - grey if away > 0 else grey
            keep = min(keep, room / max(abs(away), np.float32(1e-12)))
        for c in range(3):
            away = scale * (light[c, 0] * x + light[c, 1] * y + light[c, 2] * z) - grey
            code = min(max(grey + keep * away, np.float32(0)), np.float32(1))
            codes[d, c] = table[int(code * 65535 + np.float32(0.5))]
        codes[d, 3] = 0 if marked else 255
