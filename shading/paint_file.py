"""Files of the painter's own tubes: TOML, with one sample for each swatch. For instance

    format = "sitterlight-paint/1"
    name = "my red earth"
    pigment = "PR102"              # optional
    white = "PW6"                  # what the tints were made with; a paint of the library
    caution = ""                   # optional: lead, cadmium, cobalt, … or words of one's own

    [[sample]]
    paint = 1                      # parts by volume
    white = 0
    reflectance = "masstone.csv"   # or: colour = {Lab = [36, 26, 24], light = "D65"}
    sheen_included = true          # of a measured spectrum

where colour may also be {munsell = "10R 4/6"} or {srgb = "#8a5a3c"}.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import tomli_w
from numpy.typing import NDArray

from sitterlight.illuminants.files import read_spectrum_csv
from sitterlight.illuminants.grid import on_grid
from sitterlight.shading.atomic import write_text
from sitterlight.shading.colour_spaces import XYZ_from_hex, XYZ_from_Lab
from sitterlight.shading.file_names import relative_name
from sitterlight.shading.own_paint import OwnPaint, Sample, paint_from_samples
from sitterlight.shading.paint_optics import SURFACE_OUTSIDE
from sitterlight.shading.paints import PaintError, paint
from sitterlight.shading.sitting_rules import check_is_here, shown
from sitterlight.shading.smooth_reflectance import smooth_reflectance
from sitterlight.shading.toml_file import read_toml

FORMAT = "sitterlight-paint/1"

_COLOUR_ERROR = 0.02
_KEYS = {"format", "name", "pigment", "white", "caution", "sample"}
_OPTIONAL = {"pigment": "", "white": "PW6", "caution": ""}
_SAMPLE_KEYS = {"paint", "white", "reflectance", "sheen_included", "colour"}


def read_paint_file(path: str | Path) -> OwnPaint:
    """The paint that a file describes. Raises PaintError with one sentence that begins with the file's name."""
    path = Path(path)
    try:
        return paint_of_table(_parsed(path), path.parent)
    except ValueError as error:
        text = str(error)
        raise PaintError(text if text.startswith(str(path)) else f"{path}: {text}") from None


def paint_of_table(given: dict, folder: str | Path) -> OwnPaint:
    """The paint that the table of a file describes, its spectra relative to `folder`. ValueError, one sentence."""
    _check_format(given)
    _only(given, _KEYS, "the file")
    name = _text(given, "name")
    pigment, white, caution = (_text(given, key, other) for key, other in _OPTIONAL.items())
    entries = given.get("sample")
    if not isinstance(entries, list) or not 1 <= len(entries) <= 20:
        raise PaintError("sample must stand 1 to 20 times, as [[sample]].")
    samples = [_sample(entry, number, Path(folder)) for number, entry in enumerate(entries, 1)]
    id = f"{pigment} {name}" if pigment else name
    return paint_from_samples(samples, paint(white), name, id, caution)


def write_paint_file(given: dict, path: str | Path) -> None:
    """Write the table of a paint, whole or not at all, its spectra relative to the new file.

    Raises ValueError for a table that could not be read back, OSError where the file cannot be written.
    """
    path = Path(path).absolute()
    samples = [dict(sample) for sample in given["sample"]]
    for sample in samples:
        if "reflectance" in sample:
            sample["reflectance"] = relative_name(Path(sample["reflectance"]).absolute(), path.parent)
    table = {**given, "sample": samples}
    paint_of_table(table, path.parent)
    write_text(path, tomli_w.dumps(table))


def colour_table(text: str) -> dict:
    """A colour as a file has it, from Munsell ("10R 4/6"), "Lab 36 26 24" (D65) or "#8a5a3c". Raises ValueError for
    anything else."""
    from sitterlight.shading.mix import Lab_of

    text = text.strip()
    Lab = Lab_of(text)
    if text.startswith("#"):
        return {"srgb": text}
    if text.lower().startswith("lab"):
        return {"Lab": [float(v) for v in Lab], "light": "D65"}
    return {"munsell": text}


