"""Keeps the picture of what is at hand, so that the window can show it at once the next time it opens."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

from PyQt6.QtCore import QObject

from sitterlight.viewer.appearance import remembered
from sitterlight.viewer.courtesy import give_way
from sitterlight.viewer.kept_picture import keep_picture


class PictureKeeper(QObject):
    """Writes beside the window's own thread, when nothing else is left to do."""

    def __init__(self, window):
        super().__init__(window)
        self.window, self._last, self._ended = window, None, False
        self._writer = ThreadPoolExecutor(1, thread_name_prefix="picture", initializer=give_way)
        window.background.idle.connect(self.keep)
        window.model.on("file", self.keep)

    def keep(self) -> None:
        """Have the picture kept of a sitting that is as it was opened or saved: it is what may be opened next."""
        lit, model = self.window.lit, self.window.model
        if self._ended or lit is None or lit is self._last or not lit.exact or lit.sitting != model.saved:
            return
        looks = remembered(lit, "as seen", self.window.value_count, True)
        if looks is not None:
            self._last = lit
            self._writer.submit(keep_picture, lit, looks)

    def end(self) -> None:
        """Keep what is shown last, and wait until it is written."""
        self.keep()
        self._ended = True  # what was told before may still reach `keep`
        self._writer.shutdown(wait=True)
