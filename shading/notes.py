"""Skylight note and greying: what the light, not the skin, did to a colour.

All in CAM16-UCS for an eye fully used to the white card, before the key. For a seen colour X (XYZ, cd/m²):
m = (a′, b′) of X, m_own of the skin's own colour at X's luminance, m_N of the neutral colour N (the same
place with every light given the card's spectrum) at X's luminance.

    greying       = 1 − m · m_own / |m_own|²    0 none, 1 neutral, above 1 past neutral
    skylight note = (m − m_N) · û               CAM16-UCS units, positive toward sky blue

There is no greying where |m_own| < 3: such skin has no colour to lose.

û points from the white of D65 to the white of 20 000 K daylight, both at the card's luminance and both seen
by this same eye, so it turns a little as the card's light changes.

Shares. Both notes are differences along a straight path of constant luminance in XYZ, from the colour that
would have none to the seen one, and the seen colour is a sum of parts (light × path). The gradient of the
note, averaged along the path, times the way each part goes, is that part's share; shares sum to the note
(for greying, to the greying). A part's way is what changes when it is put in place of its version without
the note: for the note its neutral version, for greying the own colour at the part's luminance. Where a part
also changes in strength, the change in luminance is taken in the colour of the whole, so that a light of the
card's own colour never has a share in the note.

Arrays: parts (P, ..., 3), the rest (..., 3) and (...,). NaN where there is no answer, such as in the dark.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sitterlight.illuminants.observer import tristimulus
from sitterlight.illuminants.temperature import daylight
from sitterlight.shading.cam16 import ViewingConditions

Array = NDArray[np.floating]

LEAST_OWN_COLOUR = 3.0
"""CAM16-UCS units; skin with less colour of its own than this has none to lose."""

DARK = 1e-6
"""Share of the card's luminance below which a place is black and bears no note."""

_NODES, _NODE_WEIGHTS = np.polynomial.legendre.leggauss(4)


