"""The command line: `sitterlight [SITTING]` opens the window, the other commands need no screen.

Exit code 0, or 2 for a bad request or file with one line on standard error. Everything heavy is imported by
the command that needs it.
"""

from __future__ import annotations

import argparse
import os
import sys
import warnings
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import NoReturn

from sitterlight.viewer.mix_options import add_options, asked_by

LISTS = ("lights", "skins", "heads", "paints", "sittings", "surfaces", "places")
BAD = 2


class RequestError(ValueError):
    """What was asked for cannot be done: one sentence."""


class OneLineParser(argparse.ArgumentParser):
    """A parser whose complaints are one line."""

    def error(self, message: str) -> NoReturn:
        raise RequestError(f"{message} (sitterlight --help shows what can be asked)")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; 0, or 2 after one line on standard error. SITTERLIGHT_DEBUG lets errors through."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    _print_whatever_comes()
    if os.environ.get("SITTERLIGHT_DEBUG"):
        return _run(words)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return _run(words)
        except BrokenPipeError:  # what reads our output has seen enough
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return 0
        except KeyboardInterrupt:
            return _refuse("stopped")
        except (ValueError, OSError, ImportError) as error:
            return _refuse(_sentence(error))
        except MemoryError:
            return _refuse("this needs more memory than there is")
        except Exception as error:
            _log(error)
            return _refuse(
                f"a fault in Sitterlight, {type(error).__name__}: {_sentence(error)} "
                "(with SITTERLIGHT_DEBUG=1 it says where)"
            )


