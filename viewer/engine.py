"""From a state to a lit head, ready for the screen: the only place of the window that asks for a calculation."""

from __future__ import annotations

import threading
from collections import OrderedDict
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from sitterlight.meshes.head import Head
from sitterlight.meshes.library import load_head
from sitterlight.shading.colour_spaces import XYZ_from_Lab
from sitterlight.shading.dragged_roughness import rough_glance
from sitterlight.shading.eye import Eye, Key
from sitterlight.shading.frame import Gaze, gaze_of
from sitterlight.shading.glance import glance, screen_codes
from sitterlight.shading.keying import eye_of, resolve_eye
from sitterlight.shading.light_mix import LightMix, light_mix
from sitterlight.shading.mixing_plan import MixingPlan, mixing_plan
from sitterlight.shading.munsell import munsell_notations
from sitterlight.shading.notes import notes_of, vertex_notes
from sitterlight.shading.plane_recipes import MixedHead, mixed_head
from sitterlight.shading.progress import Progress
from sitterlight.shading.scene import Scene, light_scene
from sitterlight.shading.sitting import HeadSetting, Sitting
from sitterlight.shading.strokes import PlaneParts, part_planes, seen_light
from sitterlight.shading.targets import PlaneRow, plane_rows
from sitterlight.shading.transfer import is_remembered

NOT_YET = "The head is still being lit, and its planes are not known yet; ask again in a moment."
SCENES_KEPT = 6
_one_at_a_time = threading.RLock()
"""Held while anything is calculated: two threads that ask for the same head would work it out twice."""


@dataclass(frozen=True, eq=False)
class Lit:
    """A lit head as one gaze sees it. `exact` is False for a first picture in which nothing blocks light.

    `looks` remembers its appearances by view. What takes long is worked out in the background and remembered;
    `has(name)` tells the window, which must not wait, whether it is.
    """

    sitting: Sitting
    gaze: Gaze
    scene: Scene
    eye: Eye
    exact: bool
    looks: dict = field(default_factory=dict, repr=False)

    @property
    def head(self) -> Head:
        return self.scene.head

    def has(self, name: str) -> bool:
        """Whether "rows", "notes" and the like have been worked out."""
        return name in vars(self)

    @cached_property
    def XYZ(self) -> np.ndarray:
        """(V,3) cd/m², as the gaze sees it."""
        return self.scene.XYZ

    @cached_property
    def display_XYZ(self) -> np.ndarray:
        """(D,3) float32 cd/m² at the vertices of the display mesh."""
        return self.scene.display_XYZ

    @cached_property
    def notes(self) -> tuple[np.ndarray, np.ndarray]:
        """Skylight note and greying, (V,) each, NaN where there is no answer."""
        return vertex_notes(self.scene)

    @cached_property
    def share_above_white(self) -> float:
        """Share of the seen surface that lies above white paint."""
        area = self.head.vertex_area * self.scene.eye_sees
        return float(area @ self.eye.above_white(self.XYZ)) / max(float(area.sum()), 1e-9)

    @cached_property
    def toward_sky(self) -> np.ndarray:
        return notes_of(self.scene).toward_sky

    @cached_property
    def parted(self) -> tuple[PlaneParts, ...]:
        """The planes as strokes."""
        return part_planes(seen_light(self.scene), self.eye)

    @cached_property
    def rows(self) -> list[PlaneRow]:
        """A row for each plane of the head."""
        return plane_rows(self.scene, self.eye, self.parted)

    @cached_property
    def own_munsell(self) -> dict[tuple[float, float, float], str | None]:
        """The notation of the own colour of each plane and stroke, by its Lab; all sought at once."""
        own = list(dict.fromkeys(seen.own_Lab for row in self.rows for seen in (row, *row.targets)))
        return dict(zip(own, munsell_notations(XYZ_from_Lab(np.array(own).reshape(-1, 3))), strict=True))

    @cached_property
    def light_mix(self) -> LightMix:
        """What each light gives to card and head, and adds to each plane."""
        return light_mix(self.scene, self.eye, self.parted)

    @cached_property
    def mixed(self) -> MixedHead:
        """The rows with a recipe from the sitting's palette for each of their targets."""
        return mixed_head(self.rows, self.sitting)

    def mix(self, progress: Progress) -> MixedHead:
        """The same, told how far it is; what `progress` raises ends the work."""
        if not self.has("mixed"):
            vars(self)["mixed"] = mixed_head(self.rows, self.sitting, progress)
        return self.mixed

    @property
    def mixed_rows(self) -> list[PlaneRow]:
        """The rows, their targets with recipes."""
        return self.mixed.mixed_rows

    @cached_property
    def plan(self) -> MixingPlan:
        """Which piles to mix for the whole head."""
        return mixing_plan(self.rows, self.mixed.recipes, self.sitting, self.mixed.wish.base)