@dataclass(frozen=True)
class Notes:
    """The notes of an eye fully used to a card of this XYZ, cd/m², for the 2° or 10° observer."""

    card_XYZ: tuple[float, float, float]
    observer: int = 2

    @cached_property
    def conditions(self) -> ViewingConditions:
        """CAM16 for full adaptation to the card, adapting luminance 20 % of it."""
        return ViewingConditions(self.card_XYZ, 0.2 * self.card_XYZ[1], degree=1.0)

    @cached_property
    def toward_sky(self) -> Array:
        """û (2,), the unit vector in (a′, b′) from D65's white to that of 20 000 K."""
        whites = tristimulus(np.stack([daylight(6504.0), daylight(20000.0)]), self.observer)
        whites = whites * (self.card_XYZ[1] / whites[:, 1:2])
        near, far = self.colour(whites)
        return (far - near) / np.hypot(*(far - near))

    def colour(self, XYZ: ArrayLike) -> Array:
        """m = (a′, b′), (..., 2), of XYZ (..., 3) in cd/m²."""
        return self.conditions.ucs(XYZ)[..., 1:]

    def skylight_note(self, XYZ: ArrayLike, neutral_XYZ: ArrayLike) -> Array:
        """Skylight note (...,) of seen XYZ, given the neutral XYZ of the same places."""
        XYZ = np.asarray(XYZ, float)
        note = (self.colour(XYZ) - self.colour(_at_luminance_of(XYZ, neutral_XYZ))) @ self.toward_sky
        return np.where(self._dark(XYZ), np.nan, note)

    def greying(self, XYZ: ArrayLike, own_XYZ: ArrayLike) -> Array:
        """Greying (...,) of seen XYZ, given the own XYZ of the skin there."""
        XYZ = np.asarray(XYZ, float)
        direction, coloured = self._own_direction(XYZ, own_XYZ)
        greying = 1.0 - np.sum(self.colour(XYZ) * direction, axis=-1)
        return np.where(coloured & ~self._dark(XYZ), greying, np.nan)

    def note_shares(self, part_XYZ: ArrayLike, part_neutral_XYZ: ArrayLike) -> Array:
        """Shares (P, ...) of each part in the skylight note of their sum."""
        parts, neutral_parts = np.asarray(part_XYZ, float), np.asarray(part_neutral_XYZ, float)
        XYZ, neutral = parts.sum(0), neutral_parts.sum(0)
        scale = (XYZ[..., 1:2] / np.maximum(neutral[..., 1:2], 1e-12))[None]
        ways = parts - scale * neutral_parts
        ways = ways - ways[..., 1:2] * neutral[None] / np.maximum(neutral[None, ..., 1:2], 1e-12)
        toward = np.broadcast_to(self.toward_sky, (*XYZ.shape[:-1], 2))
        return self._shares(XYZ, scale[0] * neutral, ways, toward, self.skylight_note(XYZ, neutral))

    def greying_shares(self, part_XYZ: ArrayLike, own_XYZ: ArrayLike) -> Array:
        """Shares (P, ...) of each part in the greying of their sum."""
        parts, own = np.asarray(part_XYZ, float), np.asarray(own_XYZ, float)
        XYZ = parts.sum(0)
        ways = parts - parts[..., 1:2] * own[None] / np.maximum(own[None, ..., 1:2], 1e-12)
        direction, _ = self._own_direction(XYZ, own)
        return self._shares(XYZ, _at_luminance_of(XYZ, own), ways, -direction, self.greying(XYZ, own))

    def _dark(self, XYZ: Array) -> NDArray[np.bool_]:
        return XYZ[..., 1] <= DARK * self.card_XYZ[1]

    def _own_direction(self, XYZ: Array, own_XYZ: ArrayLike) -> tuple[Array, NDArray[np.bool_]]:
        """m_own / |m_own|² (..., 2), and where |m_own| is large enough to speak of (...,)."""
        own = self.colour(_at_luminance_of(XYZ, own_XYZ))
        square = np.sum(own**2, axis=-1)
        return own / np.maximum(square, 1e-12)[..., None], square >= LEAST_OWN_COLOUR**2

    def _shares(self, XYZ: Array, start: Array, ways: Array, toward: Array, whole: Array) -> Array:
        """Mean gradient of (a′, b′) · toward from `start` to `XYZ`, times `ways`; sums to `whole`."""
        gradient = self._mean_gradient(start, XYZ, toward)
        shares = ways[..., 0] * gradient[..., 0] + ways[..., 2] * gradient[..., 1]
        sizes = np.abs(shares)
        rest = whole - shares.sum(0)
        return shares + rest * sizes / np.maximum(sizes.sum(0), 1e-300)

    def _mean_gradient(self, start: Array, end: Array, toward: Array) -> Array:
        """d((a′, b′) · toward) by dX and dZ (..., 2) at constant Y, averaged along the straight path."""
        step = 1e-4 * np.maximum(end[..., 1:2], 1e-12)
        moves = np.stack([step * [1.0, 0.0, 0.0], step * [0.0, 0.0, 1.0]])
        total = 0.0
        for node, weight in zip(0.5 * (_NODES + 1.0), 0.5 * _NODE_WEIGHTS, strict=True):
            place = start + node * (end - start)
            difference = self.colour(place + moves) - self.colour(place - moves)
            total = total + weight * np.sum(difference * toward, axis=-1) / (2.0 * step[..., 0])
        return np.moveaxis(total, 0, -1)


def _at_luminance_of(XYZ: Array, other_XYZ: ArrayLike) -> Array:
    """The other colour (..., 3), scaled to the luminance of XYZ (..., 3)."""
    other = np.asarray(other_XYZ, float)
    return other * (np.maximum(XYZ[..., 1:2], 0.0) / np.maximum(other[..., 1:2], 1e-12))


def notes_of(scene) -> Notes:
    """The notes of a scene's card and observer."""
    return Notes(tuple(map(float, scene.card_XYZ)), scene.sitting.eye.observer)


def vertex_notes(scene) -> tuple[Array, Array]:
    """Skylight note and greying (V,) each of every vertex of a scene; NaN where there is no answer."""
    notes, XYZ = notes_of(scene), scene.XYZ
    return notes.skylight_note(XYZ, scene.XYZ_neutral), notes.greying(XYZ, scene.own_XYZ)
