"""A sitting through a day, step after step: the light at the white card and the colours of chosen planes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

import numpy as np

from sitterlight.illuminants.sun import SunPosition, sun_position
from sitterlight.illuminants.temperature import cct_and_duv
from sitterlight.illuminants.twilight import END_OF_CIVIL_TWILIGHT
from sitterlight.shading.day_picture import HeadPictures
from sitterlight.shading.keying import resolve_eye
from sitterlight.shading.munsell import parse_munsell, value_of_luminance
from sitterlight.shading.progress import Progress
from sitterlight.shading.scene import Scene, light_scene
from sitterlight.shading.sitter_head import head_of
from sitterlight.shading.sitting import DaylightLight, Sitting
from sitterlight.shading.sitting_clock import by_clock_of, clock_time
from sitterlight.shading.targets import PlaneRow, plane_rows
from sitterlight.shading.transfer import is_remembered

PLANES = ("forehead front", "nose bridge", "cheekbone top", "cheek side", "jaw underside")
"""The planes that a plan follows unless told otherwise: three that look up or ahead, one to the side, one down."""

STEP = timedelta(minutes=30)
STEPS = (10, 15, 20, 30, 60)
"""Minutes that a plan may step by."""
COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


WORKERS = 2
"""Hours worked at a time: while one casts its shadows the other does its sums."""


@dataclass(frozen=True)
class PlaneHour:
    """One plane at one time. `hue` is on Munsell's circle, 0 to 100, 0 = 10RP and 20 = 10YR; value, chroma and hue
    are None above white. Notes as in `targets.Seen`; `lux` is all that arrives, mean over the plane."""

    name: str
    side: str
    hidden: bool
    family: str
    Lab: tuple[float, float, float]
    srgb: str
    munsell: str | None
    value: float | None
    chroma: float | None
    hue: float | None
    above_white: bool
    skylight_note: float | None
    greying: float | None
    lux: float

    @property
    def label(self) -> str:
        """The plane's name with its side."""
        return self.name if self.side == "centre" else f"{self.name}, {self.side}"


@dataclass(frozen=True, eq=False)
class Hour:
    """A sitting at one time. `facing` compass degrees; `sun` by compass; the white card's lux, CCT (None far from
    white light) and Duv; `sun_share` of the card's lux, None without sun; a small `picture (H,W,3)` uint8."""

    when: datetime
    facing: float
    sun: SunPosition
    card_lux: float
    cct: float | None
    duv: float
    sun_share: float | None
    planes: tuple[PlaneHour, ...]
    picture: np.ndarray

    @property
    def clock(self) -> str:
        """The time of day, such as 09:30."""
        return f"{self.when:%H:%M}"


@dataclass(frozen=True, eq=False)
class DayHours:
    """A day with its `hours`, and the eight `facings` compared at one of them, north first, clockwise; `times` are
    those at which there is daylight, more than there are hours while the day is still being worked out."""

    sitting: Sitting
    on: date
    planes: tuple[str, ...]
    hours: tuple[Hour, ...]
    facings: tuple[Hour, ...] = ()
    step: timedelta = STEP
    times: tuple[datetime, ...] = ()


def daylight_light(sitting: Sitting) -> DaylightLight:
    """The daylight of a sitting that is on, the first if there are several. ValueError where there is none."""
    for light in sitting.lights:
        if isinstance(light, DaylightLight) and light.on:
            return light
    raise ValueError(
        f'The sitting "{sitting.title}" has no daylight that is on, so its light is the same all day; '
        'give it a light of kind = "daylight".'
    )


