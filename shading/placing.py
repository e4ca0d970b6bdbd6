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
    if isinstance(source, Dome):
        return source.cells(round(np.sqrt(directions / 12)), rotation)
    return _places.of((id(source), rotation.tobytes()), lambda: (source, in_head_frame(source, rotation)))[1]


def place_key(place: np.ndarray | Patch) -> bytes:
    """What tells one place of a light from another: the weights (N,K) of a dome's cells, or a patch."""
    if isinstance(place, Patch):
        return place.digest
    return _keys.of(id(place), lambda: (place, hashlib.blake2b(place.tobytes(), digest_size=16).digest()))[1]


# Each result holds what its key is the identity of, so that nothing else can have that identity meanwhile.
_places, _keys = Memory(32, little=True), Memory(64)
