"""What the window showed of a sitting, kept so that it is there at once the next time.

Light on a head is a pure function of what decides it, so a picture of the last time is the picture of this time where
its key is the same. It is shown before anything has been loaded that calculates; the calculation follows and takes its
place.
"""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np

from sitterlight.meshes.regions import REGIONS
from sitterlight.shading import cache
from sitterlight.shading.frame import Gaze, gaze_of
from sitterlight.shading.legend_words import legend
from sitterlight.shading.sitting import Sitting
from sitterlight.viewer.looks import Appearance
from sitterlight.viewer.picture_key import picture_key

MOST_KEPT = 12
"""Pictures on disk; the one that was not looked at for longest makes room."""

LARGEST = 2_000_000
"""Vertices of a display mesh of which a picture is kept."""

_NAME = "picture-"
_FRAMING = ("neck", "clothes")
"""The regions by which a portrait is framed."""


@dataclass(frozen=True, eq=False)
class KeptMesh:
    """What is drawn: vertices (D,3) float32 mm, faces (G,3)."""

    vertices: np.ndarray
    faces: np.ndarray


@dataclass(frozen=True, eq=False)
class KeptHead:
    """As much of a head as drawing and framing ask for: its `key` and `shape_key`, vertices (V,3) mm and
    region_weights (V,15) of the regions by which it is framed; no faces and no planes."""

    key: str
    shape_key: str
    vertices: np.ndarray
    region_weights: np.ndarray
    display: KeptMesh
    faces: np.ndarray
    planes: tuple = ()


@dataclass(frozen=True, eq=False)
class KeptPicture:
    """A head as the sitting's own eye saw it. `rotation (3,3)` turns the head into the room."""

    sitting: Sitting
    gaze: Gaze
    head: KeptHead
    rotation: np.ndarray
    looks: Appearance


def recall_picture(sitting: Sitting) -> KeptPicture | None:
    """The picture of a sitting from its own eye, as seen, with its marks; None where none is kept or it is broken."""
    key = picture_key(sitting)
    kept = None if key is None else cache.recall(_NAME + key)
    if kept is None:
        return None
    try:
        return _picture(sitting, key, kept)
    except (KeyError, ValueError, TypeError, IndexError):
        return None


def _picture(sitting: Sitting, key: str, kept: dict[str, np.ndarray]) -> KeptPicture:
    vertices, codes, faces = kept["vertices"], kept["codes"], kept["faces"]
    shown = KeptMesh(kept["shown"], faces)
    whole = (
        str(kept["key"]) == key
        and vertices.shape[1:] == shown.vertices.shape[1:] == faces.shape[1:] == (3,)
        and codes.shape == (len(shown.vertices), 4)
        and codes.dtype == np.uint8
        and faces.min() >= 0
        and faces.max() < len(codes)
        and kept["rotation"].shape == (3, 3)
    )
    if not whole:
        raise ValueError("this is not the picture that it is kept as")
    weights = np.zeros((len(vertices), len(REGIONS)), np.float32)
    for column, name in enumerate(_FRAMING):
        weights[:, REGIONS.index(name)] = kept["regions"][:, column]
    head = KeptHead(str(kept["head"]), str(kept["shape"]), vertices, weights, shown, np.zeros((0, 3), np.int32))
    words = replace(legend("as seen"), note=str(kept["note"]))
    return KeptPicture(sitting, gaze_of(sitting), head, kept["rotation"], Appearance(words, of_vertex=codes))


def keep_picture(lit, looks: Appearance) -> None:
    """Keep how an exactly lit head looks, as seen and with its marks, from its sitting's own eye."""
    head = lit.head
    if len(head.display.vertices) > LARGEST or lit.gaze != gaze_of(lit.sitting) or not lit.exact:
        return
    key = None if cache.cache_folder() is None else picture_key(lit.sitting)
    if key is None:
        return
    known = recall_picture(lit.sitting) if cache.holds(_NAME + key) else None
    if known is not None and np.array_equal(known.looks.of_vertex, looks.of_vertex):
        _touch(_NAME + key)
        return
    cache.remember(
        _NAME + key,
        {
            "key": np.array(key),
            "head": np.array(head.key),
            "shape": np.array(head.shape_key),
            "vertices": head.vertices,
            "regions": head.region_weights[:, [REGIONS.index(name) for name in _FRAMING]],
            "shown": head.display.vertices.astype(np.float32),
            "faces": head.display.faces.astype(np.int32),
            "codes": looks.of_vertex,
            "rotation": lit.scene.rotation,
            "note": np.array(looks.legend.note),
        },
    )
    _make_room()


def _touch(name: str) -> None:
    """It was looked at just now."""
    with suppress(OSError):
        os.utime(cache.cache_folder() / f"{name}.npz")


def _make_room() -> None:
    with suppress(OSError):
        files = sorted(cache.cache_folder().glob(f"{_NAME}*.npz"), key=lambda file: file.stat().st_mtime, reverse=True)
        for file in files[MOST_KEPT:]:
            file.unlink(missing_ok=True)
