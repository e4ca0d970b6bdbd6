"""The sources of a sitting as emitters of the renderer: the same lights, but as faces and maps, not as samples."""

from __future__ import annotations

from dataclasses import replace
from unittest import mock

import numpy as np

from sitterlight.shading import resolve_lights
from sitterlight.shading.sitting import LampLight, Sitting, WindowLight
from sitterlight.shading.sources import Dome, Patch

from .renderer import mitsuba

_ROWS, _COLUMNS = 513, 1024
_FAR = 1e5
_WINDOW_GRID = 16384


def of_surfaces_alone(sitting: Sitting) -> Sitting:
    """The sitting without light under the skin, of which a tracer of surfaces knows nothing."""
    return replace(sitting, skin=replace(sitting.skin, under_skin=False))


class Lights:
    """What gives light in a sitting, for any three bands of the grid of wavelengths."""

    def __init__(self, sitting: Sitting):
        self.sitting = sitting
        sources = resolve_lights.resolve_lights(sitting)
        self.domes = [(_map_of(source), source.basis) for source in sources if isinstance(source, Dome)]
        self.faces = [_face(sitting, source) for source in sources if isinstance(source, Patch)]

    def entries(self, bands: list[int]) -> dict[str, dict]:
        """Scene entries."""
        mi = mitsuba()
        entries = {}
        if self.domes:
            entries["dome"] = {"type": "envmap", "bitmap": mi.Bitmap(self._dome(bands)), "scale": 1.0}
        for index, (frame, weights, basis) in enumerate(self.faces):
            radiance = _radiance(weights @ basis[:, bands])
            entries[f"face{index}"] = {**frame, "emitter": {"type": "area", "radiance": radiance}}
        return entries

    def parameters(self, bands: list[int]) -> dict[str, np.ndarray]:
        """What other bands change in a scene made of `entries`, by the renderer's names."""
        values = {}
        if self.domes:
            image = self._dome(bands)
            values["dome.data"] = np.concatenate([image[:, -1:], image, image[:, :1]], axis=1)
        for index, (_, weights, basis) in enumerate(self.faces):
            name = "value" if weights.ndim == 1 else "data"
            values[f"face{index}.emitter.radiance.{name}"] = (weights @ basis[:, bands]).astype(np.float32)
        return values

    def _dome(self, bands: list[int]) -> np.ndarray:
        radiance = sum(weights @ basis[:, bands] for weights, basis in self.domes)
        return np.ascontiguousarray(radiance, dtype=np.float32)


def _map_of(dome: Dome) -> np.ndarray:
    """Weights (rows, columns, K) in the renderer's layout: rows from +y down, columns from −z by way of +x."""
    down = np.arange(_ROWS) / (_ROWS - 1) * np.pi
    around = (np.arange(_COLUMNS) + 0.5) / _COLUMNS * 2 * np.pi
    down, around = np.meshgrid(down, around, indexing="ij")
    directions = np.stack([np.sin(down) * np.sin(around), np.cos(down), -np.sin(down) * np.cos(around)], axis=-1)
    return dome.pattern(directions.reshape(-1, 3)).reshape(_ROWS, _COLUMNS, -1)


def _radiance(values: np.ndarray) -> dict:
    if values.ndim == 1:
        return {"type": "rgb", "value": [float(value) for value in values]}
    bitmap = mitsuba().Bitmap(np.ascontiguousarray(values, dtype=np.float32))
    return {"type": "bitmap", "bitmap": bitmap, "raw": True, "wrap_mode": "clamp"}


Face = tuple[dict, np.ndarray, np.ndarray]


def _face(sitting: Sitting, patch: Patch) -> Face:
    """A shape, its radiance as weights (K,) or (rows, columns, K), and its basis spectra."""
    setting = next((light for light in sitting.lights if light.name == patch.name), None)
    if isinstance(setting, WindowLight):
        return _window(setting, sitting, patch)
    axis = patch.points.mean(axis=0)
    if patch.distant:
        return _disc(axis, _FAR, _FAR * np.tan(patch.spread), patch)
    assert isinstance(setting, LampLight)
    if setting.shape == "sphere":
        return _sphere(axis, setting, patch)
    return _disc(axis, setting.distance, setting.diameter / 2, patch)


def _disc(axis: np.ndarray, distance: float, radius: float, patch: Patch) -> Face:
    """An even disc facing the origin; its illuminance there, π L r² / (r² + d²), is the light's."""
    axis = axis / np.linalg.norm(axis)
    weights = patch.irradiance(axis) / (np.pi * radius**2 / (radius**2 + distance**2))
    return _frame("disk", axis * distance, np.zeros(3), radius, radius), weights, patch.basis


def _sphere(axis: np.ndarray, lamp: LampLight, patch: Patch) -> Face:
    """An even sphere; its illuminance at the origin, π L r² / d², is the light's."""
    axis = axis / np.linalg.norm(axis)
    radius = lamp.diameter / 2
    weights = patch.irradiance(axis) / (np.pi * radius**2 / lamp.distance**2)
    place = {"center": (axis * lamp.distance).tolist(), "radius": radius}
    return {"type": "sphere", **place, "bsdf": {"type": "null"}}, weights, patch.basis


def _window(light: WindowLight, sitting: Sitting, source: Patch) -> Face:
    """A rectangle with the sky painted on it, from a much finer grid of the window's own definition, as strong as
    `source` where the head is."""
    with mock.patch.object(resolve_lights, "_WINDOW_SAMPLES", _WINDOW_GRID):
        patch = resolve_lights._window(light, sitting.folder)
    normal = source.points.mean(axis=0) / np.linalg.norm(source.points.mean(axis=0))
    lux = [each.irradiance(normal) @ each.luminance_of_basis for each in (source, patch)]
    patch = replace(patch, weights=patch.weights * (lux[0] / lux[1]))
    columns = max(2, round(np.sqrt(_WINDOW_GRID * light.width / light.height)))
    area = light.width * light.height / len(patch.points)
    weights = (patch.weights / area).reshape(-1, columns, patch.weights.shape[1])
    middle = patch.points.mean(axis=0)
    frame = _frame("rectangle", middle, middle + patch.facing[0], light.width / 2, light.height / 2)
    return frame, weights, patch.basis


def _frame(shape: str, middle: np.ndarray, target: np.ndarray, half_width: float, half_height: float) -> dict:
    """A face that gives light and hides nothing, as lights do in the calculation."""
    transform = mitsuba().ScalarTransform4f
    place = transform().look_at(origin=middle.tolist(), target=target.tolist(), up=[0, 1, 0])
    return {
        "type": shape,
        "to_world": place @ transform().scale([half_width, half_height, 1]),
        "bsdf": {"type": "null"},
    }
