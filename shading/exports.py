"""Everything a study can leave with, by name: the window and `study` write by the same functions."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING

from sitterlight.shading.atomic import write_bytes
from sitterlight.shading.progress import Progress, part, tell
from sitterlight.shading.study_pieces import ALL, MAPS, PICTURE, PLAN, SHEET, TABLE, seconds_left, work_out

if TYPE_CHECKING:
    from sitterlight.shading.study import Study


@dataclass(frozen=True)
class Export:
    """A kind of file: its `name`, what it is in `words`, the `ending` of its name, the pieces of the study that it
    `needs`, and what makes its content of them, in `seconds` on the bust, roughly."""

    name: str
    words: str
    ending: str
    needs: tuple[str, ...]
    content: Callable[..., bytes]
    seconds: float = 0.3
    tells: bool = False
    """Whether `content` takes who is told how far it is."""


def _by(module: str, function: str) -> Callable:
    """A function of another module, loaded when it is called: a menu needs only the words."""
    return lambda *given: getattr(import_module(f"sitterlight.shading.{module}"), function)(*given)


pdf_bytes, png_of_pdf = _by("page_pdf", "pdf_bytes"), _by("page_pdf", "png_of_pdf")
svg_text, png_bytes = _by("page_svg", "svg_text"), _by("png", "png_bytes")
csv_text, json_text = _by("results", "csv_text"), _by("results", "json_text")
picture_png, openraster = _by("export_picture", "picture_png"), _by("export_openraster", "openraster")
swatches_svg, swatches_png = _by("export_swatches", "swatches_svg"), _by("export_swatches", "swatches_png")
mesh_ply, mesh_glb = _by("export_mesh", "mesh_ply"), _by("export_mesh", "mesh_glb")

_ALL = (
    Export("sheet", "Plane sheet and mixing plan, PDF", ".pdf", ALL, lambda s: pdf_bytes(*s.pages)),
    Export("sheet-picture", "Plane sheet, PNG", ".png", SHEET, lambda s: png_of_pdf(pdf_bytes(s.sheet))),
    Export("sheet-drawing", "Plane sheet, SVG", ".svg", SHEET, lambda s: svg_text(s.sheet).encode()),
    Export("plan-picture", "Mixing plan, PNG", ".png", PLAN, lambda s: png_of_pdf(pdf_bytes(s.plan_page))),
    Export("table", "Targets as a table, CSV", ".csv", TABLE, lambda s: csv_text(s.table).encode()),
    Export("data", "Targets as data, JSON", ".json", TABLE, lambda s: json_text(s.table).encode()),
    Export("picture", "The head, PNG in sRGB", ".png", PICTURE, picture_png),
    Export("picture-p3", "The head, PNG in Display P3", ".png", PICTURE, lambda s: picture_png(s, "Display P3")),
    Export(
        "notes",
        "Head and maps, PNG",
        ".png",
        (*TABLE, *PICTURE, *MAPS),
        lambda s: png_bytes(s.notes_panels(), s.scene.sitting.title),
    ),
    Export(
        "layers",
        "The head in layers, OpenRaster",
        ".ora",
        ("mixed", *PICTURE, *MAPS),
        openraster,
        seconds=3.8,
        tells=True,
    ),
    Export("swatches", "Swatches, SVG", ".svg", TABLE, lambda s: swatches_svg(s.table).encode()),
    Export("swatches-picture", "Swatches, PNG", ".png", TABLE, lambda s: swatches_png(s.table)),
    Export("mesh-ply", "The lit head, PLY", ".ply", ("seen",), mesh_ply),
    Export("mesh-glb", "The lit head, GLB", ".glb", ("seen",), mesh_glb),
)
EXPORTS = {export.name: export for export in _ALL}


def export(study: Study, name: str, path: str | os.PathLike[str], progress: Progress | None = None) -> None:
    """Write one of EXPORTS to `path`, whole or not at all.

    `progress` is told the share done, 0 to 1; what it raises ends the work, and nothing is written. ValueError for
    another name, OSError where the file cannot be written.
    """
    if name not in EXPORTS:
        raise ValueError(f'"{name}" is nothing to export; there are {", ".join(EXPORTS)}.')
    write_bytes(path, content_of(study, EXPORTS[name], progress))


def content_of(study: Study, kind: Export, progress: Progress | None = None) -> bytes:
    """What a file of this kind holds; `progress` as for `export`."""
    pieces = seconds_left(study, kind.needs)
    share = pieces / (pieces + kind.seconds)
    work_out(study, kind.needs, part(progress, 0.0, share))
    content = kind.content(study, part(progress, share, 1.0)) if kind.tells else kind.content(study)
    tell(progress, 1.0)
    return content
