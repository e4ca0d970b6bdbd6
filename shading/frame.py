"""The room frame, and the head's place in it. Millimetres, y up, +z ahead of an unturned bust, +x to its left."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from sitterlight.shading.sitting import HeadSetting, Sitting

UP = np.array([0.0, 1.0, 0.0])


class Gaze(NamedTuple):
    """Where the head is looked at from: degrees in the room frame, and mm from the head's origin."""

    azimuth: float
    elevation: float
    distance: float


def gaze_of(sitting: Sitting) -> Gaze:
    """Where the sitting's own eye stands."""
    return Gaze(sitting.eye.azimuth, sitting.eye.elevation, sitting.eye.distance)


def direction(azimuth: float, elevation: float) -> np.ndarray:
    """Unit vector (3,) toward `azimuth` and `elevation` in degrees."""
    a, e = math.radians(azimuth), math.radians(elevation)
    return np.array([math.sin(a) * math.cos(e), math.sin(e), math.cos(a) * math.cos(e)])


def azimuth_elevation(vector: np.ndarray) -> tuple[float, float]:
    """Azimuth within ±180 and elevation, in degrees, of a vector (3,)."""
    x, y, z = np.asarray(vector) / np.linalg.norm(vector)
    return float(np.degrees(np.arctan2(x, z))), float(np.degrees(np.arcsin(np.clip(y, -1, 1))))


@lru_cache(maxsize=16)
def head_rotation(head: HeadSetting) -> np.ndarray:
    """Rotation (3,3), read-only, that carries the head's own frame into the room: turn, then tilt, then lean."""
    turn, tilt, lean = np.radians([head.turn, head.tilt, head.lean])
    about_y = np.array([[np.cos(turn), 0, np.sin(turn)], [0, 1, 0], [-np.sin(turn), 0, np.cos(turn)]])
    about_x = np.array([[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]])
    about_z = np.array([[np.cos(lean), np.sin(lean), 0], [-np.sin(lean), np.cos(lean), 0], [0, 0, 1]])
    rotation = about_z @ about_x @ about_y
    rotation.setflags(write=False)
    return rotation


def perpendicular(axis: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Two unit vectors (3,) square to a unit `axis` and to each other; the first is level where it can be."""
    x, y, z = axis.tolist()
    length = math.hypot(x, z)
    across, ahead = (z / length, -x / length) if length >= 1e-6 else (1.0, 0.0)
    return np.array([across, 0.0, ahead]), np.array([y * ahead, z * across - x * ahead, -y * across])


@lru_cache(maxsize=8)
def disc_samples(count: int) -> np.ndarray:
    """Points (count,2), read-only, spread evenly over the unit disc, on the sunflower spiral (Vogel 1979)."""
    index = np.arange(count)
    radius, angle = np.sqrt((index + 0.5) / count), index * np.pi * (3 - np.sqrt(5))
    samples = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)
    samples.setflags(write=False)
    return samples


def ball_samples(count: int) -> np.ndarray:
    """Points (count,3) within the unit ball, opposite in pairs, that cover its disc evenly from whatever side.

    Evenly over the disc from all sides means a density of 1/√(1 − r²) within (Abel's inversion of a constant); what is
    alike all round draws, or lights, as from its centre (Newton's shell theorem). `count` is even.
    """
    index = np.arange(count // 2)
    height, angle = (index + 0.5) / (count // 2), index * np.pi * (3 - np.sqrt(5))
    across = np.sqrt(1 - height**2)
    outward = np.stack([across * np.cos(angle), height, across * np.sin(angle)], axis=1)
    turn = np.linspace(0, np.pi / 2, 2048)
    share = (index * np.sqrt(2) + 0.5) % 1
    radius = np.sin(np.interp(share, (2 * turn - np.sin(2 * turn)) / np.pi, turn))
    half = outward * radius[:, None]
    return np.concatenate([half, -half])


def cap_directions(axis: np.ndarray, size: float, count: int) -> np.ndarray:
    """Directions (count,3) spread evenly over a cap `size` degrees across about a unit `axis`."""
    across, up = perpendicular(axis)
    cap = _cap(size, count)
    return cap[:, :1] * across + cap[:, 1:2] * up + cap[:, 2:] * axis


def cap_irradiance(size: float, count: int) -> float:
    """What these directions give to a surface that faces their axis, if each gives 1."""
    return float(_cap(size, count)[:, 2].sum())


@lru_cache(maxsize=8)
def _cap(size: float, count: int) -> np.ndarray:
    """The directions of a cap about the last axis, read-only."""
    spots = disc_samples(count)
    square = (spots**2).sum(axis=1, keepdims=True)
    cosine = 1 - square * (1 - math.cos(math.radians(size / 2)))
    cap = np.concatenate([spots / np.maximum(np.sqrt(square), 1e-12) * np.sqrt(1 - cosine**2), cosine], axis=1)
    cap.setflags(write=False)
    return cap
