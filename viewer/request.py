"""What can be asked on the command line, and how an unanswerable request is told."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from typing import NoReturn

from sitterlight.viewer.mix_options import add_options

COMMANDS = ("window", "study", "list", "check", "day", "mix")
LISTS = ("lights", "skins", "heads", "paints", "sittings", "surfaces", "places")


class RequestError(ValueError):
    """What was asked for cannot be done: one sentence."""


class OneLineParser(argparse.ArgumentParser):
    """A parser whose complaints are one line."""

    def error(self, message: str) -> NoReturn:
        raise RequestError(f"{message} (sitterlight --help shows what can be asked)")


def parser_of(run: Mapping[str, Callable[[argparse.Namespace], int | None]]) -> OneLineParser:
    """The parser; what `run` has for a command is the `command` of its answer."""
    parser = OneLineParser(
        prog="sitterlight",
        description="What colour each plane of a head is under a given light, why, and what to mix for it.",
        epilog="SITTING is a file or the name of a built-in sitting; `sitterlight SITTING` opens it.",
    )
    parser.add_argument("--version", action="version", version=f"sitterlight {_version()}")
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    window = _add(commands, "window", run["window"], "open the window (also without the word)")
    window.add_argument("sitting", nargs="?", metavar="SITTING")

    study = _add(commands, "study", run["study"], "compute and write everything; needs no screen")
    study.add_argument("sitting", nargs="?", metavar="SITTING")
    study.add_argument("--out", required=True, metavar="DIR", help="folder to write into")

    lists = _add(commands, "list", run["list"], "what is built in")
    lists.add_argument("what", choices=LISTS)
    lists.add_argument("--json", action="store_true", help="as an array of objects")

    check = _add(commands, "check", run["check"], "say of each file what it is or what is wrong with it")
    check.add_argument("files", nargs="+", metavar="FILE")

    day = _add(commands, "day", run["day"], "the same sitting through a day")
    day.add_argument("sitting", metavar="SITTING")
    day.add_argument("--date", required=True, metavar="D", help="such as 2026-11-21")
    day.add_argument("--out", required=True, metavar="DIR", help="folder to write into")
    day.add_argument("--step", metavar="MINUTES", default="30", help="from one time to the next; 30 unless told")
    day.add_argument("--planes", metavar="A,B,C", help="planes to follow, by name, with commas between")
    day.add_argument("--at", metavar="HH:MM", help="hour at which the eight facings are compared")

    mix = _add(commands, "mix", run["mix"], "a recipe for one colour")
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


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("sitterlight")
    except PackageNotFoundError:
        return "not installed"
