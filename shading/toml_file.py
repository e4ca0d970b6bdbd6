"""TOML files that people bring: read within bounds, and refused in one sentence."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from sitterlight.illuminants.files import read_bytes

LARGEST_FILE = 128 * 1024
"""Bytes. A sitting with fifty lights has about 10 000."""

_LONG_KEY = re.compile(r"""(?<![\w-])(?:(?:"[^"\n]*+"|'[^'\n]*+'|[\w-]++)[ \t]*+\.[ \t]*+){20}""")
"""A key of very many parts, for which the reader of TOML would take memory with the square of their number."""


def read_toml(path: Path, empty: str = 'is empty; a sitting begins with format = "sitterlight/1"') -> dict:
    """The tables of a TOML file; `empty` says what is wrong with one that holds nothing.

    ValueError, one sentence without the file's name, where it cannot be read.
    """
    raw = read_bytes(path, LARGEST_FILE)
    if len(raw) > LARGEST_FILE:
        raise ValueError(f"is larger than the {LARGEST_FILE // 1024} kB that such a file may have")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise ValueError(f"is not UTF-8 text (byte {error.start + 1}, line {line}); save it as UTF-8") from None
    if not text.strip():
        raise ValueError(empty)
    if _LONG_KEY.search(text):
        raise ValueError("holds a name of more than 20 parts with dots between; no key has so many")
    return _parsed(text)


def _parsed(text: str) -> dict:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"is not TOML: {_one_line(error)}") from None
    except (ValueError, OverflowError, RecursionError) as error:
        raise ValueError(f"holds a value too long or too deep to read: {_one_line(error)}") from None


def _one_line(error: Exception) -> str:
    first = str(error).split(";")[0][:100].rstrip(".")
    return "".join(character if character.isprintable() else "\N{REPLACEMENT CHARACTER}" for character in first)
