"""What the command line says on a terminal: sentences of one line, how far the work is."""

from __future__ import annotations

import sys
import unicodedata
from collections.abc import Callable, Iterable
from pathlib import Path

BAD = 2
"""Exit code of a bad request or file."""


def print_whatever_comes() -> None:
    """Let letters that the terminal lacks be written as codes instead of ending the program."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def say_written(files: Iterable[str], folder: Path) -> None:
    """Say which files are in the folder now."""
    print(printable(f"written to {folder}: {', '.join(files)}"))


def progress(what: str) -> Callable[[float], None] | None:
    """Shows the share done on a terminal; None where nobody looks."""
    if not sys.stderr.isatty():
        return None

    def show(share: float) -> None:
        line = f"{what}: {100 * share:.0f} %" if share < 1 else ""
        print(f"\r\033[K{line}", end="", file=sys.stderr, flush=True)

    return show


def refuse(words: str) -> int:
    """Say what is wrong in one line; the exit code."""
    print(printable(f"sitterlight: error: {words}"), file=sys.stderr)
    return BAD


def printable(text: str) -> str:
    """The text on one line: names of files may hold line breaks, and signs that would steer a terminal. Thin spaces,
    as between thousands, become plain ones."""
    return "".join(sign if sign.isprintable() else _instead(sign) for sign in _read_anew(text))


def _read_anew(text: str) -> str:
    """What a system set to a language of few letters handed over byte by byte, read as the letters that it is."""
    try:
        return text.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
    except UnicodeEncodeError:  # half a letter, from nowhere in particular
        return text


def _instead(sign: str) -> str:
    return " " if unicodedata.category(sign) == "Zs" else "\N{REPLACEMENT CHARACTER}"