def lit_times(sitting: Sitting, on: date, step: timedelta = STEP) -> list[datetime]:
    """The times of a day, `step` after step from midnight, at which there is daylight.

    They are told by the clock of the daylight's place, summer time included; without a place, by a clock that keeps
    the offset of the sitting's own `when` all the year. ValueError where there is none: no daylight light, a date out
    of range, or a day without day.
    """
    light = daylight_light(sitting)
    if not 1950 <= on.year < 2100:
        raise ValueError(f"The date {on} is out of range; the sun is followed from 1950 to 2099.")
    if step not in [timedelta(minutes=minutes) for minutes in STEPS]:
        raise ValueError(f"A step of {step.total_seconds() / 60:g} minutes is none; allowed are {_listed(STEPS)}.")
    midnight, end = (clock_time(light, datetime.combine(on + timedelta(days), time(0))) for days in (0, 1))
    times = [by_clock_of(light, midnight + k * step) for k in range((end - midnight) // step)]
    lit = [when for when in times if _sun(light, when).elevation >= END_OF_CIVIL_TWILIGHT]
    if not lit:
        raise ValueError(
            f"On {on} there is no day at latitude {light.latitude:g}°, longitude {light.longitude:g}°: "
            f"the sun stays lower than {-END_OF_CIVIL_TWILIGHT:g}° below the horizon."
        )
    return lit


def _listed(words) -> str:
    *most, last = map(str, words)
    return f"{', '.join(most)} and {last}"


def at(sitting: Sitting, when: datetime, facing: float | None = None) -> Sitting:
    """The sitting with all its daylight at another time, and the sitter turned toward `facing` if given."""
    turned = {} if facing is None else {"facing": float(facing)}
    lights = (replace(x, when=when, **turned) if isinstance(x, DaylightLight) else x for x in sitting.lights)
    return replace(sitting, lights=tuple(lights))


def day_hours(
    sitting: Sitting,
    on: date,
    planes: Sequence[str] = PLANES,
    progress: Progress | None = None,
    step: timedelta = STEP,
    workers: int = WORKERS,
    told: Callable[[DayHours], None] | None = None,
) -> DayHours:
    """The sitting through a day. ValueError, in one sentence, where there is no daylight or no such plane.

    `progress` is told the share done, 0 to 1; whatever it raises ends the work. `workers` hours are worked at a time.
    `told` is given the day so far after each of them.
    """
    times = tuple(lit_times(sitting, on, step))
    chosen = _chosen(sitting, planes)

    def day(hours: Sequence[Hour]) -> DayHours:
        return DayHours(sitting, on, tuple(planes), tuple(hours), step=step, times=times)

    so_far = None if told is None else lambda hours: told(day(hours))
    return day(_all_hours([at(sitting, when) for when in times], chosen, progress, workers, so_far))


def with_facings(day: DayHours, when: datetime, progress: Progress | None = None, workers: int = WORKERS) -> DayHours:
    """The day with the eight facings compared at a time."""
    chosen = _chosen(day.sitting, day.planes)
    turned = [at(day.sitting, when, 45 * k) for k in range(8)]
    return replace(day, facings=_all_hours(turned, chosen, progress, workers))


def _chosen(sitting: Sitting, planes: Sequence[str]) -> tuple[int, ...]:
    """Places of the named planes, both sides; of all planes where a mesh of the user's own has none of them."""
    setting = sitting.head
    head = head_of(setting, sitting.folder)
    names = [plane.name for plane in head.planes]
    chosen = tuple(k for name in planes for k, other in enumerate(names) if other == name)
    if chosen:
        return chosen
    if tuple(planes) == PLANES:
        return tuple(range(min(len(names), 10)))
    raise ValueError(
        f"No plane of this head is named {', '.join(planes)}; there are {', '.join(dict.fromkeys(names))}."
    )


def _all_hours(
    sittings: list[Sitting],
    chosen: tuple[int, ...],
    progress: Progress | None,
    workers: int,
    so_far: Callable[[Sequence[Hour]], None] | None = None,
) -> tuple[Hour, ...]:
    """The first by itself, since it may have to cast rays for the head; then `workers` at a time."""
    pictures = HeadPictures()
    tell = progress or (lambda share: None)
    rays = 0.0 if _rays_are_known(sittings[0]) else 0.3
    found = [hour_of(sittings[0], chosen, pictures, lambda share: tell(rays * min(share, 1.0)))]
    pool = ThreadPoolExecutor(workers)
    try:
        tell(rays + (1 - rays) / len(sittings))
        for hour in pool.map(lambda each: hour_of(each, chosen, pictures), sittings[1:]):
            found.append(hour)
            if so_far is not None:
                so_far(found)
            tell(rays + (1 - rays) * len(found) / len(sittings))
    finally:
        pool.shutdown(cancel_futures=True)
    return tuple(found)


def _rays_are_known(sitting: Sitting) -> bool:
    setting = sitting.head
    return is_remembered(head_of(setting, sitting.folder))


def hour_of(sitting: Sitting, chosen: Sequence[int], pictures: HeadPictures, progress: Progress | None = None) -> Hour:
    """The sitting as it stands: its card, its planes at `chosen` places of the head, its picture."""
    light = daylight_light(sitting)
    scene = light_scene(sitting, progress=progress)
    eye = resolve_eye(scene)
    rows = plane_rows(scene, eye)
    cct, duv = cct_and_duv(scene.card_XYZ_2deg)
    return Hour(
        when=light.when,
        facing=light.facing,
        sun=_sun(light, light.when),
        card_lux=scene.card_lux,
        cct=None if cct is None else float(cct),
        duv=float(duv),
        sun_share=_sun_share(scene, light),
        planes=tuple(_plane(rows[k]) for k in chosen),
        picture=pictures.of(scene, eye),
    )


def _sun(light: DaylightLight, when: datetime) -> SunPosition:
    return sun_position(light.latitude, light.longitude, when)


def _sun_share(scene: Scene, light: DaylightLight) -> float | None:
    for info in scene.light_info:
        if info["name"] == f"{light.name} sun":
            return info["card_lux"] / scene.card_lux
    return None


def _plane(row: PlaneRow) -> PlaneHour:
    hue, value, chroma = (None, None, None) if row.munsell is None else map(float, parse_munsell(row.munsell))
    return PlaneHour(
        name=row.name,
        side=row.side,
        hidden=row.hidden,
        family=row.family,
        Lab=row.Lab,
        srgb=row.srgb,
        munsell=row.munsell,
        value=None if row.munsell is None else _value(row.Lab[0], value),
        chroma=chroma,
        hue=None if not chroma else hue,
        above_white=row.above_white,
        skylight_note=row.skylight_note,
        greying=row.greying,
        lux=sum(row.illuminance.values()),
    )


def _value(lightness: float, rounded: float) -> float:
    """Munsell value, unrounded, of an L* (which is of luminance alone, as value is); the notation's own near white."""
    Y = ((lightness + 16) / 116) ** 3 if lightness > 8 else lightness / 903.3
    value = float(value_of_luminance(Y))
    return value if np.isfinite(value) else rounded
