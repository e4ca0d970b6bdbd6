"""Memory that runs short: what is only remembered is let go of before the system would end the program.

On a machine of 2 GB, or beside other programs that want much, the moments count in which a head is lit anew or a sheet
is made. All that is let go of is worked out again when it is wanted.
"""

from __future__ import annotations

import threading
import time
from contextlib import suppress

from PyQt6.QtCore import QObject, pyqtSignal

from sitterlight.meshes.machine import memory_left
from sitterlight.shading.memory import KEPT
from sitterlight.viewer import engine
from sitterlight.viewer.thrift import give_back

RESERVE = 500e6
"""Bytes that lighting a new head or making a sheet takes for a while."""

LEAST = 150e6
"""Bytes with which that can hardly go well."""

OFTEN, SELDOM = 0.25, 2.0
"""Seconds between two looks: where memory may soon run short, and where it can't."""

REST = 5.0
"""Seconds from letting go until it is done again with as much left; with half of that at once."""

SHORT = "Memory is short: {left:.0f} MB are left. Close other programs, or let go of the sitting beside."


class ShortMemory(QObject):
    """Looks after the window's memory on a thread of its own, as long as the program runs."""

    said = pyqtSignal(str)

    def __init__(self, window):
        super().__init__(window)
        self._window = window
        self._was_short = False
        self._rests_until = 0.0
        self.said.connect(window.stages.say)
        threading.Thread(target=self._look_after, name="memory", daemon=True).start()

    def _look_after(self) -> None:
        pause = SELDOM
        rest = threading.Event()  # which nobody sets
        while not rest.wait(pause):
            with suppress(RuntimeError):  # the window has been closed meanwhile
                pause = self.look()

    def look(self) -> float:
        """Let go of what is remembered if memory is short, and say so if that is not enough; seconds to the next
        look."""
        left = memory_left()
        if left > RESERVE:
            self._was_short = False
            return OFTEN if left < 3 * RESERVE else SELDOM
        if left > RESERVE / 2 and time.monotonic() < self._rests_until:
            return OFTEN
        engine.keep_only_the_last()
        KEPT.let_go()
        give_back()
        left, leaving = memory_left(), vars(self._window).get("leaving")
        if left < RESERVE / 2 and leaving is not None:  # dear to make again, and that takes most of all
            leaving.let_go()
            give_back()
            left = memory_left()
        if left < LEAST and not self._was_short:
            self._was_short = True
            self.said.emit(SHORT.format(left=left / 1e6))
        self._rests_until = time.monotonic() + REST
        return OFTEN
