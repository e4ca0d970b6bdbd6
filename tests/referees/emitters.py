"""The sources of a sitting as emitters of the renderer: the same lights, but as faces and maps, not as samples."""

from __future__ import annotations

import numpy as np

from sitterlight.illuminants.observer import luminous
from sitterlight.shading import resolve_lights
from sitterlight.shading.sitting import LampLight, Sitting, WindowLight
from sitterlight.shading.sources import Dome, Patch

from .renderer import mitsuba

_ROWS, _COLUMNS = 513, 1024
_FAR = 1e5
_WINDOW_GRID = 16384


def dome_image(domes: list[Dome], bands: list[int]) -> np.ndarray:
    """Radiance (rows, columns, bands) of domes in the renderer's layout: rows from +y down, columns from −z by +x."""
    down = np.arange(_ROWS) / (_ROWS - 1) * np.pi
    around = (np.arange(_COLUMNS) + 0.5) / _COLUMNS * 2 * np.pi
    down, around = np.meshgrid(down, around, indexing="ij")
    directions = np.stack([np.sin(down) * np.sin(around), np.cos(down), -np.sin(down) * np.cos(around)], axis=-1)
    flat = directions.reshape(-1, 3)
    radiance = sum(dome.pattern(flat) @ dome.basis[:, bands] for dome in domes)
    return np.ascontiguousarray(radiance.reshape(_ROWS, _COLUMNS, len(bands)), dtype=np.float32)


def emitters(sitting: Sitting, bands: list[int]) -> dict[str, dict]:
    """Scene entries for everything that gives light, `bands` being three places on the grid of wavelengths."""
    mi = mitsuba()
    sources = resolve_lights.resolve_lights(sitting)
    entries = {}
    domes = [source for source in sources if isinstance(source, Dome)]
    if domes:
        entries["dome"] = {"type": "envmap", "bitmap": mi.Bitmap(dome_image(domes, bands)), "scale": 1.0}
    for index, patch in enumerate(source for source in sources if isinstance(source, Patch)):
        entries[f"patch{index}"] = _face(sitting, patch, bands)
    return entries


def _face(sitting: Sitting, patch: Patch, bands: list[int]) -> dict:
    setting = next((light for light in sitting.lights if light.name == patch.name), None)
    if isinstance(setting, WindowLight):
        return _window(setting, sitting, bands)
    if patch.distant:
        return _disc(patch.points.mean(axis=0), _FAR, _FAR * np.tan(patch.spread), patch, bands)
    assert isinstance(setting, LampLight)
    axis = patch.points.mean(axis=0)
    return _disc(axis, setting.distance, setting.diameter / 2, patch, bands)


def _disc(axis: np.ndarray, distance: float, radius: float, patch: Patch, bands: list[int]) -> dict:
    """An even disc facing the origin; its illuminance there, π L r² / (r² + d²), is the light's."""
    axis = axis / np.linalg.norm(axis)
    strength = patch.irradiance(axis)
    radiance = strength @ patch.basis[:, bands] / (np.pi * radius**2 / (radius**2 + distance**2))
    return _glowing("disk", axis * distance, [0, 0, 0], radius, radius, _even(radiance))


def _window(light: WindowLight, sitting: Sitting, bands: list[int]) -> dict:
    """A rectangle with the sky painted on it, from a much finer grid of the window's own definition."""
    coarse = resolve_lights._WINDOW_SAMPLES
    resolve_lights._WINDOW_SAMPLES = _WINDOW_GRID
    try:
        patch = resolve_lights._window(light, sitting.folder)
    finally:
        resolve_lights._WINDOW_SAMPLES = coarse
    columns = max(2, round(np.sqrt(_WINDOW_GRID * light.width / light.height)))
    area = light.width * light.height / len(patch.points)
    image = (patch.weights @ patch.basis[:, bands] / area).reshape(-1, columns, len(bands))
    middle = patch.points.mean(axis=0)
    mi = mitsuba()
    # Ours runs upward row by row; a bitmap's first row is the top of the face.
    bitmap = mi.Bitmap(np.ascontiguousarray(image[::-1], dtype=np.float32))
    texture = {"type": "bitmap", "bitmap": bitmap, "raw": True, "wrap_mode": "clamp"}
    target = middle + patch.facing[0]
    return _glowing("rectangle", middle, target, light.width / 2, light.height / 2, texture)


def _even(radiance: np.ndarray) -> dict:
    return {"type": "rgb", "value": [float(value) for value in radiance]}


def _glowing(shape: str, middle, target, half_width: float, half_height: float, radiance: dict) -> dict:
    """A face that gives light and hides nothing, as lights do in the calculation."""
    mi = mitsuba()
    place = mi.ScalarTransform4f().look_at(
        origin=[float(x) for x in middle], target=[float(x) for x in target], up=[0, 1, 0]
    )
    return {
        "type": shape,
        "to_world": place @ mi.ScalarTransform4f().scale([half_width, half_height, 1]),
        "bsdf": {"type": "null"},
        "emitter": {"type": "area", "radiance": radiance},
    }


def illuminance_at_origin(sitting: Sitting) -> float:
    """Lux of all own lights at the origin, facing each: for checks of the emitters themselves."""
    total = 0.0
    for source in resolve_lights.own_lights(resolve_lights.resolve_lights(sitting)):
        total += float(luminous(source.mean_radiance() @ source.basis))
    return total
