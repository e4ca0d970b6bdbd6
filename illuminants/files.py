"""Reads spectra from CSV files that users bring: wavelength in nm, then a value."""

from __future__ import annotations

import math
import os
import re
import stat
from pathlib import Path

import numpy as np

from sitterlight.illuminants.system_words import system_words

LARGEST_FILE = 2_000_000
"""Bytes; a spectrum at 0.1 nm is a hundredth of this."""

LARGEST_VALUE = 1e305

# float() alone would take "nan", "inf" and "1_000".
_NUMBER = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?%?")
_BEGINS_A_NUMBER = re.compile(r"[\s\"']*[-+]?[\d.]")
_DECIMAL_COMMAS = re.compile(r"[-+]?\d+(,\d+)?\s+[-+]?\d+(,\d+)?([eE][-+]?\d+)?")

_UNSURE = 5.0
"""Up to here a reflectance above 1 may be one measured too bright, or that of a black in per cent."""

QUANTITIES = ("power", "reflectance")
ENDINGS = (".csv", ".tsv", ".txt")


def read_spectrum_csv(path: str | Path, quantity: str = "power") -> tuple[np.ndarray, np.ndarray]:
    """Wavelengths (N,) in nm, rising, and values (N,) from a CSV file.

    Two columns (further ones must be absent): separated by comma, semicolon, tab or spaces; a decimal comma
    is understood where the separator is another sign. Lines that start with # and heading lines are
    skipped; lines may come in falling order. `quantity` is "power" (any scale) or "reflectance" (0 to 1, or
    per cent where a value exceeds 5 or the heading says %).

    Raises ValueError, naming the file and the line, for anything else. As a sitting from elsewhere may name any
    file, only names that end as spectra do are opened, and no word of a file's content is ever repeated.
    """
    if quantity not in QUANTITIES:
        raise ValueError(f"quantity: {quantity!r} is not known; it must be one of {', '.join(QUANTITIES)}")
    path = Path(path)
    lines = _lines(_text(path), path)
    separator = _separator([line for _, line in lines])
    rows, heading = _rows(lines, separator, path)
    if len(rows) < 2:
        raise ValueError(f"{path}: holds {len(rows)} lines of numbers; a spectrum needs at least two")
    nm, values = np.array(rows).T
    if (np.diff(nm) < 0).all():
        nm, values = nm[::-1], values[::-1]
    _check(nm, values, path)
    if quantity == "reflectance":
        values = _as_fraction(values, heading, path)
    elif values.max() <= 0:
        raise ValueError(f"{path}: the spectrum is zero everywhere; a light needs some power")
    return nm.copy(), values.copy()


def read_bytes(path: Path, most: int) -> bytes:
    """The content of a plain file, at most one byte more than `most`; what is no file, as a pipe, is not waited for.

    Raises ValueError with what is wrong, without the file's name.
    """
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        handle = os.open(path, flags)
    except UnicodeEncodeError:
        raise ValueError(
            "cannot be read (the language that this terminal is set to has no such letters in names of files; set"
            " LC_ALL to C.UTF-8)"
        ) from None
    except OSError as error:
        raise ValueError(f"cannot be read ({system_words(error)})") from None
    except ValueError as error:  # a name with a zero byte
        raise ValueError(f"cannot be read ({error})") from None
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise ValueError("cannot be read (it is not a plain file but a folder, a pipe or a device)")
        with os.fdopen(os.dup(handle), "rb") as file:
            return file.read(most + 1)
    except OSError as error:
        raise ValueError(f"cannot be read ({system_words(error)})") from None
    finally:
        os.close(handle)


