"""How long threads wait for a processor, which on a machine with nothing else to do they would not."""

from __future__ import annotations

import os
import sys
import threading
from contextlib import suppress
from pathlib import Path


class Queues:
    """How long threads of this process have waited for a processor: what /proc/self/task/*/schedstat tells of them."""

    DRAWING = "llvmpipe"
    """What the threads that draw where there is no graphics processor are called."""

    def __init__(self):
        self._window, self._known = threading.get_native_id(), 0
        self._others: dict[int, int] = {}
        self._drawing: set[int] = set()
        self._last: dict[int, float] = {}

    def waited(self) -> tuple[float, float]:
        """Seconds that the window's thread has waited, and those that it may have to wait for: they draw or calculate.
        Those that draw do so at once, so that the longest wait of theirs counts."""
        if not sys.platform.startswith("linux"):
            return 0.0, 0.0
        if self._known != threading.active_count():
            self._look()
        calculating = [self._of(place) for place in self._others.values() if place not in self._drawing]
        drawing = [self._of(place) for place in self._drawing]
        return self._of(self._mine), sum(calculating) + max(drawing, default=0.0)

    def _look(self) -> None:
        """Find the threads that there are now."""
        self._known = threading.active_count()
        names = {thread.native_id: thread.name for thread in threading.enumerate()}
        for number in map(int, os.listdir("/proc/self/task")):
            if number in self._others:
                continue
            drawn = Path(f"/proc/self/task/{number}/comm").read_text().startswith(self.DRAWING)
            if drawn or names.get(number, "").startswith(("lighting", "looks", "leaving", "early")):
                self._others[number] = os.open(f"/proc/self/task/{number}/schedstat", os.O_RDONLY)
                if drawn:
                    self._drawing.add(self._others[number])
        if not hasattr(self, "_mine"):
            self._mine = os.open(f"/proc/self/task/{self._window}/schedstat", os.O_RDONLY)

    def _of(self, place: int) -> float:
        with suppress(OSError, IndexError):  # the thread may have ended
            self._last[place] = int(os.pread(place, 100, 0).split()[1]) / 1e9
        return self._last.get(place, 0.0)
