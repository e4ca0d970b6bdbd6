"""The commands: each does one thing and imports only then what that needs."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from sitterlight.viewer.mix_options import asked_by
from sitterlight.viewer.request import COMMANDS, RequestError
from sitterlight.viewer.sentences import sentence
from sitterlight.viewer.terminal import printable, progress, refuse, say_written


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

    say_written(study(sitting, out, progress=progress("working out the study")), out)


def _list(given: argparse.Namespace) -> None:
    from sitterlight.viewer.listing import as_json, as_text

    print(as_json(given.what) if given.json else as_text(given.what))


def _check(given: argparse.Namespace) -> int:
    from sitterlight.viewer.checking import check_file

    wrong = []
    for file in given.files:
        try:
            print(printable(f"{file}: {check_file(Path(file))}"), flush=True)
        except (ValueError, OSError) as error:
            words = sentence(error).removeprefix(f"{file}: ")
            print(printable(f"{file}: {words}"), flush=True)
            wrong.append(f"{file}: {words}")
    if not wrong:
        return 0
    if len(given.files) == 1:
        return refuse(wrong[0])
    return refuse(f"{len(wrong)} of {len(given.files)} files cannot be used, first {wrong[0]}")


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
    say_written(day(sitting, on, out, progress("through the day"), planes, at, step), out)


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


RUN = dict(zip(COMMANDS, (_window, _study, _list, _check, _day, _mix), strict=True))
"""What each of COMMANDS does."""