def head_of(setting: HeadSetting, folder=None) -> Head:
    """The head of a sitting, as its setting names it."""
    with _one_at_a_time:
        return load_head(setting.mesh, folder, setting.unit, setting.up, setting.front, setting.planes, setting.plane)


def head_at_once(sitting: Sitting, lit: Lit | None) -> Head:
    """The head of a sitting for the window, which must not wait: that of a `lit` sitting which has the same, else as
    its setting names it. ValueError, one sentence, where it is still to be lit, or cannot be read."""
    if lit is not None and (lit.sitting.head, lit.sitting.folder) == (sitting.head, sitting.folder):
        return lit.head
    if not _one_at_a_time.acquire(timeout=0.02):
        raise ValueError(NOT_YET)
    try:
        return head_of(sitting.head, sitting.folder)
    finally:
        _one_at_a_time.release()


def head_in_turn(sitting: Sitting, progress: Progress) -> Head:
    """The head of a sitting for a long work, which waits for what is being calculated; what `progress` raises
    meanwhile ends that."""
    while not _one_at_a_time.acquire(timeout=0.1):
        progress(0.0)
    try:
        return head_of(sitting.head, sitting.folder)
    finally:
        _one_at_a_time.release()


def is_prepared(sitting: Sitting) -> bool:
    """Whether no ray need be cast before this sitting's head can be lit exactly."""
    with _one_at_a_time:
        return is_remembered(head_of(sitting.head, sitting.folder))


def light(sitting: Sitting, gaze: Gaze | None = None, exact: bool = True, progress: Progress | None = None) -> Lit:
    """Light a sitting and look at it from `gaze`, or from where its own eye stands.

    The white card stays where the sitting's eye put it. Raises ValueError, one sentence, for a sitting that
    cannot be lit.
    """
    gaze = gaze or gaze_of(sitting)
    scene = _scene(sitting, gaze, exact, progress)
    return Lit(sitting, gaze, scene, resolve_eye(scene), exact)


def glimpse(sitting: Sitting, gaze: Gaze | None, key: Key, mark: bool) -> Glimpse:
    """The colours alone of a sitting as it will be seen, with the `key` that its eye was last found to have."""
    with _one_at_a_time:
        known = _known_roughness(sitting)
        seen = glance(sitting, gaze, coarse=True) if known is None else rough_glance(sitting, known, gaze)
    codes = screen_codes(seen.head, seen.XYZ, eye_of(seen).with_key(key))
    if not mark:
        codes[:, 3] = 255
    return Glimpse(sitting, seen.head, seen.rotation, codes)


@dataclass(frozen=True, eq=False)
class Glimpse:
    """What is shown while something is dragged: `codes (D,4)` of the display mesh, see glance.screen_codes."""

    sitting: Sitting
    head: Head
    rotation: np.ndarray
    codes: np.ndarray


_known: OrderedDict[tuple, Scene] = OrderedDict()


def _known_roughness(sitting: Sitting) -> float | None:
    """The roughness with which what is now dragged to another was last lit; None where its own is known or none is."""

    def surface(one: Sitting) -> tuple:
        return one.head, one.folder, one.lights, one.skin.oil, one.skin.regions, one.skin.under_skin

    alike = [one.skin.roughness for one, _, _, exact in list(_known) if exact and surface(one) == surface(sitting)]
    return None if not alike or sitting.skin.roughness in alike else alike[-1]


def _scene(sitting: Sitting, gaze: Gaze, exact: bool, progress: Progress | None) -> Scene:
    key = (sitting, sitting.folder, gaze, exact)
    with _one_at_a_time:
        scene = _known.pop(key, None)
        if scene is None:
            scene = light_scene(sitting, occlusion=exact, progress=progress, gaze=gaze)
        _known[key] = scene
        keep_only_the_last(SCENES_KEPT)
        return scene


def keep_only_the_last(count: int = 1) -> None:
    """Let go of the scenes that were asked for before the last few; at any moment, from any thread."""
    with suppress(KeyError):
        while len(_known) > count:
            _known.popitem(last=False)
