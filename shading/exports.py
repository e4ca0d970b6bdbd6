"""Everything a study can leave with, by name: the window and `study` write by the same functions."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass

from sitterlight.shading.atomic import write_bytes
from sitterlight.shading.export_mesh import mesh_glb, mesh_ply
from sitterlight.shading.export_openraster import openraster
from sitterlight.shading.export_picture import picture_png
from sitterlight.shading.export_swatches import swatches_png, swatches_svg
from sitterlight.shading.page_pdf import pdf_bytes, png_of_pdf
from sitterlight.shading.page_svg import svg_text
from sitterlight.shading.png import png_bytes
from sitterlight.shading.results import csv_text, json_text
from sitterlight.shading.study import Study


@dataclass(frozen=True)
class Export:
    """A kind of file: its `name`, what it is in `words`, the `ending` of its name, and what makes its content."""

    name: str
    words: str
    ending: str
    content: Callable[[Study], bytes]


_ALL = (
    Export("sheet", "Plane sheet and mixing plan, PDF", ".pdf", lambda s: pdf_bytes(*s.pages)),
    Export("sheet-picture", "Plane sheet, PNG", ".png", lambda s: png_of_pdf(pdf_bytes(s.sheet))),
    Export("sheet-drawing", "Plane sheet, SVG", ".svg", lambda s: svg_text(s.sheet).encode()),
    Export("plan-picture", "Mixing plan, PNG", ".png", lambda s: png_of_pdf(pdf_bytes(s.plan_page))),
    Export("table", "Targets as a table, CSV", ".csv", lambda s: csv_text(s.table).encode()),
    Export("data", "Targets as data, JSON", ".json", lambda s: json_text(s.table).encode()),
    Export("picture", "The head, PNG in sRGB", ".png", picture_png),
    Export("picture-p3", "The head, PNG in Display P3", ".png", lambda s: picture_png(s, "Display P3")),
    Export("notes", "Head and maps, PNG", ".png", lambda s: png_bytes(s.notes_panels(), s.scene.sitting.title)),
    Export("layers", "The head in layers, OpenRaster", ".ora", openraster),
    Export("swatches", "Swatches, SVG", ".svg", lambda s: swatches_svg(s.table).encode()),
    Export("swatches-picture", "Swatches, PNG", ".png", lambda s: swatches_png(s.table)),
    Export("mesh-ply", "The lit head, PLY", ".ply", mesh_ply),
    Export("mesh-glb", "The lit head, GLB", ".glb", mesh_glb),
)
EXPORTS = {export.name: export for export in _ALL}


def export(study: Study, name: str, path: str | os.PathLike[str]) -> None:
    """Write one of EXPORTS to `path`, whole or not at all. ValueError for another name, OSError where it cannot."""
    if name not in EXPORTS:
        raise ValueError(f'"{name}" is nothing to export; there are {", ".join(EXPORTS)}.')
    write_bytes(path, EXPORTS[name].content(study))
