"""A timer of the event loop whose beats tell how long the window has stood still."""

from __future__ import annotations

import sys
import threading
import time
import traceback
from dataclasses import dataclass, field
from pathlib import Path

from .queues import Queues

BEAT = 5
"""Milliseconds between two beats."""

LONG = 0.080
"""Seconds of silence of which the stacks are written."""


@dataclass
class Use:
    """What was measured while the window was used in one way: seconds."""

    name: str
    longest: float = 0.0
    alone: float = 0.0
    own: float = 0.0
    draws: list[float] = field(default_factory=list)
    answers: list[float] = field(default_factory=list)
    seconds: float = 0.0

    def line(self) -> str:
        cells = [f"{self.name:34s}", *(f"{1000 * each:7.0f}" for each in (self.longest, self.alone, self.own))]
        cells.append(f"{len(self.draws) / self.seconds:7.1f}" if self.draws and self.seconds else " " * 7)
        for times in (self.draws, self.answers):
            cells.append(f"{1000 * middle(times):7.0f} {1000 * max(times):7.0f}" if times else " " * 15)
        return "  ".join(cells)


def middle(times: list[float]) -> float:
    return sorted(times)[len(times) // 2]


class Heart:
    """Beats in the event loop; the longest silence goes into `use`. A watcher notes where threads stand meanwhile."""

    def __init__(self, stacks):
        from PyQt6.QtCore import Qt, QTimer

        self.use = Use("opening")
        self.stacks = stacks
        self._last = time.perf_counter()
        self._seen, self._worked = "", time.thread_time()
        self._queues = Queues()
        self._waited = self._queues.waited()
        self._timer = QTimer()
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._beat)
        self._timer.start(BEAT)
        if stacks:
            threading.Thread(target=self._watch, daemon=True).start()

    def _beat(self) -> None:
        now = time.perf_counter()
        gap = now - self._last
        self.use.longest = max(self.use.longest, gap)
        work, waited = time.thread_time(), self._queues.waited()
        own, mine, others = work - self._worked, waited[0] - self._waited[0], waited[1] - self._waited[1]
        self.use.own, self._worked, self._waited = max(self.use.own, own), work, waited
        self.use.alone = max(self.use.alone, gap - mine - min(max(others, 0.0), max(gap - mine - own, 0.0)))
        if gap > LONG and self.stacks:
            self.stacks.write(f"{1000 * gap:.0f} ms in {self.use.name}\n{self._seen}\n")
            self.stacks.flush()
        self._last, self._seen = now, ""

    def _watch(self) -> None:
        """Where each thread stands once a silence is long; late where code outside Python holds the interpreter."""
        while True:
            asked = time.perf_counter()
            time.sleep(0.01)
            now = time.perf_counter()
            if now - self._last < LONG * 0.7 or self._seen.count("--") > 2:
                continue
            names = {thread.ident: thread.name for thread in threading.enumerate()}
            seen = [f"-- {1000 * (now - self._last):.0f} ms on; the watcher waited {1000 * (now - asked):.0f} ms"]
            for ident, frame in sys._current_frames().items():
                if ident != threading.get_ident():
                    frames = traceback.extract_stack(frame)[-6:]
                    where = " > ".join(f"{Path(f.filename).name}:{f.lineno} {f.name}" for f in frames)
                    seen.append(f"{names.get(ident, '?'):12s} {where}")
            self._seen += "\n".join(seen) + "\n"
