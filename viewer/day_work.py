"""Working out a day in the background: told how far it is, stopped when asked, answered when done."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from PyQt6.QtCore import QObject, pyqtSignal

from sitterlight.shading.day_hours import DayHours, day_hours, with_facings
from sitterlight.shading.day_words import facing_time
from sitterlight.shading.sitting import Sitting
from sitterlight.viewer.files import sentence

HOURS_SHARE = 0.75
"""Of the work, what the hours take; the rest is for the facings."""


class _StoppedError(Exception):
    """The work is to end."""


class DayWork(QObject):
    """One thread at a time. `worked(DayHours)` when hours or facings are there, `so_far(DayHours)` with each hour
    before, `progressed(share)`, `failed(sentence)` where there is no such day, `ended()` when nothing goes on any more.
    """

    worked = pyqtSignal(object)
    so_far = pyqtSignal(object)
    progressed = pyqtSignal(float)
    failed = pyqtSignal(str)
    ended = pyqtSignal()

    def __init__(self, parent: QObject | None = None):
        super().__init__(parent)
        self._thread: threading.Thread | None = None
        self._stop = threading.Event()

    @property
    def is_busy(self) -> bool:
        return self._thread is not None and self._thread.is_alive()

    def plan(self, sitting: Sitting, on: date, planes: Sequence[str], step: timedelta) -> None:
        """Work out a day, then its eight facings in the middle of the steadiest two hours."""

        def work() -> None:
            tell = self._tell(0.0, HOURS_SHARE)
            hours = day_hours(sitting, on, planes, tell, step, workers=1, told=self.so_far.emit)
            self.worked.emit(hours)
            self.worked.emit(with_facings(hours, facing_time(hours), self._tell(HOURS_SHARE, 1.0), workers=1))

        self._start(work)

    def compare(self, day: DayHours, when: datetime) -> None:
        """Compare the eight facings of a day at another hour."""
        self._start(lambda: self.worked.emit(with_facings(day, when, self._tell(0.0, 1.0), workers=1)))

    def stop(self) -> None:
        """Give up what goes on."""
        self._stop.set()

    def wait(self, seconds: float = 10.0) -> None:
        """Stop, and wait until the work has ended."""
        self.stop()
        if self._thread is not None:
            self._thread.join(seconds)

    def _start(self, work) -> None:
        if self.is_busy:
            return
        self._stop.clear()
        self._thread = threading.Thread(target=self._work, args=(work,), name="day plan", daemon=True)
        self._thread.start()

    def _work(self, work) -> None:
        try:
            work()
        except _StoppedError:
            pass
        except (ValueError, OSError, MemoryError) as error:
            self.failed.emit(sentence(error))
        finally:
            self._thread = None
            self.ended.emit()

    def _tell(self, start: float, end: float):
        def tell(share: float) -> None:
            if self._stop.is_set():
                raise _StoppedError
            self.progressed.emit(start + share * (end - start))

        return tell