def describe_paint_file(path: str | Path) -> str:
    """One line about a paint file: whose paint, from what, how sure. Raises PaintError for a bad one."""
    own = read_paint_file(path)
    return (
        f'a paint, "{own.paint.id}", from {own.paint.origin.removeprefix("own measurements ").strip("()")}. {own.why}'
    )


def _parsed(path: Path) -> dict:
    try:
        return read_toml(path, empty="is empty; a paint file names its paint and its swatches")
    except ValueError as error:
        raise PaintError(f"{error}.") from None


def _check_format(given: dict) -> None:
    """A file that is no paint is told nothing else about, so that none of its words are repeated."""
    written = given.get("format")
    if written == FORMAT:
        return
    if isinstance(written, str) and re.fullmatch(r"sitterlight-paint/([2-9]|[1-9][0-9]{1,5})", written):
        raise PaintError(f'format is "{written}", from a newer Sitterlight; update this one, which reads "{FORMAT}".')
    raise PaintError(f'is not a paint file, which begins with format = "{FORMAT}".')


def _only(given: dict, known: set[str], where: str) -> None:
    for key in given:
        if key not in known:
            raise PaintError(f"{shown(key)} is not a key of {where}; allowed are {', '.join(sorted(known))}.")


def _text(given: dict, key: str, default: str | None = None) -> str:
    """One line of text under `key`; where there is a default it may be missing or empty."""
    value = given.get(key, default)
    fits = isinstance(value, str) and len(value) <= 100 and value.isprintable()
    if not fits or (not value.strip() and default is None):
        raise PaintError(f"{key} is {shown(value)}; it must be a text of 1 to 100 letters.")
    return value.strip() or default


def _amount(given: dict, key: str, where: str) -> float:
    value = given.get(key, 0)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1e4:
        raise PaintError(f"{key} in {where} is {shown(value)}; it must be a number of parts from 0 to 10000.")
    return float(value)


def _sample(given: object, number: int, folder: Path) -> Sample:
    where = f"sample {number}"
    if not isinstance(given, dict):
        raise PaintError(f"{where} must be a table.")
    _only(given, _SAMPLE_KEYS, where)
    amounts = {key: _amount(given, key, where) for key in ("paint", "white")}
    if not amounts["paint"]:
        raise PaintError(f"{where} has no paint in it; give parts of paint above 0.")
    if ("reflectance" in given) == ("colour" in given):
        raise PaintError(f"{where} must have either reflectance, a CSV file, or colour.")
    if "colour" in given:
        return Sample(**amounts, reflectance=_of_colour(given["colour"], where), error=_COLOUR_ERROR)
    sheen = given.get("sheen_included", True)
    if not isinstance(sheen, bool):
        raise PaintError(f"sheen_included in {where} is {shown(sheen)}; it must be true or false.")
    name = _text(given, "reflectance")
    check_is_here(name, f"reflectance in {where}")
    path = folder / name
    seen = on_grid(*read_spectrum_csv(path, "reflectance"), f"{where}: {path}")
    return Sample(**amounts, reflectance=np.maximum(seen - SURFACE_OUTSIDE * sheen, 0.0))


def _of_colour(given: object, where: str) -> NDArray[np.floating]:
    """The smoothest reflectance of a colour: Lab with its light, Munsell, or sRGB."""
    if not isinstance(given, dict) or len({"Lab", "munsell", "srgb"} & set(given)) != 1:
        raise PaintError(
            f'colour in {where} must be {{Lab = […], light = "D65"}}, {{munsell = "…"}} or {{srgb = "#…"}}.'
        )
    _only(given, {"Lab", "light", "munsell", "srgb"}, f"colour in {where}")
    if "srgb" in given:
        return smooth_reflectance(XYZ_from_hex(_text(given, "srgb")))
    if "munsell" in given:
        from sitterlight.shading.munsell import XYZ_from_munsell

        return smooth_reflectance(XYZ_from_munsell(_text(given, "munsell")))
    Lab = given["Lab"]
    numbers = isinstance(Lab, list) and all(isinstance(v, int | float) and abs(v) <= 200 for v in Lab)
    if not numbers or len(Lab) != 3:
        raise PaintError(f"Lab in {where} is {shown(Lab)}; it must be three numbers.")
    return smooth_reflectance(XYZ_from_Lab(np.array(Lab, float)), _text(given, "light", "D65"))
