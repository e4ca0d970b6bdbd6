"""The log: what a bug report needs, and nothing private. Without Qt.

It holds versions, the kind of machine, how long things took, and where in the program something went wrong. It holds no
path, no name of a file, user or sitting, and no word of a file: of an error its sort and the places in the code are
kept, and of its sentence what is neither a number, a quoted word nor a path. The file is short: beyond 200 kB it is
begun anew, and one old one is kept. `SITTERLIGHT_LOG` in the environment names another folder; empty, none is written.
"""

from __future__ import annotations

import logging
import os
import platform
import re
import sys
import threading
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import TracebackType

LONGEST = 200_000
"""Bytes."""

_PACKAGES = ("sitterlight", "numpy", "scipy", "numba", "embreex", "trimesh", "pyvista", "pyvistaqt", "vtk", "PyQt6")
_GRAPHICS = re.compile(r"^\s*OpenGL (vendor|renderer|version) string:\s*(.{0,120})", re.MULTILINE)
_logger = logging.getLogger("sitterlight")
_logger.propagate = False
_logger.addHandler(logging.NullHandler())


def log_file() -> Path | None:
    """Where the log is, whether it has been begun or not; None where none is wanted."""
    named = os.environ.get("SITTERLIGHT_LOG")
    if named == "":
        return None
    if named is None:
        import platformdirs

        named = platformdirs.user_log_dir("sitterlight")
    return Path(named, "sitterlight.log")


def begin() -> Path | None:
    """Begin to write, with what is known of the machine; None, and no harm done, where nothing can be written."""
    path = log_file()
    if path is None:
        return None
    if not any(isinstance(handler, RotatingFileHandler) for handler in _logger.handlers):
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            handler = RotatingFileHandler(path, maxBytes=LONGEST, backupCount=1, encoding="utf-8")
        except OSError:
            return None
        handler.setFormatter(logging.Formatter("%(asctime)s %(message)s", "%Y-%m-%dT%H:%M:%S%z"))
        handler.handleError = lambda record: None  # a full disk is no reason to trouble anybody
        _logger.addHandler(handler)
        _logger.setLevel(logging.INFO)
        note(f"begun: {machine()}")
    return path


def end() -> None:
    """Close the file."""
    for handler in [one for one in _logger.handlers if isinstance(one, RotatingFileHandler)]:
        _logger.removeHandler(handler)
        handler.close()


def note(words: str) -> None:
    """Write a line of the program's own words: nothing that a user typed or a file holds."""
    _logger.info("%s", words.replace("\n", " ")[:1000])


@contextmanager
def timed(what: str) -> Iterator[None]:
    """Write how long `what`, in the program's own words, took."""
    begun = time.monotonic()
    try:
        yield
    finally:
        note(f"{what}: {time.monotonic() - begun:.2f} s")


def graphics(report: str) -> None:
    """Write what draws, from VTK's report on the capabilities of a window."""
    found = "; ".join(f"{what} {words.strip()}" for what, words in _GRAPHICS.findall(report))
    note(f"OpenGL: {found or 'unknown'}")


def fault(error: BaseException, where: str = "") -> None:
    """Write what went wrong and where in the code, nothing of what it went wrong with."""
    frames = traceback.extract_tb(error.__traceback__)
    places = " < ".join(f"{_module(frame.filename)}:{frame.lineno} {frame.name}" for frame in reversed(frames[-12:]))
    note(f"{where + ': ' if where else ''}{type(error).__name__}: {without_what_is_private(str(error))} [{places}]")


def hook(tell: Callable[[str], None] | None = None) -> None:
    """From now on whatever nobody caught is written here, in any thread, and `tell` is given one sentence about it.

    Without a hook of one's own, Qt ends the program at the first such error.
    """

    def caught(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, trace)
            return
        fault(error.with_traceback(trace), "fault")
        sys.__excepthook__(kind, error, trace)
        if tell is not None:
            tell(sentence())

    sys.excepthook = caught
    threading.excepthook = lambda given: (
        given.exc_value is None or caught(given.exc_type, given.exc_value, given.exc_traceback)
    )


def sentence() -> str:
    """What a user is told of a fault of ours."""
    path = log_file()
    where = f" The log, {path}, says where; it holds nothing private." if path else ""
    return f"A fault in Sitterlight; what you did last may not have been done. Save your sitting.{where}"


def own_version() -> str:
    """The version of this program."""
    return _version("sitterlight")


def _version(package: str) -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version(package)
    except PackageNotFoundError:
        return "not installed"


def machine() -> str:
    """Versions and the kind of machine, in one line."""
    found = [f"{package} {_version(package)}" for package in _PACKAGES]
    screen = ", ".join(
        f"{name} {'set' if os.environ.get(name) else 'not set'}" for name in ("DISPLAY", "WAYLAND_DISPLAY")
    )
    return (
        f"{', '.join(found)}; Python {platform.python_version()}, {platform.system()} {platform.release()} "
        f"{platform.machine()}, {os.cpu_count()} cores{_memory()}; UTC{time.strftime('%z')}; {screen}"
    )


def _memory() -> str:
    try:
        return f", {os.sysconf('SC_PAGE_SIZE') * os.sysconf('SC_PHYS_PAGES') / 1e9:.0f} GB"
    except (AttributeError, ValueError, OSError):
        return ""


def _module(file: str) -> str:
    """A code file without the folder it is installed in, which may tell who runs it."""
    path = Path(file)
    if "site-packages" in path.parts:
        return "/".join(path.parts[path.parts.index("site-packages") + 1 :])
    for root in (Path(__file__).resolve().parent.parent, Path(os.__file__).resolve().parent):
        if path.is_relative_to(root):
            return path.relative_to(root).as_posix()
    return "…"


def without_what_is_private(text: str) -> str:
    """A sentence without quoted words, paths and numbers, on one line."""
    text = " ".join(text.split())[:500]
    text = re.sub(r"\"[^\"]*\"?|'[^']*'?|“[^”]*”?", '"…"', text)
    text = re.sub(r"\S*[\\/].*?(?=: |; |, |$)", "…", text)
    text = re.sub(r"\S+\.[A-Za-z]{2,4}\b", "…", text)
    return re.sub(r"#?\d[\w.,]*", "0", text)
