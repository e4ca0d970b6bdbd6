"""Working out a day in the background: told how far it is, stopped when asked, answered when done."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, datetime, timedelta

from PyQt6.QtCore import QObject, pyqtSignal

from sitterlight.shading.day_hours import PLANES, DayHours, day_hours, with_facings
from sitterlight.shading.day_words import facing_time
from sitterlight.shading.progress import Progress, part
from sitterlight.shading.sitting import Sitting
from sitterlight.viewer import engine
from sitterlight.viewer.long_work import LongWork

HOURS_SHARE = 0.75
"""Of the work, what the hours take; the rest is for the facings."""


def followed(planes: Sequence[str], names: Collection[str]) -> Sequence[str]:
    """Which `planes` to follow on a head with planes of these names; PLANES where it has none of them."""
    return [name for name in planes if name in names] or PLANES


class DayWork(LongWork):
    """`worked(DayHours)` when hours or facings are there, `so_far(DayHours)` with each hour before; `failed(sentence)`
    where there is no such day.
    """

    worked = pyqtSignal(object)
    so_far = pyqtSignal(object)

    def __init__(self, parent: QObject | None = None):
        super().__init__(parent, "day plan")

    def plan(self, sitting: Sitting, on: date, planes: Sequence[str], step: timedelta) -> None:
        """Work out a day, then its eight facings in the middle of the steadiest two hours; `planes` as `followed`."""

        def work(progress: Progress) -> None:
            names = {plane.name for plane in engine.head_in_turn(sitting, progress).planes}
            told = part(progress, 0.0, HOURS_SHARE)
            hours = day_hours(sitting, on, followed(planes, names), told, step, workers=1, told=self.so_far.emit)
            self.worked.emit(hours)
            self.worked.emit(with_facings(hours, facing_time(hours), part(progress, HOURS_SHARE, 1.0), workers=1))

        self.begin(work)

    def compare(self, day: DayHours, when: datetime) -> None:
        """Compare the eight facings of a day at another hour."""
        self.begin(lambda progress: self.worked.emit(with_facings(day, when, progress, workers=1)))
