"""The sitting: everything that decides the picture, as one immutable value.

Field names are the keys of the sitting file. Angles are in degrees, lengths in mm, light in lux.
Values are compared and hashed by what they say; `Sitting.folder`, where relative paths start, takes no part.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import ClassVar

from sitterlight.illuminants.places import by_its_clock, place_named
from sitterlight.meshes.plane_edits import PlaneEdit
from sitterlight.shading.paints import DEFAULT_PALETTE

FORMAT = "sitterlight/1"
"""What the first line of a sitting file says."""


@dataclass(frozen=True)
class HeadSetting:
    """Which head, and how it is held: turn about y, then tilt about x, then lean about z.

    For a mesh of one's own: unit, up and front (each may be "guess"); planes, how many there are to be (None: as many
    as its shape asks for); plane, those joined or named by hand.
    """

    mesh: str = "bust"
    unit: str = "mm"
    up: str = "+y"
    front: str = "+z"
    turn: float = 0.0
    tilt: float = 0.0
    lean: float = 0.0
    planes: int | None = None
    plane: tuple[PlaneEdit, ...] = ()


@dataclass(frozen=True)
class SkinColour:
    """A skin given by its colour: either Lab under a light, or an sRGB code such as "#8a5a3c"."""

    Lab: tuple[float, float, float] | None = None
    light: str = "D65"
    srgb: str | None = None


@dataclass(frozen=True)
class SkinSetting:
    """Exactly one of ladder, amounts, reflectance and colour is set; the others are None.

    amounts holds (name, amount) pairs, all of them, in the order of skin.AMOUNTS.
    """

    ladder: int | None = 2
    amounts: tuple[tuple[str, float], ...] | None = None
    reflectance: str | None = None
    sheen_included: bool = True
    colour: SkinColour | None = None
    roughness: float = 0.35
    oil: float = 1.0
    regions: bool = True
    under_skin: bool = True


@dataclass(frozen=True)
class SkyLight:
    """A whole sky. illuminance: on open horizontal ground, head away.

    spectrum "auto" is the sky's usual colour: 6500 K, and for open shade the colours of a blue sky,
    which change over the dome. The sun's place matters only to skies that are brighter around it.
    """

    kind: ClassVar[str] = "sky"
    name: str = "sky"
    sky: str | int = "overcast"
    spectrum: str = "auto"
    illuminance: float = 8000.0
    sun_azimuth: float = 0.0
    sun_elevation: float = 45.0
    on: bool = True


@dataclass(frozen=True)
class LampLight:
    """A lamp: distant with a size in degrees, or near with distance and diameter in mm (then size is None).

    A near lamp is a flat "disc" that faces the head, or a "sphere"; a distant one has no shape. Its strength is
    illuminance, lux at the origin, facing the lamp, head away; or, for a near lamp, lumens at the source (then
    illuminance is None).
    """

    kind: ClassVar[str] = "lamp"
    name: str = "lamp"
    spectrum: str = "A"
    azimuth: float = -40.0
    elevation: float = 35.0
    size: float | None = 12.0
    distance: float | None = None
    diameter: float | None = None
    shape: str | None = None
    illuminance: float | None = 300.0
    lumens: float | None = None
    on: bool = True

    def __post_init__(self):
        shape = None if self.distance is None else self.shape or "disc"
        object.__setattr__(self, "shape", shape)


@dataclass(frozen=True)
class DaylightLight:
    """Sun and sky at a place and an hour; facing is the compass bearing that the sitter looks toward.

    place is the name of a listed city or None. With it latitude and longitude are the city's, and when is told by
    the clock there; a when without zone is taken as that clock's. air "auto" is the weather's own; shade is what
    blocks the sun or a part of the sky. ValueError where the place is not listed or lies elsewhere.
    """

    kind: ClassVar[str] = "daylight"
    name: str = "daylight"
    place: str | None = None
    latitude: float = 0.0
    longitude: float = 0.0
    when: datetime = datetime(2026, 3, 20, 9, 0, tzinfo=UTC)
    weather: str = "clear"
    air: str = "auto"
    shade: str = "none"
    facing: float = 180.0
    on: bool = True

    def __post_init__(self):
        if self.place is None:
            return
        city = place_named(self.place)
        given, there = (self.latitude, self.longitude), (city.latitude, city.longitude)
        if given not in (there, (0.0, 0.0)):
            raise ValueError(
                f"place is {city.name}, which lies at latitude {there[0]:g}, longitude {there[1]:g}, but latitude is "
                f"{given[0]:g} and longitude {given[1]:g}; allowed is the place, or latitude and longitude"
            )
        told = {"place": city.name, "latitude": there[0], "longitude": there[1]}
        for name, value in (told | {"when": by_its_clock(self.when, city.zone)}).items():
            object.__setattr__(self, name, value)


@dataclass(frozen=True)
class WindowLight:
    """A rectangle with sky behind it. illuminance: at the origin, facing it, head away."""

    kind: ClassVar[str] = "window"
    name: str = "window"
    azimuth: float = 60.0
    elevation: float = 10.0
    distance: float = 1800.0
    width: float = 1200.0
    height: float = 1500.0
    sky: str | int = "open shade"
    spectrum: str = "auto"
    illuminance: float = 600.0
    sun_azimuth: float = 0.0
    sun_elevation: float = 45.0
    on: bool = True


Light = SkyLight | LampLight | DaylightLight | WindowLight
LIGHT_KINDS: dict[str, type[Light]] = {cls.kind: cls for cls in (SkyLight, LampLight, DaylightLight, WindowLight)}


@dataclass(frozen=True)
class SurroundSetting:
    """What returns light: a grey albedo, the name of a surface, or a CSV file of reflectance."""

    ground: float | str = 0.2
    walls: float | str = 0.0
    clothes: float | str = 0.2


@dataclass(frozen=True)
class EyeSetting:
    """Where the painter stands, how far sight is used to the light, and how luminance becomes value."""

    azimuth: float = 0.0
    elevation: float = 0.0
    distance: float = 1500.0
    adaptation: float | str = "auto"
    key: float | str = "as lit"
    observer: int = 2


@dataclass(frozen=True)
class EaselSetting:
    """The light that the paint is seen under, and a second one that a mix should hold in."""

    light: str = "D50"
    second_light: str = "A"


@dataclass(frozen=True)
class PaletteSetting:
    """The painter's tubes, by Colour Index generic name and qualifier, and what the painter would rather have.

    most: paints in one mix. few_paints: a further paint must be well worth it. base: "none", "auto" for one brown
    chosen for the whole head, or the paint that every mix should hold. transparent_darks: no white and no opaque
    paint in darks. no_black: black tubes stay closed.
    """

    paints: tuple[str, ...] = DEFAULT_PALETTE
    most: int = 4
    few_paints: bool = False
    base: str = "none"
    transparent_darks: bool = False
    no_black: bool = False


@dataclass(frozen=True)
class Sitting:
    """Everything that decides the picture. Without a light of its own it has one overcast sky."""

    title: str = "Sitting"
    head: HeadSetting = HeadSetting()
    skin: SkinSetting = SkinSetting()
    lights: tuple[Light, ...] = (SkyLight(),)
    surround: SurroundSetting = SurroundSetting()
    eye: EyeSetting = EyeSetting()
    easel: EaselSetting = EaselSetting()
    palette: PaletteSetting = PaletteSetting()
    folder: Path | None = field(default=None, compare=False)


def result_names(light: Light) -> tuple[str, ...]:
    """The names a light has in results: a daylight light appears as its sun and its sky."""
    if isinstance(light, DaylightLight):
        return (f"{light.name} sun", f"{light.name} sky")
    return (light.name,)


def light_named(sitting: Sitting, name: str) -> Light:
    """The light of that name; KeyError where there is none."""
    for light in sitting.lights:
        if light.name == name:
            return light
    raise KeyError(name)


def with_light(sitting: Sitting, name: str, **changes: object) -> Sitting:
    """The sitting with fields of the named light changed; KeyError where there is no such light."""
    changed = replace(light_named(sitting, name), **changes)
    return replace(sitting, lights=tuple(changed if x.name == name else x for x in sitting.lights))


def with_lights(sitting: Sitting, *lights: Light) -> Sitting:
    """The sitting with these lights instead of its own."""
    return replace(sitting, lights=tuple(lights))


def with_skin(sitting: Sitting, **changes: object) -> Sitting:
    """The sitting with fields of the skin changed; a new source of the skin takes the place of the old."""
    sources = ("ladder", "amounts", "reflectance", "colour")
    if any(changes.get(source) is not None for source in sources):
        changes = {source: None for source in sources} | {"sheen_included": True} | changes
    return replace(sitting, skin=replace(sitting.skin, **changes))


def with_head(sitting: Sitting, **changes: object) -> Sitting:
    """The sitting with fields of the head changed."""
    return replace(sitting, head=replace(sitting.head, **changes))


def with_eye(sitting: Sitting, **changes: object) -> Sitting:
    """The sitting with fields of the eye changed."""
    return replace(sitting, eye=replace(sitting.eye, **changes))


def with_palette(sitting: Sitting, **changes: object) -> Sitting:
    """The sitting with fields of the palette changed; a base that is no longer among the paints becomes "none"."""
    palette = replace(sitting.palette, **changes)
    if palette.base not in ("none", "auto", *palette.paints):
        palette = replace(palette, base="none")
    return replace(sitting, palette=palette)


def with_easel(sitting: Sitting, **changes: object) -> Sitting:
    """The sitting with fields of the easel changed."""
    return replace(sitting, easel=replace(sitting.easel, **changes))


def with_surround(sitting: Sitting, **changes: object) -> Sitting:
    """The sitting with fields of the surround changed."""
    return replace(sitting, surround=replace(sitting.surround, **changes))
