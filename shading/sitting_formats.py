"""Formats of the sitting file: the present one is read, older ones are brought up to it, newer ones refused.

There has been one format so far. When a second comes, the present `FORMAT` becomes a key of UPGRADES, with a function
from its tables to those of the next, and files of every age are read by going up the chain.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from sitterlight.shading.sitting import FORMAT
from sitterlight.shading.sitting_rules import SittingError, refuse

UPGRADES: dict[str, Callable[[dict], dict]] = {}
"""From an older format to a function that gives the tables of the next; it sets "format" anew."""

_OF_OURS = re.compile(r"sitterlight/([1-9][0-9]{0,5})")


def brought_up(table: object) -> Mapping:
    """The tables in the present format; SittingError where their format is missing, unknown or newer."""
    if not isinstance(table, Mapping) or "format" not in table:
        raise SittingError(f'format is missing; a sitting begins with format = "{FORMAT}"')
    while isinstance(table["format"], str) and table["format"] in UPGRADES:
        table = UPGRADES[table["format"]](dict(table))
    written = table["format"]
    if written == FORMAT:
        return table
    if isinstance(written, str) and _number(written) > _number(FORMAT):
        raise SittingError(
            f'format is "{written}", from a newer Sitterlight; this one reads "{FORMAT}": update it to open the file'
        )
    raise refuse("format", written, f'"{FORMAT}"')


def _number(written: str) -> int:
    """Which format of ours it is; 0 for none."""
    found = _OF_OURS.fullmatch(written)
    return int(found[1]) if found else 0
