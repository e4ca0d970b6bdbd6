"""The pieces that a study is made of, worked out one after the other with the share done told between them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from sitterlight.shading.progress import Progress, part, tell

if TYPE_CHECKING:
    from sitterlight.shading.study import Study

SECONDS = {
    "mixed": 0.9,
    "plan": 0.05,
    "table": 0.25,
    "film": 1.7,
    "seen": 0.1,
    "notes": 0.1,
    "greying": 0.1,
    "head_picture": 0.2,
    "note_picture": 0.2,
    "greying_picture": 0.3,
    "sheet": 0.2,
    "plan_page": 0.2,
}
"""Each piece and what it takes on the bust, roughly: what comes later needs only what stands before it."""

TABLE = ("mixed", "plan", "table")
PICTURE = ("film", "seen", "head_picture")
MAPS = ("notes", "greying", "note_picture", "greying_picture")
SHEET = (*TABLE, *PICTURE, *MAPS, "sheet")
PLAN = ("mixed", "plan", "plan_page")
ALL = (*SHEET, *PLAN)


def seconds_left(study: Study, names: Iterable[str]) -> float:
    """Seconds, roughly, that those of the pieces take which are not there yet."""
    return sum(SECONDS[name] for name in set(names) - vars(study).keys())


def work_out(study: Study, names: Iterable[str], progress: Progress | None = None) -> None:
    """Work out these pieces of a study, where they are not there yet. ValueError where one cannot be."""
    left = [name for name in SECONDS if name in set(names) - vars(study).keys()]
    whole, done = seconds_left(study, left), 0.0
    for name in left:
        tell(progress, done / whole)
        ends = done + SECONDS[name]
        if name == "film":
            study.expose(part(progress, done / whole, ends / whole))
        else:
            getattr(study, name)
        done = ends
    tell(progress, 1.0)
