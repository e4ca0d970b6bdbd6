"""Lights where a head finds them: turned into its frame, and told apart by their places.

A light that stays keeps its place and its key, so that a change of skin costs no more than to look them up.
"""

from __future__ import annotations

import hashlib

import numpy as np

from sitterlight.shading.irradiance import in_head_frame
from sitterlight.shading.memory import Memory
from sitterlight.shading.sources import Dome, Patch, Source


def placed(source: Source, rotation: np.ndarray, directions: int) -> np.ndarray | Patch:
    """A source about a head turned by `rotation (3,3)`, head→room: weights (N,K) over the cells of so many
    `directions` for a dome, else a patch. The same object while the source is the same."""
    key = id(source), rotation.tobytes(), directions
    return _places.of(key, lambda: (source, _put(source, rotation, directions)))[1]


def _put(source: Source, rotation: np.ndarray, directions: int) -> np.ndarray | Patch:
    if isinstance(source, Dome):
        return source.cells(round(np.sqrt(directions / 12)), rotation)
    return in_head_frame(source, rotation)


def place_key(place: np.ndarray | Patch) -> bytes:
    """What tells one place of a light from another: the weights (N,K) of a dome's cells, or a patch."""
    return _keys.of(id(place), lambda: (place, _digest(place)))[1]


def _digest(place: np.ndarray | Patch) -> bytes:
    digest = hashlib.blake2b(digest_size=16)
    if isinstance(place, Patch):
        for array in (place.points, place.weights, place.facing):
            digest.update(b"none" if array is None else np.ascontiguousarray(array).tobytes())
        digest.update(bytes([place.distant]))
    else:
        digest.update(place.tobytes())
    return digest.digest()


# Each result holds what its key is the identity of, so that nothing else can have that identity meanwhile.
_places, _keys = Memory(32), Memory(64)
