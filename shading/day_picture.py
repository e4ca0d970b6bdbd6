"""The head through a day, small, all in one row."""

from __future__ import annotations

import threading
from collections.abc import Sequence

import numpy as np
from PIL import Image, ImageDraw

from sitterlight.shading.colour_spaces import into_sRGB
from sitterlight.shading.eye import Eye
from sitterlight.shading.lettering import font
from sitterlight.shading.memory import Memory
from sitterlight.shading.picture import Film, develop, expose
from sitterlight.shading.scene import Scene
from sitterlight.shading.view import portrait_view

SIZE = (200, 250)
"""Pixels of one picture, across and down."""

_GROUND, _INK, _SOFT = (121, 121, 121), (20, 20, 20), (48, 48, 48)
_FOOT = 64


class HeadPictures:
    """Small pictures of heads as seen; rays are cast once for each place of the eye."""

    def __init__(self, size: tuple[int, int] = SIZE):
        self._size = size
        self._films = Memory(8, most_bytes=64_000_000)
        self._lock = threading.Lock()

    def of(self, scene: Scene, eye: Eye) -> np.ndarray:
        """The head as the eye sees it, (H,W,3) uint8."""
        film = self._film(scene)
        return develop(film, into_sRGB(eye.screen_XYZ(scene.display_XYZ)))

    def _film(self, scene: Scene) -> Film:
        key = (scene.head.key, scene.eye_position.tobytes(), scene.rotation.tobytes())
        view = portrait_view(scene.head, scene.eye_position, scene.rotation, self._size)
        with self._lock:  # so that no two threads expose the same
            return self._films.of(key, lambda: expose(scene.head.display, view))


def spread(count: int, most: int) -> list[int]:
    """At most `most` places of `count`, evenly apart, the first and the last step the same."""
    step = max(1, -(-count // most))
    start = (count - 1) % step // 2
    return list(range(start, count, step))


def strip(hours: Sequence, words: Sequence[Sequence[str]]) -> Image.Image:
    """The pictures of `hours` side by side on neutral ground, with lines of `words` below each."""
    width, height = SIZE
    sheet = Image.new("RGB", (width * len(hours), height + _FOOT), _GROUND)
    draw = ImageDraw.Draw(sheet)
    for place, (hour, lines) in enumerate(zip(hours, words, strict=True)):
        sheet.paste(Image.fromarray(hour.picture), (place * width, 0))
        for row, line in enumerate(lines):
            size, colour = (20, _INK) if row == 0 else (15, _SOFT)
            x, y = (place + 0.5) * width, height + 16 + 20 * row
            draw.text((x, y), line, font=font(size), fill=colour, anchor="mm")
    return sheet
