"""A glance at a sitting: the seen colour alone, without its parts. The same numbers as `light_scene`, much sooner.

For pictures while something is dragged, and for whoever lights the same head many times over.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np

from sitterlight.illuminants.observer import tristimulus
from sitterlight.meshes.head import Head
from sitterlight.shading.compiled import brief_loop, kernel, kernel_of_short_sums, loop, over_vertices, unsigned
from sitterlight.shading.eye import ROOM_ABOVE_WHITE, Eye
from sitterlight.shading.frame import Gaze
from sitterlight.shading.matrix import Rows, added
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

    def shown() -> np.ndarray:
        parts, first = [], 0
        for sheen, glints in zip(look.sheens, look.glinted, strict=True):
            white = whites[first : first + sheen.shape[1]]
            key = id(sheen), id(glints), white.tobytes()
            # With what its key is the identity of, so that nothing else can have that identity meanwhile.
            of_one = _of_each.of(key, partial(_mirrored_of, sheen, glints, white))
            parts.append((1.0, of_one[-1]))
            first += len(white)
        return added(parts)

    return look.shown.of(whites.tobytes(), shown)


def _mirrored_of(sheen: np.ndarray, glints: np.ndarray, white: np.ndarray) -> tuple[np.ndarray, ...]:
    XYZ = np.empty((len(sheen), 3), np.float32)
    over_vertices(_mirror, len(XYZ), sheen, glints, white, XYZ)
    return sheen, glints, XYZ


_of_each = Memory(32)


@loop
def _mirror(first, last, sheen, glints, white, XYZ):
    for v in range(first, last):
        x, y, z = np.float32(0), np.float32(0), np.float32(0)
        for k in range(len(white)):
            mirrored = sheen[v, k] + glints[v, k]
            x, y, z = x + mirrored * white[k, 0], y + mirrored * white[k, 1], z + mirrored * white[k, 2]
        XYZ[v, 0], XYZ[v, 1], XYZ[v, 2] = x, y, z


def screen_codes(head: Head, XYZ: np.ndarray, eye: Eye, finer: np.ndarray | None = None) -> np.ndarray:
    """sRGB codes of the display mesh, (D,4) uint8, of scene `XYZ (V,3)` seen by an eye laid onto D65; the fourth is 0
    where a colour lies above white or outside the screen's range, else 255. `finer (D,3)`, as `Scene.finer_XYZ`, is
    added between the vertices."""
    rows = _blends.of(head.shape_key, lambda: _blend_of(head))
    codes = np.empty((len(rows), 4), np.uint8)
    light = eye.linear_matrix.astype(np.float32)
    more = np.zeros((0, 3), np.float32) if finer is None else np.ascontiguousarray(finer, np.float32)
    key = eye.luminances.astype(np.float32), np.float32(eye.key.factor), np.float32(eye.key.exponent)
    along = rows.start, rows.column, rows.weight, np.ascontiguousarray(XYZ, np.float32), light
    over_vertices(_expose, len(codes), *along, more, *key, _codes(), codes)
    return codes


def _blend_of(head: Head) -> Rows:
    blend = head.to_display
    return Rows(blend.indptr.astype(np.int64), blend.indices.astype(np.int32), blend.data.astype(np.float32))


_blends = Memory(2)


def _codes() -> np.ndarray:
    return _tables.of("codes", lambda: encode(np.arange(65536) / 65535))


_tables = Memory(1)
_ROOM, _SLACK = np.float32(ROOM_ABOVE_WHITE), np.float32(5e-4)


@brief_loop
def _see(first, last, start, column, weight, toward_eye, body, mirrored, XYZ):
    for v in range(first, last):
        XYZ[v, 0], XYZ[v, 1], XYZ[v, 2] = _seen_at(v, start, column, weight, toward_eye, body, mirrored)


@kernel_of_short_sums
def _seen_at(v, start, column, weight, toward_eye, body, mirrored):
    """Two entries at a time, in sums of their own: none waits for the one before it."""
    one, two, share = unsigned(1), unsigned(2), toward_eye[v, 0]
    x, y, z = share * body[v, 0], share * body[v, 1], share * body[v, 2]
    p, q, r = mirrored[v, 0], mirrored[v, 1], mirrored[v, 2]
    entry, end = unsigned(start[v]), unsigned(start[v + 1])
    if (end - entry) % two:
        u, w = unsigned(column[entry]), weight[entry]
        x, y, z = x + w * body[u, 0], y + w * body[u, 1], z + w * body[u, 2]
        entry += one
    while entry < end:
        u, w = unsigned(column[entry]), weight[entry]
        x, y, z = x + w * body[u, 0], y + w * body[u, 1], z + w * body[u, 2]
        u, w = unsigned(column[entry + one]), weight[entry + one]
        p, q, r = p + w * body[u, 0], q + w * body[u, 1], r + w * body[u, 2]
        entry += two
    return x + p, y + q, z + r


@kernel_of_short_sums
def _blended_at(d, start, source, weight, colours):
    x, y, z = np.float32(0), np.float32(0), np.float32(0)
    for entry in range(unsigned(start[d]), unsigned(start[d + 1])):
        v, w = unsigned(source[entry]), weight[entry]
        x += w * colours[v, 0]
        y += w * colours[v, 1]
        z += w * colours[v, 2]
    return x, y, z


@brief_loop
def _expose(first, last, start, source, weight, XYZ, light, more, luminances, factor, exponent, table, codes):
    """Codes from `XYZ (V,3)`, of which `light (3,3)` makes adapted light in the screen's red, green and blue, and
    `luminances (2,3)` of that the eye's luminance and the screen's."""
    ax, ay, az = light[0, 0], light[0, 1], light[0, 2]
    bx, by, bz = light[1, 0], light[1, 1], light[1, 2]
    cx, cy, cz = light[2, 0], light[2, 1], light[2, 2]
    for d in range(first, last):
        x, y, z = _blended_at(d, start, source, weight, XYZ)
        if len(more) > 0:
            x, y, z = x + more[d, 0], y + more[d, 1], z + more[d, 2]
        red = ax * x + ay * y + az * z
        green = bx * x + by * y + bz * z
        blue = cx * x + cy * y + cz * z
        bright = luminances[0, 0] * red + luminances[0, 1] * green + luminances[0, 2] * blue
        scale, marked = factor, False
        if exponent != 1 or factor * bright > 1:
            scale, marked = _laid(bright, factor, exponent)
        red, green, blue = scale * red, scale * green, scale * blue
        r, g, b = _place(red), _place(green), _place(blue)
        if unsigned(r | g | b) > 65535:
            grey = luminances[1, 0] * red + luminances[1, 1] * green + luminances[1, 2] * blue
            red, green, blue, outside = _drawn_in(red, green, blue, grey)
            marked = marked or outside
            r, g, b = _kept(_place(red)), _kept(_place(green)), _kept(_place(blue))
        codes[d, 0] = table[unsigned(r)]
        codes[d, 1] = table[unsigned(g)]
        codes[d, 2] = table[unsigned(b)]
        codes[d, 3] = 0 if marked else 255


@kernel
def _place(code):
    """Where a code between 0 and 1 stands in the table."""
    return int(code * np.float32(65535) + np.float32(0.5))


@kernel
def _kept(place):
    """A place in the table, whatever was no number."""
    return min(max(place, 0), 65535)


@kernel
def _laid(bright, factor, exponent):
    """What the key makes of light of this luminance, as a factor, and whether that lies above white."""
    bright = max(bright, np.float32(1e-12))
    laid = factor * (bright if exponent == 1 else bright**exponent)
    kept = laid if laid <= 1 else 1 + _ROOM * (1 - np.exp(-(laid - 1) / _ROOM))
    return np.float32(kept / bright), kept > np.float32(1 + 1e-5)


@kernel
def _drawn_in(red, green, blue, grey):
    """A colour beyond the screen drawn toward its grey until the screen can show it; whether that is to be marked."""
    grey = min(max(grey, np.float32(0)), np.float32(1))
    keep, outside = np.float32(1), False
    for code in (red, green, blue):
        away = code - grey
        outside = outside or code < -_SLACK or code > 1 + _SLACK
        keep = min(keep, (1 - grey if away > 0 else grey) / max(abs(away), np.float32(1e-12)))
    red, green, blue = grey + keep * (red - grey), grey + keep * (green - grey), grey + keep * (blue - grey)
    return _in_range(red), _in_range(green), _in_range(blue), outside


@kernel
def _in_range(code):
    return min(max(code, np.float32(0)), np.float32(1))
