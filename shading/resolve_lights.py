"""From the lights of a sitting to sources: what is switched on, in its place, at its strength.

The ground, and the walls of a room, are sources too: they return what the lights throw on them.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from sitterlight.illuminants.catalogue import spectrum
from sitterlight.illuminants.sky import Sky, make_sky
from sitterlight.illuminants.surfaces import reflectance
from sitterlight.shading.frame import (
    UP,
    ball_samples,
    cap_directions,
    cap_irradiance,
    direction,
    disc_samples,
    perpendicular,
)
from sitterlight.shading.memory import Memory
from sitterlight.shading.sitting import DaylightLight, LampLight, Light, Sitting, SkyLight, WindowLight
from sitterlight.shading.sky_pattern import sky_pattern
from sitterlight.shading.sources import Dome, Patch, Pattern, Source, above_horizon, spectrum_of

_LAMP_SAMPLES, _SUN_SAMPLES, _WINDOW_SAMPLES = 64, 16, 160
_LANDSCAPE = 0.2
_SQUARE_MM = 1e6
"""In a square metre."""


def resolve_lights(sitting: Sitting) -> tuple[Source, ...]:
    """The sources of a sitting: its lights that are on, then "walls" and "ground" where they return light.

    Raises ValueError where a light names a spectrum, a sky or a surface that does not exist.
    """
    lights = [source for light in sitting.lights if light.on for source in _sources(light, sitting.folder)]
    return (*lights, *returned_light(sitting, lights))


def light_key(sitting: Sitting) -> tuple:
    """What decides the sources of a sitting: lights, surround, and when the files that they name were written."""
    surround, folder = sitting.surround, sitting.folder
    stamps = [_written(folder, surround.ground, surround.walls)]
    stamps += [
        _written(folder, light.spectrum, getattr(light, "sky", "")) for light in sitting.lights if _is_plain(light)
    ]
    return sitting.lights, surround, folder, *stamps


def _is_plain(light: Light) -> bool:
    return not isinstance(light, DaylightLight)


def returned_light(sitting: Sitting, lights: list[Source]) -> list[Source]:
    """What walls and ground return of the light of `lights`: "walls", then "ground", where they return any."""
    walls = _walls(sitting, lights)
    return [*walls, *_ground(sitting, [*lights, *walls])]


def own_lights(sources: tuple[Source, ...]) -> tuple[Source, ...]:
    """The sources that are lights themselves, not surfaces that return light."""
    return tuple(source for source in sources if source.kind not in ("ground", "walls"))


def ground_reflectance(sitting: Sitting) -> np.ndarray:
    """Reflectance (81,) of the ground."""
    return reflectance(sitting.surround.ground, sitting.folder)


def walls_reflectance(sitting: Sitting) -> np.ndarray:
    """Reflectance (81,) of the walls."""
    return reflectance(sitting.surround.walls, sitting.folder)


def _sources(light: Light, folder: Path | None) -> list[Source]:
    """The sources of a light. How a sky is spread is remembered; its strength only scales its spectrum. A light that
    stays as it was has the same source as before, by which its place is known (placing.py)."""
    if isinstance(light, DaylightLight):
        from sitterlight.shading.daylight_sources import daylight_sources

        return daylight_sources(light)
    written = _written(folder, light.spectrum, getattr(light, "sky", ""))
    return [_own_sources.of((light, folder, written), lambda: _source(light, folder, written))]


def _source(light: Light, folder: Path | None, written: tuple[float, ...]) -> Source:
    plain = replace(light, name="light", on=True, **_AT_ONE_LUX[type(light)])
    if isinstance(light, LampLight) and not written:  # sooner made than remembered
        known = _lamp(plain, folder)
    else:
        known = _unit_sources.of((plain, folder, written), lambda: _UNIT[type(light)](plain, folder))
    strength = lamp_illuminance(light) if isinstance(light, LampLight) else light.illuminance
    return replace(known, name=light.name, basis=known.basis * strength)


def _written(folder: Path | None, *names: str | float) -> tuple[float, ...]:
    """When those of `names` that are files were last written."""
    paths = (Path(folder or ".", name) for name in names if isinstance(name, str) and "." in name)
    return tuple(path.stat().st_mtime for path in paths if path.is_file())


def _sky_of(light: SkyLight | WindowLight, folder: Path | None) -> Sky:
    colour = None if light.spectrum == "auto" else spectrum(light.spectrum, folder, role="sky")
    return make_sky(light.sky, colour, direction(light.sun_azimuth, light.sun_elevation))


def _sky_source(light: SkyLight, folder: Path | None) -> Dome:
    sky = _sky_of(light, folder)
    return Dome(light.name, light.kind, sky.basis, sky_pattern(sky))


def _lamp_spectrum(light: LampLight, folder: Path | None) -> np.ndarray:
    return spectrum(light.spectrum, folder, role="lamp").power[None]


def _distant_lamp(light: LampLight, folder: Path | None) -> Patch:
    axis = direction(light.azimuth, light.elevation)
    count = _LAMP_SAMPLES if light.size > 2 else _SUN_SAMPLES
    points = cap_directions(axis, light.size, count)
    weights = np.full((count, 1), 1 / cap_irradiance(light.size, count))
    spread = np.radians(light.size / 2)
    place = (light.azimuth, light.elevation)
    return Patch(light.name, light.kind, _lamp_spectrum(light, folder), points, weights, True, None, place, spread)


def _near_lamp(light: LampLight, folder: Path | None) -> Patch:
    axis = direction(light.azimuth, light.elevation)
    points, facing = (_ball if light.shape == "sphere" else _disc)(axis, light.distance, light.diameter / 2)
    patch = Patch(
        light.name,
        light.kind,
        _lamp_spectrum(light, folder),
        points,
        np.ones((len(points), 1)),
        False,
        facing,
        (light.azimuth, light.elevation),
        np.arctan2(light.diameter / 2, light.distance),
    )
    return _at_one_lux(patch, axis)


def _disc(axis: np.ndarray, distance: float, radius: float) -> tuple[np.ndarray, np.ndarray]:
    """Points (S,3) of a disc that faces the origin, and its normal at each."""
    across, up = perpendicular(axis)
    spots = disc_samples(_LAMP_SAMPLES) * radius
    points = axis * distance + spots[:, :1] * across + spots[:, 1:] * up
    return points, np.broadcast_to(-axis, points.shape)


def _ball(axis: np.ndarray, distance: float, radius: float) -> tuple[np.ndarray, None]:
    """Points (S,3) of a sphere, which faces nowhere: it is as large, and gives as much, from wherever it is seen."""
    return axis * distance + radius * ball_samples(_LAMP_SAMPLES), None


def lamp_illuminance(light: LampLight) -> float:
    """Lux of a lamp at the origin, facing it, head away; from its lumens where its strength is given so.

    A sphere of flux Φ at distance d has the intensity Φ/4π all round, E = Φ / 4π d². A disc of radius r is Lambertian
    on the side toward the head, Φ = π L · π r², and E = π L r² / (r² + d²) on its axis (any textbook of photometry).
    """
    if light.lumens is None:
        return light.illuminance
    if light.shape == "sphere":
        return light.lumens / (4 * np.pi * light.distance**2) * _SQUARE_MM
    return light.lumens / (np.pi * ((light.diameter / 2) ** 2 + light.distance**2)) * _SQUARE_MM


def lamp_lumens(light: LampLight) -> float:
    """The other way round: lumens of a near lamp that gives what it gives."""
    return lamp_illuminance(light) / lamp_illuminance(replace(light, illuminance=None, lumens=1.0))


def _window(light: WindowLight, folder: Path | None) -> Patch:
    middle = direction(light.azimuth, light.elevation) * light.distance
    inward = -direction(light.azimuth, 0)
    across = np.cross(UP, inward)
    columns = max(2, round(np.sqrt(_WINDOW_SAMPLES * light.width / light.height)))
    rows = max(2, round(_WINDOW_SAMPLES / columns))
    x, y = np.meshgrid((np.arange(columns) + 0.5) / columns - 0.5, (np.arange(rows) + 0.5) / rows - 0.5)
    points = middle + x.reshape(-1, 1) * light.width * across + y.reshape(-1, 1) * light.height * UP
    sky = _sky_of(light, folder)
    weights = _seen_through(sky, points / np.linalg.norm(points, axis=1, keepdims=True))
    patch = Patch(
        light.name,
        light.kind,
        sky.basis,
        points,
        weights,
        False,
        np.broadcast_to(inward, points.shape),
        (light.azimuth, light.elevation),
        np.arctan2(np.sqrt(light.width * light.height) / 2, light.distance),
    )
    return _at_one_lux(patch, direction(light.azimuth, light.elevation))


def _seen_through(sky: Sky, directions: np.ndarray) -> np.ndarray:
    """Radiance weights (S,K) outdoors: the sky, and below the horizon a grey landscape under it."""
    total = Dome("", "sky", sky.basis, sky_pattern(sky)).irradiance(UP)
    up = above_horizon(directions[:, 1])[:, None]
    raised = directions * [1, 0, 1] + np.maximum(directions[:, 1:2], 1e-6) * UP
    return sky.weights(raised) * up + _LANDSCAPE * total / np.pi * (1 - up)


def _at_one_lux(patch: Patch, normal: np.ndarray) -> Patch:
    """The patch with its weights scaled to give one lux at the origin on a surface with `normal`."""
    now = patch.irradiance(normal) @ patch.luminance_of_basis
    return replace(patch, weights=patch.weights * (1 / now if now > 0 else 0.0))


def _total_spectrum(sources: list[Source], weights_of) -> np.ndarray:
    return sum((spectrum_of(source, weights_of(source)) for source in sources), np.zeros(81))


def _ground(sitting: Sitting, sources: list[Source]) -> list[Source]:
    """Level ground without end: it returns the light that reaches it when the head is away."""
    share = ground_reflectance(sitting) / np.pi
    mixed = tuple((amount, share * spectrum) for amount, spectrum in map(_upon_ground, sources))
    returned = sum((amount * spectrum for amount, spectrum in mixed), np.zeros((1, 81)))
    if not returned.any():
        return []
    return [Dome("ground", "ground", returned, _BELOW, mixed=mixed)]


def _upon_ground(source: Source) -> tuple[float, np.ndarray]:
    """How much of which spectrum (1,81) a light gives to level ground: of its own, where it has but one."""
    weights = source.irradiance(UP)
    return (float(weights[0]), source.basis) if len(weights) == 1 else (1.0, spectrum_of(source, weights)[None])


def _walls(sitting: Sitting, sources: list[Source]) -> list[Source]:
    """Walls and ceiling of a room, alike from all sides above the floor, lit by the mean of what the lights send
    out and by each other without end (the integrating sphere). Under an open sky there are none."""
    if any(isinstance(source, Dome) for source in sources):
        return []
    colour = walls_reflectance(sitting)
    returned = colour / (1 - np.minimum(colour, 0.99)) * _total_spectrum(sources, Patch.mean_radiance)
    if not returned.any():
        return []
    return [Dome("walls", "walls", returned[None], _ABOVE)]


def _lamp(light: LampLight, folder: Path | None) -> Patch:
    return _near_lamp(light, folder) if light.distance is not None else _distant_lamp(light, folder)


_BELOW = Pattern(lambda directions: above_horizon(-directions[:, 1])[:, None])
_ABOVE = Pattern(lambda directions: above_horizon(directions[:, 1])[:, None])

_UNIT = {SkyLight: _sky_source, LampLight: _lamp, WindowLight: _window}
"""What makes the source of a light of one lux."""
_AT_ONE_LUX = {
    SkyLight: {"illuminance": 1.0},
    LampLight: {"illuminance": 1.0, "lumens": None},
    WindowLight: {"illuminance": 1.0},
}
_unit_sources, _own_sources = Memory(64), Memory(64, little=True)
