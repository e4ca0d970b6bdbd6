"""What is lit in all races: the bust under four lights and the ground, and endless fresh skins, lamps and places to
look from, none of which was ever seen before."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import count

import numpy as np

from sitterlight.shading.eye import Eye
from sitterlight.shading.frame import Gaze
from sitterlight.shading.glance import glance, screen_codes, seen_XYZ
from sitterlight.shading.keying import resolve_eye
from sitterlight.shading.ladder import ladder_amounts
from sitterlight.shading.sitting import LampLight, Sitting, SkinSetting, SkyLight, WindowLight
from sitterlight.shading.staging import Setup

BOUNCES = 3
LADDER = 4
GOLDEN = 0.6180339887498949

SKY = SkyLight(name="sky", sky="open shade", illuminance=4000.0)
FAR_LAMP = LampLight(name="far lamp", spectrum="A", azimuth=-40.0, elevation=35.0, size=12.0, illuminance=1500.0)
NEAR_LAMP = LampLight(
    name="near lamp",
    spectrum="LED-B1",
    azimuth=50.0,
    elevation=10.0,
    size=None,
    distance=900.0,
    diameter=150.0,
    illuminance=800.0,
)
WINDOW = WindowLight(name="window", azimuth=80.0, elevation=10.0, sky="open shade", illuminance=900.0)


def four_lights(under_skin: bool = True) -> Sitting:
    """A sky of three basis spectra, a distant lamp, a near lamp and a window; the ground returns light."""
    skin = SkinSetting(ladder=LADDER, under_skin=under_skin)
    return Sitting(lights=(SKY, FAR_LAMP, NEAR_LAMP, WINDOW), skin=skin)


def fresh_skins(sitting: Sitting) -> Iterator[Sitting]:
    """The sitting with ever other amounts in its skin."""
    amounts = ladder_amounts(LADDER).as_dict()
    for number in count(1):
        change = 0.6 + 0.8 * (number * GOLDEN % 1)
        other = amounts | {"melanin": amounts["melanin"] * change, "blood": amounts["blood"] * (2 - change)}
        yield replace(sitting, skin=replace(sitting.skin, ladder=None, amounts=tuple(other.items())))


def fresh_lamps(sitting: Sitting, name: str, place: int, first: int = 1) -> Iterator[Sitting]:
    """The sitting with one lamp at one of many places before the head, each time a thousandth of a degree farther: it
    never stood just there, and lights as much. With another `first` nowhere that it stood with this one."""
    azimuth, elevation = -70 + 140 * (place * GOLDEN % 1), 10 + 40 * (place * GOLDEN**2 % 1)
    for number in count(first):
        there = {"azimuth": azimuth + 1e-3 * number, "elevation": elevation}
        lights = tuple(replace(light, **there) if light.name == name else light for light in sitting.lights)
        yield replace(sitting, lights=lights)


def fresh_gazes() -> Iterator[Gaze]:
    """Ever other places to look from."""
    for number in count(1):
        yield Gaze(-60 + 120 * (number * GOLDEN % 1), -10 + 30 * (number * GOLDEN**2 % 1), 1500.0)


def codes_of(sitting: Sitting, eye: Eye, gaze: Gaze | None = None) -> np.ndarray:
    """Ours: the display bytes (D,4) of a sitting, with three bounces."""
    setup = Setup.of(sitting, bounces=BOUNCES, gaze=gaze)
    return screen_codes(setup.head, seen_XYZ(setup, sitting.eye.observer), eye)


def eye_of(sitting: Sitting) -> Eye:
    """The eye of a sitting, laid onto the screen."""
    return resolve_eye(glance(sitting))


def largest(values: np.ndarray) -> str:
    """Median, the thousandth from the top and the largest of some differences, in words."""
    return f"{np.median(values):.4f} / {np.quantile(values, 0.999):.4f} / {values.max():.4f}"
