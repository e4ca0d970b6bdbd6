"""What only refers to itself is looked for in the window's own thread, at moments when that costs little.

Left alone, Python looks through all there is whenever much has come, in whichever thread that happens: all threads
stand still for a tenth of a second, since modules and compiled loops are a quarter of a million things; and where it
finds a part of Qt in another thread than the window's, Qt complains. So modules and loops, which stay until the end,
are set aside; what has come lately is looked through often, and the rest when nothing is calculated. What nothing
refers to at all goes at once, as ever.
"""

from __future__ import annotations

import gc
from collections.abc import Callable

from PyQt6.QtCore import QObject, QTimer

EVERY = 250
"""Milliseconds between two looks at what has come lately."""

SETTLING = 3
"""Times of rest at which what has come is set aside: at first each new wish loads compiled loops."""


def set_aside() -> None:
    """Look through nothing any more that there is now."""
    gc.freeze()


class Tidying(QObject):
    """Looks for what only refers to itself, in place of Python; `is_busy()` tells whether anything is calculated."""

    def __init__(self, parent: QObject, is_busy: Callable[[], bool]):
        super().__init__(parent)
        self._is_busy, self._was_busy, self._settled = is_busy, True, 0
        gc.disable()
        set_aside()
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.look)
        self._timer.start(EVERY)

    def look(self) -> None:
        """Look through what has come lately, if that is much; at rest through more."""
        (new, young, old), (many, often, seldom) = gc.get_count(), gc.get_threshold()
        busy = self._is_busy()
        if self._was_busy and not busy and self._settled < SETTLING:
            self._settle()
        elif not busy and old > seldom:
            gc.collect()
        elif new > many:
            gc.collect(1 if young > often else 0)
        self._was_busy = busy

    def _settle(self) -> None:
        """Set aside what has come until now; the first time, when that is nearly all, without looking through it."""
        if self._settled:
            gc.collect()
        self._settled += 1
        set_aside()

    def end(self) -> None:
        """Leave it to Python again."""
        self._timer.stop()
        gc.enable()
