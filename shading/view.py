"""Where the picture plane stands: the eye's place, its axes, and the window of the picture in front of it.

All of a view is in the head's own frame (the head is never moved), so a turned, tilted or leaned head shows
as such because the room's upright is turned instead. The eye looks toward the head's origin; the window is
shifted in its plane, as a view camera does, so that the perspective depends on the eye's place alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.regions import REGIONS

MARGIN = 0.08
"""Free space above, below and beside what is framed, as a share of the picture's height."""

BELOW_HEAD = 0.36
"""How much of neck and chest is kept under the head, as a share of the head's own height."""


@dataclass(frozen=True)
class View:
    """A picture plane. `eye`, `right`, `up`, `forward` (3,) in the head's frame, mm and unit vectors;
    `centre (2,)` and `half_height` of the window in units of the distance to it; `size` (width, height) in
    pixels."""

    eye: np.ndarray
    right: np.ndarray
    up: np.ndarray
    forward: np.ndarray
    centre: tuple[float, float]
    half_height: float
    size: tuple[int, int]

    def directions(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Unit vectors (N,3) float32 from the eye through pixel places `x, y (N,)`; (0, 0) is the upper
        left corner of the picture and (width, height) its lower right."""
        width, height = self.size
        step = 2 * self.half_height / height
        across = (np.asarray(x, np.float32) - width / 2) * step + self.centre[0]
        upward = (height / 2 - np.asarray(y, np.float32)) * step + self.centre[1]
        axes = np.stack([self.right, self.up, self.forward]).astype(np.float32)
        rays = across[:, None] * axes[0] + upward[:, None] * axes[1] + axes[2]
        rays /= np.sqrt(1 + across**2 + upward**2)[:, None]
        return rays.astype(np.float32)

    def project(self, points: np.ndarray) -> np.ndarray:
        """Pixel places (N,2) of `points (N,3)` in the head's frame; the inverse of `directions`."""
        places = _on_window(points, self.eye, self.right, self.up, self.forward)
        width, height = self.size
        step = 2 * self.half_height / height
        x = (places[:, 0] - self.centre[0]) / step + width / 2
        return np.stack([x, height / 2 - (places[:, 1] - self.centre[1]) / step], axis=1)


def portrait_view(head, eye: np.ndarray, rotation: np.ndarray, size: tuple[int, int]) -> View:
    """The view in which head and neck fill a picture of `size` (width, height) pixels.

    `eye (3,)` is in the head's frame in mm, `rotation (3,3)` takes that frame to the room. Shoulders may
    run out of the picture at the sides; of the breast as much is kept as belongs to a portrait, and more
    where a narrow picture has room below. A foreign mesh is framed whole.

    Raises ValueError where the eye stands on the head's origin.
    """
    eye = np.asarray(eye, dtype=float)
    distance = np.linalg.norm(eye)
    if distance < 1e-6:
        raise ValueError("The eye stands in the middle of the head; set its distance to more than 0 mm.")
    forward = -eye / distance
    right, up = _axes(forward, np.asarray(rotation, dtype=float))
    face, body = _framed(head)
    low, high = _box(_on_window(face, eye, right, up, forward))
    bottom, end = (_box(_on_window(part, eye, right, up, forward))[0][1] for part in (body, head.vertices))
    breast = max(bottom, low[1] - BELOW_HEAD * (high[1] - low[1]))
    room = high[1] - (high[0] - low[0]) * size[1] / size[0]
    low = np.array([low[0], max(end, min(breast, room))])
    return _window(eye, right, up, forward, low, high, size)


def same_window(view: View, size: tuple[int, int]) -> View:
    """The same picture with other pixels; `size` keeps the height of the window and crops or widens its
    sides."""
    return View(view.eye, view.right, view.up, view.forward, view.centre, view.half_height, size)


def _window(eye, right, up, forward, low, high, size) -> View:
    width, height = size
    tall, wide = high[1] - low[1], high[0] - low[0]
    half_height = max(tall, wide * height / width) / 2 / (1 - 2 * MARGIN)
    centre = (float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2)
    return View(eye, right, up, forward, centre, float(half_height), (int(width), int(height)))


def _axes(forward: np.ndarray, rotation: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    upright = rotation.T @ np.array([0.0, 1.0, 0.0])
    if abs(forward @ upright) > 0.9995:  # from straight above or below, the sitter's front marks the vertical
        upright = rotation.T @ np.array([0.0, 0.0, 1.0 if forward @ upright > 0 else -1.0])
    right = np.cross(forward, upright)
    right /= np.linalg.norm(right)
    return right, np.cross(right, forward)


def _framed(head) -> tuple[np.ndarray, np.ndarray]:
    """The vertices of the head proper and those of all skin, (N,3) each; both are all vertices where a mesh
    has no such regions."""
    weights = np.asarray(head.region_weights)
    clothes = weights[:, REGIONS.index("clothes")]
    below = clothes + weights[:, REGIONS.index("neck")]
    face, body = head.vertices[below < 0.5], head.vertices[clothes < 0.5]
    if len(face) < 3:
        return head.vertices, head.vertices
    return face, body


def _on_window(points, eye, right, up, forward) -> np.ndarray:
    away = np.asarray(points) - eye
    depth = np.maximum(away @ forward, 1e-3)
    return np.stack([away @ right / depth, away @ up / depth], axis=1)


def _box(places: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return places.min(axis=0), places.max(axis=0)
