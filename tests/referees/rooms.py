"""Referee of rooms: near lamps and a window, straight on the bust, mean light that arrives at every plane.

The path tracer's bust is matt and grey and sends what arrives; ours says what arrives.

The project asks for 2 % of every plane's mean. A plane that gets less than a fiftieth of what the best placed gets is
grazed by a penumbra or by a corner of the window; there the same small amount of light is asked for instead.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import LampLight, Light, Sitting, SurroundSetting, WindowLight

from .grey_bust import GREY, their_planes

TOLERANCE, LEAST = 0.02, 0.02
GREY_SENDS = np.pi / GREY
_BAND = 35

ROOMS: dict[str, Light] = {
    "near disc": LampLight(
        spectrum="E", azimuth=-40, elevation=30, size=None, distance=700, diameter=220, illuminance=300
    ),
    "near sphere": LampLight(
        spectrum="E", azimuth=25, elevation=-10, size=None, distance=600, diameter=120, shape="sphere", illuminance=300
    ),
    "window": WindowLight(
        spectrum="E", sky="overcast", azimuth=60, elevation=10, distance=1500, width=1000, height=1300, illuminance=600
    ),
    "distant lamp": LampLight(spectrum="E", azimuth=70, elevation=20, size=12, illuminance=300),
}


@dataclass(frozen=True, eq=False)
class RoomResult:
    """Irradiance of one light per plane, in its own unit, `ours` and `theirs (planes,)`; `noise (planes,)` standard error of
    theirs."""

    names: tuple[str, ...]
    ours: np.ndarray
    theirs: np.ndarray
    noise: np.ndarray

    @property
    def lit(self) -> np.ndarray:
        """Which planes get at least a fiftieth of what the best placed one gets, (planes,) bool."""
        return self.theirs >= LEAST * self.theirs.max()

    @property
    def off(self) -> np.ndarray:
        """Ours less theirs, over theirs or over a fiftieth of the best plane's, whichever is more."""
        return (self.ours - self.theirs) / np.maximum(self.theirs, LEAST * self.theirs.max())

    @property
    def blur(self) -> np.ndarray:
        """The noise on the same scale."""
        return self.noise / np.maximum(self.theirs, LEAST * self.theirs.max())

    @property
    def beyond(self) -> list[str]:
        """Planes that differ by more than the tolerance and 2.5 times the noise, in words."""
        far = np.abs(self.off) > TOLERANCE + 2.5 * self.blur
        return [f"{self.names[k]} {self.off[k]:+.1%}" for k in np.argsort(-np.abs(self.off)) if far[k]]


def compare(name: str, count: int = 4096, mesh: str = "display", rounds: int = 1) -> RoomResult:
    """One of ROOMS by itself, direct light alone."""
    light = ROOMS[name]
    sitting = Sitting(lights=(light,), surround=SurroundSetting(ground=0.0))
    theirs, error = (GREY_SENDS * each for each in their_planes(sitting, 0, count, mesh, rounds))
    scene = light_scene(sitting, bounces=1)
    weights = scene.head.plane_weights
    ours = (weights @ scene.illuminance["direct"]) / np.asarray(weights.sum(axis=1)).ravel()
    source = scene.sources[0]
    ours, band = ours / source.luminance_of_basis[0], source.basis[0, _BAND]
    names = tuple(f"{plane.name} {plane.side}" for plane in scene.head.planes)
    return RoomResult(names, ours, theirs / band, error / band)
