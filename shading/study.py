"""A study: from a sitting to all its files, on any machine, without a screen."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np

from sitterlight.shading import picture as pictures
from sitterlight.shading.atomic import write_files
from sitterlight.shading.colour_spaces import into_sRGB
from sitterlight.shading.eye import Eye
from sitterlight.shading.keying import resolve_eye
from sitterlight.shading.legends import Legend, legend, panels
from sitterlight.shading.maps import Scale, SkinField, greying_scale, map_picture, note_scale, skin_field
from sitterlight.shading.mixing_plan import MixingPlan, mixing_plan
from sitterlight.shading.notes import notes_of
from sitterlight.shading.page import Page
from sitterlight.shading.page_pdf import pdf_bytes, png_of_pdf
from sitterlight.shading.picture import Film
from sitterlight.shading.plane_recipes import MixedHead, mixed_head
from sitterlight.shading.png import png_bytes
from sitterlight.shading.progress import Progress, part, tell
from sitterlight.shading.results import csv_text, json_text, plain, targets_table
from sitterlight.shading.scene import Scene, light_scene
from sitterlight.shading.sheet import SheetPictures, plane_sheet
from sitterlight.shading.sheet_facts import LEAST_NOTE, light_lines
from sitterlight.shading.sheet_plan import plan_page
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sitting_file import moved_to, to_toml
from sitterlight.shading.study_pieces import ALL, work_out
from sitterlight.shading.targets import PlaneRow, plane_rows
from sitterlight.shading.view import View, portrait_view

SIZE = (1280, 1600)
"""Width and height of `head.png` in pixels; the pictures in `notes.png` are half as large."""

FILES = ("sitting.toml", "head.png", "notes.png", "targets.csv", "targets.json", "sheet.pdf", "sheet.png")

LIGHT_SHARE, PIECES_SHARE = 0.55, 0.85
"""How far a study is when it is lit, and when all its pieces are there, as `progress` is told."""


@dataclass(frozen=True)
class Study:
    """A lit scene with everything that is told of it; each piece is worked out when it is first asked for.

    chosen: the number of the plane whose strings are shown; without it, or where the head has fewer planes, the one
    that says most of the head.
    """

    scene: Scene
    eye: Eye
    chosen: int | None = None

    def about(self, chosen: int | None) -> Study:
        """The same study with the strings of another plane; nothing else is worked out anew."""
        other = replace(self, chosen=chosen)
        kept = {name: value for name, value in vars(self).items() if name not in ("chosen", "plan_page")}
        vars(other).update(kept)
        return other

    @cached_property
    def mixed(self) -> MixedHead:
        """A row for every plane, with a recipe from the sitting's palette for each of its targets."""
        return mixed_head(plane_rows(self.scene, self.eye), self.scene.sitting)

    @property
    def rows(self) -> list[PlaneRow]:
        """The rows, their targets with recipes."""
        return self.mixed.mixed_rows

    @cached_property
    def plan(self) -> MixingPlan:
        """Which piles to mix for the whole head, and how much of each."""
        return mixing_plan(self.mixed.rows, self.mixed.recipes, self.scene.sitting, self.mixed.wish.base)

    @cached_property
    def table(self) -> dict:
        """What `targets.json` holds."""
        return targets_table(self.scene, self.rows) | {"mixing_plan": plain(self.plan.as_dict())}

    @cached_property
    def view(self) -> View:
        """The portrait from the sitting's eye."""
        return portrait_view(self.scene.head, self.scene.eye_position, self.scene.rotation, SIZE)

    @cached_property
    def film(self) -> Film:
        """What the pixels of the portrait see."""
        return pictures.expose(self.scene.head.display, self.view)

    def expose(self, progress: Progress | None = None) -> None:
        """Work out the film, with the share of its rays told."""
        if "film" not in vars(self):
            vars(self)["film"] = pictures.expose(self.scene.head.display, self.view, progress=progress)

    @cached_property
    def seen(self) -> np.ndarray:
        """Linear sRGB (D,3) of the head as seen, inside the screen's gamut, at the vertices of the display mesh."""
        XYZ = self.scene.display_XYZ
        return into_sRGB(self.eye.screen_XYZ(XYZ))

    @cached_property
    def notes(self) -> SkinField:
        """Skylight notes over the skin."""
        values = notes_of(self.scene).skylight_note(self.scene.XYZ, self.scene.XYZ_neutral)
        return skin_field(self.scene.head, values, self.scene.eye_position)

    @cached_property
    def greying(self) -> SkinField:
        """Greying over the skin."""
        values = notes_of(self.scene).greying(self.scene.XYZ, self.scene.own_XYZ)
        return skin_field(self.scene.head, values, self.scene.eye_position)

    @cached_property
    def head_picture(self) -> np.ndarray:
        """The head as seen, (H,W,3) uint8."""
        return pictures.develop(self.film, self.seen)

    @cached_property
    def note_picture(self) -> np.ndarray:
        """The map of skylight notes, (H,W,3) uint8."""
        return map_picture(self.film, self.notes, self.note_scale)

    @cached_property
    def greying_picture(self) -> np.ndarray:
        """The map of greying, (H,W,3) uint8."""
        return map_picture(self.film, self.greying, greying_scale())

    @cached_property
    def planes_picture(self) -> np.ndarray:
        """Each plane in its own flat colour, (H,W,3) uint8."""
        codes = [row.srgb for row in self.rows]
        return pictures.plane_picture(self.film, self.scene.head.display, codes, self.seen)

    @cached_property
    def note_scale(self) -> Scale:
        """The scale of notes that fits the skin."""
        return note_scale(self.notes.told)

    @cached_property
    def legends(self) -> tuple[Legend, Legend, Legend]:
        """As seen, skylight notes, greying."""
        has_grey = bool((self.notes.skin < 0.5).any())
        scales = ("skylight notes", self.note_scale), ("greying", greying_scale())
        return legend("as seen"), *(legend(view, scale, has_grey) for view, scale in scales)

    @cached_property
    def sheet(self) -> Page:
        """The plane sheet; where no note is as strong as LEAST_NOTE it shows the map of greying, else of notes."""
        _, of_notes, of_greying = self.legends
        notable = np.abs(self.notes.told).max(initial=0) >= LEAST_NOTE
        chosen = (self.note_picture, of_notes) if notable else (self.greying_picture, of_greying)
        small = pictures.halved(self.head_picture), pictures.halved(chosen[0])
        return plane_sheet(self.table, SheetPictures(*small, chosen[1]), self.eye.adaptation)

    @cached_property
    def plan_page(self) -> Page:
        """The mixing plan, and the strings of the chosen plane or of the one that says most of the head."""
        rows = self.mixed.rows
        row = rows[self.chosen] if self.chosen is not None and self.chosen < len(rows) else None
        return plan_page(self.scene.sitting.title, self.plan, self.mixed, row)

    @property
    def pages(self) -> tuple[Page, ...]:
        """What is printed: the plane sheet, and the mixing plan where there is anything to mix."""
        return (self.sheet, self.plan_page) if self.plan.piles else (self.sheet,)

    def notes_panels(self):
        """`notes.png` as a Pillow image."""
        three = [pictures.halved(one) for one in (self.head_picture, self.note_picture, self.greying_picture)]
        return panels(self.scene.sitting.title, three, list(self.legends), light_lines(self.table))


