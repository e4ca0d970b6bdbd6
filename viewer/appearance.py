"""How a lit head looks in each view: colours at the vertices or faces of the display mesh, and their legend."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sitterlight.shading.colour_spaces import delta_E00, encode_sRGB, into_sRGB
from sitterlight.shading.glance import screen_codes
from sitterlight.shading.legend_words import Legend, legend
from sitterlight.shading.maps import Scale, facing_of, form, greying_scale, luminance_from_L, note_scale, value_steps
from sitterlight.shading.picture import encode
from sitterlight.viewer.engine import Lit
from sitterlight.viewer.looks import Appearance

NO_ANSWER = 0.16
"""Linear light of a place a map says nothing of: eyes, clothes, skin without colour of its own."""


DIFFERENCES = (5.0, 10.0, 20.0, 40.0, 80.0)
"""Ends to choose from for the scale of ΔE00."""


def appearance(lit: Lit, view: str, value_count: int = 5, mark: bool = True) -> Appearance:
    """The head in one of legends.VIEWS; `mark` marks what lies above white or outside the screen."""
    key = _key(view, value_count, mark)
    if key not in lit.looks:
        lit.looks.setdefault(key, _VIEWS[view](lit, value_count, mark))  # of two threads the first is kept
    return lit.looks[key]


def remembered(lit: Lit, view: str, value_count: int, mark: bool) -> Appearance | None:
    """The same where it has been worked out, None where not."""
    return lit.looks.get(_key(view, value_count, mark))


def _key(view: str, value_count: int, mark: bool) -> tuple:
    return (view, value_count if view == "values" else None, mark if view == "as seen" else None)


def as_seen(lit: Lit, _count: int, mark: bool) -> Appearance:
    words, codes = legend("as seen"), screen_codes(lit.head, lit.XYZ, lit.eye, lit.scene.finer_XYZ)
    if not mark:
        codes[:, 3] = 255
    elif not codes[:, 3].all():
        words = replace(words, note="striped: lighter than white paint, or more colour than this screen has")
    return Appearance(words, of_vertex=codes)


def own_colour(lit: Lit, _count: int, _mark: bool) -> Appearance:
    codes = screen_codes(lit.head, lit.scene.own_XYZ, lit.eye)
    codes[:, 3] = 255
    return Appearance(legend("own colour"), of_vertex=codes)


def skylight_notes(lit: Lit, _count: int, _mark: bool) -> Appearance:
    note = lit.notes[0]
    return _map(lit, note, note_scale(note[_skin(lit)]), "skylight notes")


def greying(lit: Lit, _count: int, _mark: bool) -> Appearance:
    return _map(lit, lit.notes[1], greying_scale(), "greying")


def values(lit: Lit, count: int, _mark: bool) -> Appearance:
    lightness = lit.eye.Lab(lit.display_XYZ)[:, 0]
    edges, greys = value_steps(lightness, count)
    codes = [encode_sRGB(np.array(luminance_from_L(grey))) for grey in greys]
    colours = np.rint(np.repeat(np.array(codes)[:, None], 3, axis=1) * 255).astype(np.uint8)
    return Appearance(legend("values", value_scale(edges, greys)), steps=(lightness, edges, colours))


def planes(lit: Lit, _count: int, _mark: bool) -> Appearance:
    display = lit.head.display
    seen = encode(into_sRGB(lit.eye.screen_XYZ(lit.display_XYZ)))
    codes = np.empty((len(display.faces), 3), np.uint8)
    loose = display.plane_of_face < 0
    codes[loose] = np.rint(seen[display.faces[loose]].mean(axis=1))
    colours = np.array([list(bytes.fromhex(row.srgb[1:])) for row in lit.rows], np.uint8).reshape(-1, 3)
    codes[~loose] = colours[display.plane_of_face[~loose]]
    return Appearance(legend("planes"), of_face=_with_marks(codes))


def difference(one: Lit, other: Lit) -> Appearance:
    """How far apart two lit heads of one mesh look, ΔE00 at each vertex."""
    apart = delta_E00(one.eye.Lab(one.display_XYZ), other.eye.Lab(other.display_XYZ))
    highest = next((end for end in DIFFERENCES if end >= np.percentile(apart, 98)), DIFFERENCES[-1])
    marks = ((0.0, "alike"), (highest / 2, ""), (highest, "far apart"))
    scale = Scale((0.0, highest), ("#d8d8d8", "#a8a8a8", "#787878", "#3c3c3c", "#101010"), marks)
    linear = scale.linear(apart) * form(facing_of(other.head.display, other.scene.eye_position))[:, None]
    codes = encode(linear)
    words = Legend(
        "Difference", "How far apart the two look, place by place.", scale, "1 is about the least that shows (ΔE00)"
    )
    return Appearance(words, of_vertex=_with_marks(codes))


def value_scale(edges: np.ndarray, greys: np.ndarray) -> Scale:
    """The steps as a scale from dark to light, with a mark at each step's L*; where all is of one value, about that."""
    codes = tuple("#{0:02x}{0:02x}{0:02x}".format(round(255 * float(encode_sRGB(luminance_from_L(g))))) for g in greys)
    low, high = float(greys[0]), float(greys[-1])
    if high - low < 1:
        middle = (low + high) / 2
        return Scale((middle - 1, middle + 1), codes, ((float(round(middle)), "all"),))
    ends = {0: "dark", len(greys) - 1: "light"}
    marks = tuple((float(round(grey)), ends.get(place, "")) for place, grey in enumerate(greys))
    return Scale((low, high), codes, marks)


def _map(lit: Lit, numbers: np.ndarray, scale: Scale, view: str) -> Appearance:
    skin = _skin(lit)
    numbers = lit.head.to_display @ np.where(skin, numbers, np.nan).astype(np.float32)
    missing = ~np.isfinite(numbers)
    linear = scale.linear(np.where(missing, 0.0, numbers))
    linear[missing] = NO_ANSWER
    linear *= form(facing_of(lit.head.display, lit.scene.eye_position))[:, None]
    codes, loose = encode(linear), _loose(lit)
    return Appearance(legend(view, scale, bool(loose.any())), of_vertex=_with_marks(codes, missing & ~loose))


def _skin(lit: Lit) -> np.ndarray:
    """Vertices that belong to a plane, (V,) bool."""
    return np.asarray(lit.head.plane_weights.sum(axis=0)).ravel() > 0


def _loose(lit: Lit) -> np.ndarray:
    return (lit.head.to_display @ _skin(lit).astype(np.float32)) < 0.999


def _with_marks(codes: np.ndarray, marked: np.ndarray | None = None) -> np.ndarray:
    marks = np.full((len(codes), 1), 255, np.uint8)
    if marked is not None:
        marks[marked] = 0
    return np.concatenate([codes, marks], axis=1)


_VIEWS = {
    "as seen": as_seen,
    "skylight notes": skylight_notes,
    "greying": greying,
    "values": values,
    "planes": planes,
    "own colour": own_colour,
}