def is_file(path: Path) -> bool:
    """Whether there is a file; False, too, for a name that none can have."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _text(path: Path) -> str:
    """The file as text, or ValueError with the reason."""
    needed = "a CSV of wavelength in nm and value is needed"
    if path.suffix.lower() not in ENDINGS:
        raise ValueError(f"{path}: {needed}, with a name that ends in {', '.join(ENDINGS)}")
    try:
        data = read_bytes(path, LARGEST_FILE)
    except ValueError as error:
        raise ValueError(f"{path}: {error}; {needed}") from None
    if len(data) > LARGEST_FILE:
        raise ValueError(f"{path}: is too long; a spectrum file may have {LARGEST_FILE / 1e6:g} MB at most")
    text = _decoded(data)
    if re.search(r"[\0-\x08\x0e-\x1f]", text):
        raise ValueError(f"{path}: is not a text file; {needed}")
    return text


def _decoded(data: bytes) -> str:
    """Text in UTF-8 or UTF-16 with a mark, else in Latin-1, which takes any byte."""
    encoding = "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _lines(text: str, path: Path) -> list[tuple[int, str]]:
    """Numbered lines that hold something."""
    numbered = ((number, line.strip()) for number, line in enumerate(text.splitlines(), 1))
    kept = [(number, line) for number, line in numbered if line.strip(",;\t ") and not line.startswith("#")]
    if not kept:
        raise ValueError(f"{path}: is empty; a CSV of wavelength in nm and value is needed")
    return kept


def _separator(lines: list[str]) -> str:
    """The sign between columns: the first of ; tab and comma that every line of numbers has, else white
    space.
    """
    numbers = [line for line in lines if _BEGINS_A_NUMBER.match(line)]
    for sign in (";", "\t"):
        if numbers and all(sign in line for line in numbers):
            return sign
    # "380 0,5": the comma is a decimal sign there, not a separator.
    if numbers and all(_DECIMAL_COMMAS.fullmatch(line) for line in numbers):
        return " "
    return "," if any("," in line for line in numbers) else " "


def _rows(lines: list[tuple[int, str]], separator: str, path: Path) -> tuple[list[tuple[float, float]], str]:
    """Pairs of numbers, and the text before them ("" where there is none)."""
    rows: list[tuple[float, float]] = []
    heading = ""
    for number, line in lines:
        cells = line.split(None if separator == " " else separator)
        cells = [cell.strip().strip("\"'") for cell in cells]
        while len(cells) > 2 and not cells[-1]:
            cells.pop()
        numbers = [_number(cell, separator) for cell in cells]
        if not rows and numbers[0] is None:
            heading += line
            continue
        if len(cells) != 2:
            raise ValueError(
                f"{path}: line {number} has {_columns(len(cells))}; two are needed, wavelength in nm and value"
                + (" (a decimal comma needs a semicolon or tab between columns)" if separator == "," else "")
            )
        if None in numbers:
            which = ("wavelength", "value")[numbers.index(None)]
            raise ValueError(f"{path}: line {number}: the {which} is not a number such as 0.5, or too large for one")
        rows.append((numbers[0], numbers[1]))
    return rows, heading


def _columns(count: int) -> str:
    return "one column" if count == 1 else f"{count} columns"


def _number(cell: str, separator: str) -> float | None:
    """The cell as a finite number, or None."""
    if separator != "," and "." not in cell:
        cell = cell.replace(",", ".")
    if not _NUMBER.fullmatch(cell):
        return None
    value = float(cell.rstrip("%"))
    return value if math.isfinite(value) else None


def _check(nm: np.ndarray, values: np.ndarray, path: Path) -> None:
    """Raise ValueError for wavelengths that are not nm in one order, and for negative values."""
    steps = np.diff(nm)
    if (steps == 0).any():
        raise ValueError(f"{path}: the wavelength {nm[1:][steps == 0][0]:g} nm is given twice")
    if (steps < 0).any():
        raise ValueError(f"{path}: wavelengths must run in one order, but {nm[1:][steps < 0][0]:g} nm is out of it")
    if nm[-1] < 100:
        raise ValueError(f"{path}: wavelengths end at {nm[-1]:g}; they must be in nm, so 400 to 700 and more")
    if (values < 0).any():
        raise ValueError(f"{path}: the value at {nm[values < 0][0]:g} nm is negative; it must be 0 or more")
    if values.max() > LARGEST_VALUE or nm[-1] > LARGEST_VALUE:
        raise ValueError(f"{path}: a number in it is beyond {LARGEST_VALUE:g}, which cannot be reckoned with")


def _as_fraction(values: np.ndarray, heading: str, path: Path) -> np.ndarray:
    """Reflectance as 0 to 1."""
    highest = values.max()
    if "%" not in heading and 1 < highest <= _UNSURE:
        raise ValueError(
            f"{path}: reflectance reaches {highest:g}; it must be 0 to 1, or 0 to 100 in per cent with a % in"
            " the heading"
        )
    if "%" in heading or highest > 1:
        values = values / 100
    if values.max() > 1:
        raise ValueError(f"{path}: reflectance reaches {highest:g}; it must be 0 to 1, or 0 to 100 in per cent")
    return values