def study_of(sitting: Sitting, progress: Progress | None = None) -> Study:
    """The study of a sitting. ValueError, in one sentence, where the sitting cannot be lit."""
    scene = light_scene(sitting, progress=progress)
    return Study(scene, resolve_eye(scene))


def study(sitting: Sitting, folder: str | os.PathLike[str], progress: Progress | None = None) -> dict[str, Path]:
    """Compute a sitting and write FILES into `folder`, all or none; their paths by name come back.

    `progress` is told the share done, 0 to 1; what it raises ends the work, and nothing is written. ValueError where
    the sitting cannot be lit, OSError where the folder cannot be written.
    """
    found = study_of(sitting, part(progress, 0.0, LIGHT_SHARE))
    return write_study(found, folder, part(progress, LIGHT_SHARE, 1.0))


def write_study(found: Study, folder: str | os.PathLike[str], progress: Progress | None = None) -> dict[str, Path]:
    """Write FILES of a study into `folder`, all or none, as `study`."""
    return write_files(folder, file_contents(found, Path(folder), progress), progress)


def file_contents(found: Study, folder: Path, progress: Progress | None = None) -> dict[str, bytes]:
    """The content of each of FILES as it has to be written in `folder`."""
    work_out(found, ALL, part(progress, 0.0, PIECES_SHARE))
    sitting, contents = found.scene.sitting, {}
    makers: dict[str, Callable[[], bytes]] = {
        "sitting.toml": lambda: to_toml(moved_to(sitting, folder.absolute())).encode(),
        "head.png": lambda: png_bytes(found.head_picture, sitting.title),
        "notes.png": lambda: png_bytes(found.notes_panels(), sitting.title),
        "targets.csv": lambda: csv_text(found.table).encode(),
        "targets.json": lambda: json_text(found.table).encode(),
        "sheet.pdf": lambda: pdf_bytes(*found.pages),
        "sheet.png": lambda: png_of_pdf(contents["sheet.pdf"]),
    }
    for number, (name, content) in enumerate(makers.items()):
        tell(progress, PIECES_SHARE + (1 - PIECES_SHARE) * number / len(makers))
        contents[name] = content()
    return contents
