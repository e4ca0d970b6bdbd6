"""Second referee: the calculation itself with twice as much of everything.

Directions four times as many (twice as fine), vertices twice and, harder, four times as many (the display mesh),
bounces twice as many: no plane may change by ΔE00 0.2, as the eye of the sitting sees it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from unittest.mock import patch

import numpy as np

from sitterlight.meshes.head import Head, make_head
from sitterlight.meshes.library import load_head
from sitterlight.shading import geometry, transfer
from sitterlight.shading.bounce import BOUNCES
from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.keying import resolve_eye
from sitterlight.shading.scene import Scene, light_scene
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.strokes import part_planes, seen_light

from .doubled import doubled_bust
from .emitters import of_surfaces_alone

LARGEST_CHANGE = 0.2


@dataclass(frozen=True, eq=False)
class Change:
    """ΔE00 of every plane `(planes,)` when `what` is doubled; `hidden` planes are compared without sheen."""

    what: str
    delta: np.ndarray
    names: tuple[str, ...]


def plane_XYZ(scene: Scene) -> np.ndarray:
    """Mean scene XYZ (planes, 3) over what the eye sees of each plane; where it sees next to none, over the whole
    plane without sheen."""
    light = seen_light(scene)
    planes = part_planes(light, resolve_eye(scene))
    XYZ = [light.even if plane.hidden else light.XYZ for plane in planes]
    return np.stack([p.whole.weights @ X[p.whole.vertices] for p, X in zip(planes, XYZ, strict=True)])


_DOUBLED = ("directions", "vertices", "vertices again", "bounces")


def changes(sitting: Sitting, doubled: tuple[str, ...] = _DOUBLED) -> Iterator[Change]:
    """What each doubling changes, seen by the eye of the plain calculation."""
    sitting = of_surfaces_alone(sitting)
    plain = light_scene(sitting)
    eye, names = resolve_eye(plain), tuple(f"{plane.name} {plane.side}" for plane in plain.head.planes)
    before = eye.Lab(plane_XYZ(plain))
    for what in doubled:
        bounces = 2 * BOUNCES if what == "bounces" else BOUNCES
        with _finer(what):
            after = eye.Lab(plane_XYZ(light_scene(sitting, bounces=bounces)))
        yield Change(what, delta_E00(before, after), names)


@contextmanager
def _finer(what: str):
    """While it lasts, scenes are lit with finer directions or on a finer mesh."""
    if what == "directions":
        head = load_head()
        # Under a name of its own, so that nothing remembered of the plain one is taken for it.
        head = replace(head, shape_key=f"{head.shape_key} with finer directions")
        patches = [
            patch("sitterlight.shading.staging.head_of", lambda *_: head),
            patch.object(geometry, "transfer", _fine_transfer),
        ]
    elif what in ("vertices", "vertices again"):
        finer = doubled_bust if what == "vertices" else fine_bust
        patches = [patch("sitterlight.shading.staging.head_of", lambda *_: finer())]
    else:
        patches = []
    for each in patches:
        each.start()
    try:
        yield
    finally:
        for each in patches:
            each.stop()


_known: dict[str, transfer.Transfer] = {}


def _fine_transfer(head: Head, progress=None) -> transfer.Transfer:
    if head.key not in _known:
        _known[head.key] = transfer.cast_transfer(head, 2 * transfer.RESOLUTION, progress)
    return _known[head.key]


@lru_cache(maxsize=1)
def fine_bust() -> Head:
    """The bust calculated on its display mesh."""
    head = load_head()
    fine = head.display
    weights = (head.to_display @ head.region_weights).astype(np.float32)
    return make_head(
        "fine bust", fine.vertices, fine.faces, weights, head.planes, fine.plane_of_face, normals=fine.normals
    )