def _print_whatever_comes() -> None:
    """Let letters that the terminal lacks be written as codes instead of ending the program."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def _run(words: list[str]) -> int:
    given = _parser().parse_args(_with_command(words))
    command: Callable[[argparse.Namespace], int | None] = given.command
    code = command(given) or 0
    sys.stdout.flush()
    return code


def _with_command(words: list[str]) -> list[str]:
    """`sitterlight [SITTING]` is short for `sitterlight window [SITTING]`."""
    first = next((word for word in words if not word.startswith("-")), None)
    asks_about_itself = any(word in ("-h", "--help", "--version") for word in words)
    if first in COMMANDS or (first is None and asks_about_itself):
        return words
    return ["window", *words]


def _parser() -> OneLineParser:
    parser = OneLineParser(
        prog="sitterlight",
        description="What colour each plane of a head is under a given light, why, and what to mix for it.",
        epilog="SITTING is a file or the name of a built-in sitting; `sitterlight SITTING` opens it.",
    )
    parser.add_argument("--version", action="version", version=f"sitterlight {_version()}")
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    window = _add(commands, "window", _window, "open the window (also without the word)")
    window.add_argument("sitting", nargs="?", metavar="SITTING")

    study = _add(commands, "study", _study, "compute and write everything; needs no screen")
    study.add_argument("sitting", nargs="?", metavar="SITTING")
    study.add_argument("--out", required=True, metavar="DIR", help="folder to write into")

    lists = _add(commands, "list", _list, "what is built in")
    lists.add_argument("what", choices=LISTS)
    lists.add_argument("--json", action="store_true", help="as an array of objects")

    check = _add(commands, "check", _check, "say of each file what it is or what is wrong with it")
    check.add_argument("files", nargs="+", metavar="FILE")

    day = _add(commands, "day", _day, "the same sitting through a day")
    day.add_argument("sitting", metavar="SITTING")
    day.add_argument("--date", required=True, metavar="D", help="such as 2026-11-21")
    day.add_argument("--out", required=True, metavar="DIR", help="folder to write into")
    day.add_argument("--step", metavar="MINUTES", default="30", help="from one time to the next; 30 unless told")
    day.add_argument("--planes", metavar="A,B,C", help="planes to follow, by name, with commas between")
    day.add_argument("--at", metavar="HH:MM", help="hour at which the eight facings are compared")

    mix = _add(commands, "mix", _mix, "a recipe for one colour")
    mix.add_argument("colour", metavar="COLOUR", help='"5YR 4/4", "Lab 42 12 20" (D65) or "#8a5a3c"')
    mix.add_argument(
        "--palette", required=True, metavar="A,B,C", help="paints, or a palette's file, with commas between"
    )
    mix.add_argument("--json", action="store_true", help="as one object")
    add_options(mix)
    return parser


def _add(commands, name: str, command: Callable, text: str) -> OneLineParser:
    parser = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
    parser.set_defaults(command=command)
    return parser


def find_sitting(name: str | None):
    """The sitting in a file, or built in under that name; the default without a name. ValueError if none."""
    from sitterlight.shading.sitting_file import read_sitting
    from sitterlight.shading.sitting_rules import near_miss, shown
    from sitterlight.shading.sittings import DEFAULT, built_in, built_in_names

    if name is None:
        return built_in(DEFAULT)
    if Path(name).is_file() or name not in built_in_names():
        if Path(name).exists() or name.lower().endswith(".toml") or os.sep in name:
            return read_sitting(name)
        hint = near_miss(name, (*built_in_names(), *COMMANDS))
        raise RequestError(
            f"{shown(name)} is neither a file nor a built-in sitting{hint}; see: sitterlight list sittings"
        )
    return built_in(name)


def file_of(name: str | None) -> Path | None:
    """The file that `find_sitting` reads for this name, or None where the sitting is built in."""
    from sitterlight.shading.sittings import built_in_names

    path = None if name is None else Path(name)
    return path.absolute() if path is not None and (path.is_file() or name not in built_in_names()) else None


def _window(given: argparse.Namespace) -> int | None:
    sitting = None if given.sitting is None else find_sitting(given.sitting)
    from sitterlight.viewer.screen import why_no_window

    reason = why_no_window()
    if reason:
        raise RequestError(f"{reason}; without a window, sitterlight study --out DIR writes everything")
    from sitterlight.viewer.window import open_window

    return open_window(sitting, file_of(given.sitting))


def _study(given: argparse.Namespace) -> None:
    sitting = find_sitting(given.sitting)
    out = _folder_to_write(given.out)
    from sitterlight.shading.study import study

    _say_written(study(sitting, out, progress=_progress("working out the study")), out)


def _list(given: argparse.Namespace) -> None:
    from sitterlight.viewer.listing import as_json, as_text

    print(as_json(given.what) if given.json else as_text(given.what))


def _check(given: argparse.Namespace) -> int:
    from sitterlight.viewer.checking import check_file

    wrong = []
    for file in given.files:
        try:
            print(_printable(f"{file}: {check_file(Path(file))}"), flush=True)
        except (ValueError, OSError) as error:
            sentence = _sentence(error).removeprefix(f"{file}: ")
            print(_printable(f"{file}: {sentence}"), flush=True)
            wrong.append(f"{file}: {sentence}")
    if not wrong:
        return 0
    if len(given.files) == 1:
        return _refuse(wrong[0])
    return _refuse(f"{len(wrong)} of {len(given.files)} files cannot be used, first {wrong[0]}")


def _day(given: argparse.Namespace) -> None:
    from datetime import date, datetime, timedelta

    try:
        on = date.fromisoformat(given.date)
    except ValueError:
        raise RequestError(f"--date is {given.date!r}; allowed is a date such as 2026-11-21") from None
    hour = None if given.at is None else _clock(given.at)
    step = timedelta(minutes=_minutes(given.step))
    sitting = find_sitting(given.sitting)
    out = _folder_to_write(given.out)
    from sitterlight.shading.day import PLANES, day

    planes = PLANES if given.planes is None else [name.strip() for name in given.planes.split(",") if name.strip()]
    at = None if hour is None else datetime.combine(on, hour)
    _say_written(day(sitting, on, out, _progress("through the day"), planes, at, step), out)


def _clock(text: str):
    from datetime import time

    try:
        return time.fromisoformat(text).replace(second=0, microsecond=0, tzinfo=None)
    except ValueError:
        raise RequestError(f"--at is {text!r}; allowed is an hour such as 15:30") from None


def _minutes(text: str) -> int:
    from sitterlight.shading.day_hours import STEPS

    if text not in map(str, STEPS):
        raise RequestError(f"--step is {text!r}; allowed are {', '.join(map(str, STEPS))} minutes")
    return int(text)


def _mix(given: argparse.Namespace) -> None:
    paints = [paint.strip() for paint in given.palette.split(",") if paint.strip()]
    if not paints:
        raise RequestError("--palette names no paint; allowed are paints with commas between, such as PW6,PY43,PB29")
    from sitterlight.shading import mix
    from sitterlight.shading.palette_file import tubes_named

    wanted = asked_by(given, list(tubes_named(paints)))
    print(mix.as_json(given.colour, wanted) if given.json else mix.as_text(given.colour, wanted))


def _folder_to_write(name: str) -> Path:
    """The folder as a path; ValueError now, before any work, where it cannot be one."""
    folder = Path(name)
    if not name.strip() or "\0" in name:
        raise RequestError("--out is empty; allowed is the name of a folder")
    if folder.exists() and not folder.is_dir():
        raise RequestError(f"--out {name} is a file; allowed is a folder, new or old")
    above = next(parent for parent in (folder, *folder.absolute().parents) if parent.exists())
    if not above.is_dir() or not os.access(above, os.W_OK):
        raise RequestError(f"--out {name} cannot be written, because {above} does not allow it")
    return folder


def _say_written(files: Iterable[str], folder: Path) -> None:
    print(f"written to {folder}: {', '.join(files)}")


def _progress(what: str) -> Callable[[float], None] | None:
    """Shows the share done on a terminal; None where nobody looks."""
    if not sys.stderr.isatty():
        return None

    def show(share: float) -> None:
        line = f"{what}: {share:.0%}" if share < 1 else ""
        print(f"\r\033[K{line}", end="", file=sys.stderr, flush=True)

    return show


def _sentence(error: BaseException) -> str:
    """The error as one line."""
    if isinstance(error, OSError) and error.strerror:
        named = f"{error.filename}: " if error.filename is not None else ""
        return f"{named}{error.strerror}"
    text = " ".join(str(error).split())
    return text or type(error).__name__


def _log(error: Exception) -> None:
    """Leave a note of a fault of ours."""
    from sitterlight.viewer import log

    log.begin()
    log.fault(error, "command line")


def _refuse(sentence: str) -> int:
    print(_printable(f"sitterlight: error: {sentence}"), file=sys.stderr)
    return BAD


def _printable(text: str) -> str:
    """The text on one line: names of files may hold line breaks, and signs that would steer a terminal."""
    return "".join(sign if sign.isprintable() else "\N{REPLACEMENT CHARACTER}" for sign in text)


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("sitterlight")
    except PackageNotFoundError:
        return "not installed"


COMMANDS = ("window", "study", "list", "check", "day", "mix")


if __name__ == "__main__":
    sys.exit(main())
