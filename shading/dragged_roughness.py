"""Roughness while it is dragged: bodies as they were last worked out, with the sheen of the roughness wanted.

Another roughness spreads the sheen otherwise, which is what is seen of it; what bodies get and give each other hardly
changes. So the lights' own sheen is worked out anew, and the rest is that of a roughness known already. A sky's is the
known one and what fewer facets tell of the change; other skin is mirrored where it was, as much more or less as all is.
Until the exact picture follows.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sitterlight.illuminants.observer import tristimulus
from sitterlight.shading import sheen
from sitterlight.shading.frame import Gaze
from sitterlight.shading.geometry import Look
from sitterlight.shading.glance import Glance, seen_XYZ
from sitterlight.shading.irradiance import MOST_MIRRORED, SHEEN_NODES, Gloss
from sitterlight.shading.matrix import Rows
from sitterlight.shading.memory import Memory
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sources import Patch
from sitterlight.shading.staging import Setup, surface_of
from sitterlight.shading.surface import directional_albedo, mean_albedo

_RESOLUTION, _FACETS = 32, 64
"""How fine a sky is mirrored, and by how many facets, while roughness is dragged."""


def rough_glance(sitting: Sitting, known: float, gaze: Gaze | None = None) -> Glance:
    """A sitting as it looks, nearly; `known` is the roughness that it was lit with exactly. ValueError as `glance`."""
    setup = Setup.of(replace(sitting, skin=replace(sitting.skin, roughness=known)), gaze=gaze, coarse=True)
    before, wanted = (blended_gloss(setup.head, *surface_of(one)) for one in (setup.sitting, sitting))
    rough = replace(setup, look=_with_sheen_of(setup, before, wanted))
    observer = sitting.eye.observer
    cards = (tristimulus(setup.card, each) / np.pi for each in (observer, 2))
    return Glance(sitting, setup.head, seen_XYZ(rough, observer), *cards, setup.eye, setup.stage.rotation)


def blended_gloss(head, roughness: np.ndarray, oil: np.ndarray) -> Gloss:
    """The gloss of a head from `roughness (R,)` and `oil (R,)` of its regions, each region's albedo blended: at once,
    and as `Gloss.of` but for places between regions."""
    albedo = directional_albedo(roughness[:, None], np.linspace(0, 1, SHEEN_NODES + 1))
    oil = np.minimum(oil, MOST_MIRRORED / albedo.max(axis=1))
    surface = roughness, oil, oil[:, None] * albedo, oil * mean_albedo(roughness)
    weights = np.asarray(head.region_weights, np.float32)
    return Gloss(*(np.ascontiguousarray(weights @ each.astype(np.float32)) for each in surface))


def _with_sheen_of(setup: Setup, before: Gloss, gloss: Gloss) -> Look:
    """The look of a setup, whose gloss was the one `before`, with the sheen of another."""
    stage, look, eye = setup.stage, setup.look, setup.eye
    about = setup.head, gloss, eye, look.sees
    placed = [stage.place_of(source) for source in setup.sources]
    skies = iter(_sky_changes(setup, before, gloss))
    mirrored = [
        sheen.mirrored_patch(*about, place, stage.shadows(place))
        if isinstance(place, Patch)
        else np.maximum(known + next(skies), np.minimum(known, 0))  # beyond the edge of sight it runs on below nothing
        for place, known in zip(placed, look.sheens, strict=True)
    ]
    cosine = stage.facing(eye)
    new, old = gloss.sheen_at(cosine), before.sheen_at(cosine)
    leaving, times = (1 - new) / (1 - old), np.divide(new, old, out=np.ones_like(old), where=old > 0)
    toward = np.where(look.toward_eye == 1, 1, look.toward_eye * leaving[:, None]).astype(np.float32)
    rows = look.skin
    skin = Rows(rows.start, rows.column, rows.weight * np.repeat(times, np.diff(rows.start)).astype(np.float32))
    glinted = tuple(glints * times[:, None].astype(np.float32) for glints in look.glinted)
    return replace(look, sheens=tuple(mirrored), toward_eye=toward, glinted=glinted, skin=skin)


def _sky_changes(setup: Setup, before: Gloss, gloss: Gloss) -> list[np.ndarray]:
    """How the sheen (V,K) of each dome changes, in their order."""
    if all(isinstance(source, Patch) for source in setup.sources):
        return []
    domes = [source for source in setup.sources if not isinstance(source, Patch)]
    cells = [dome.cells(_RESOLUTION, setup.stage.rotation) for dome in domes]
    joined, look = np.concatenate(cells, axis=1), setup.look

    def by_few(gloss: Gloss) -> np.ndarray:
        about = setup.head, setup.stage.transfer, gloss, setup.eye, look.sees
        return sheen.mirrored_domes(*about, joined, _FACETS)[0]

    _, known = _known.of(id(look), lambda: (look, by_few(before)))
    return np.split(by_few(gloss) - known, np.cumsum([each.shape[1] for each in cells])[:-1], axis=1)


_known = Memory(1)
"""The sheen of skies by few facets for the look that stands in, which is kept so that no other has its number."""
