"""The camera of a stage: the eye's place in the room, and a window framed as in the pictures of a study."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sitterlight.shading.frame import Gaze, direction
from sitterlight.shading.view import View, portrait_view
from sitterlight.viewer.latest import Latest

if TYPE_CHECKING:
    from sitterlight.meshes.head import Head

STEEPEST = 89.0
PLACES = {
    "front": (0.0, 0.0),
    "three-quarter": (40.0, 5.0),
    "profile": (90.0, 0.0),
    "below": (0.0, -50.0),
    "above": (0.0, 55.0),
    "back": (180.0, 0.0),
}
"""Azimuth and elevation of the views by name, degrees in the room frame."""


@dataclass(frozen=True)
class Framing:
    """The window of the picture, which stays while the eye goes round: `centre` and `half_height` in units of the
    distance to it; `zoom` shrinks it about `aim`, a place in the same units. `seen_from` is where it was fitted."""

    centre: tuple[float, float]
    half_height: float
    zoom: float = 1.0
    shift: tuple[float, float] = (0.0, 0.0)
    seen_from: Gaze | None = None

    @property
    def seen_half_height(self) -> float:
        return self.half_height / self.zoom

    @property
    def seen_centre(self) -> tuple[float, float]:
        return self.centre[0] + self.shift[0], self.centre[1] + self.shift[1]

    def zoomed(self, factor: float) -> Framing:
        return replace(self, zoom=float(np.clip(self.zoom * factor, 0.5, 12.0)))

    def moved(self, across: float, upward: float) -> Framing:
        """Shifted by shares of the picture's height."""
        height = 2 * self.seen_half_height
        return replace(self, shift=(self.shift[0] + across * height, self.shift[1] + upward * height))


def framing(head: Head, gaze: Gaze, rotation: np.ndarray, size: tuple[int, int]) -> Framing:
    """The window in which head and neck fill a picture of `size` pixels."""
    size = max(size[0], 1), max(size[1], 1)
    eye = direction(gaze.azimuth, gaze.elevation) * gaze.distance @ rotation

    def framed() -> Framing:
        view = portrait_view(head, eye, rotation, size)
        return Framing(view.centre, view.half_height, seen_from=gaze)

    return _framings.of((head.key, gaze, rotation.tobytes(), size), framed)


_framings = Latest(12)


def view_of(gaze: Gaze, window: Framing, rotation: np.ndarray, size: tuple[int, int]) -> View:
    """The picture plane, in the head's frame, of a gaze through a window."""
    eye = direction(gaze.azimuth, gaze.elevation) * gaze.distance
    forward = -eye / np.linalg.norm(eye)
    up = np.array([0.0, 1.0, 0.0])
    right = np.cross(forward, up)
    right /= np.linalg.norm(right)
    upward = np.cross(right, forward)
    turned = (axis @ rotation for axis in (eye, right, upward, forward))
    return View(*turned, window.seen_centre, window.seen_half_height, size)


def aim(camera, gaze: Gaze, window: Framing, size: tuple[int, int]) -> None:
    """Place a camera of VTK where the eye is, so that it shows what is seen through the window."""
    (width, height), half = size, window.seen_half_height
    camera.SetPosition(*direction(gaze.azimuth, gaze.elevation) * gaze.distance)
    camera.SetFocalPoint(0, 0, 0)
    camera.SetViewUp(0, 1, 0)
    camera.SetViewAngle(float(np.degrees(2 * np.arctan(half))))
    camera.SetWindowCenter(window.seen_centre[0] / (half * width / height), window.seen_centre[1] / half)


def apart(one: Gaze, other: Gaze) -> float:
    """Degrees between two places of the eye, as seen from the head."""
    cosine = direction(one.azimuth, one.elevation) @ direction(other.azimuth, other.elevation)
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def turned(gaze: Gaze, across: float, upward: float) -> Gaze:
    """The gaze moved round the head by degrees to the right and upward, never over the top."""
    azimuth = (gaze.azimuth + across + 180.0) % 360.0 - 180.0
    return gaze._replace(azimuth=azimuth, elevation=float(np.clip(gaze.elevation + upward, -STEEPEST, STEEPEST)))


def place(gaze: Gaze, name: str) -> Gaze:
    """One of PLACES at the same distance; profile and three-quarter keep to the side where the eye is."""
    azimuth, elevation = PLACES[name]
    side = -1.0 if gaze.azimuth < 0 and name in ("three-quarter", "profile") else 1.0
    return gaze._replace(azimuth=side * azimuth, elevation=elevation)
