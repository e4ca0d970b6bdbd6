"""Opening the window.

A picture kept from another time is shown before anything that calculates has been loaded. Where there is none, lighting
begins while Qt and VTK are still being loaded, so that the picture comes sooner.
"""

from __future__ import annotations

import gc
import threading
from contextlib import suppress
from pathlib import Path

from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sitting_file import read_sitting
from sitterlight.shading.sittings import built_in

FIRST_SITTING = "lamp-and-dusk"
"""What a newcomer sees: two lights of two colours, so that there are notes to be found."""


def open_window(sitting: Sitting | None = None, path: Path | None = None) -> int:
    """Open the window on a sitting, with the file it is from, or on what was open last.

    The exit code comes back when it is closed. ValueError, one sentence, where the head cannot be drawn.
    """
    gc.disable()  # while modules are loaded there is nothing to find; see tidying
    if sitting is None:
        sitting, path = last_sitting()
    from sitterlight.viewer.kept_picture import recall_picture

    kept = recall_picture(sitting)
    if kept is None:
        threading.Thread(target=_light_early, args=(sitting,), name="early light", daemon=True).start()

    from PyQt6.QtCore import QTimer

    from sitterlight.viewer.about import Watch
    from sitterlight.viewer.graphics import why_not_drawn
    from sitterlight.viewer.main_window import Window, make_application
    from sitterlight.viewer.memory import remember_file
    from sitterlight.viewer.model import Model

    app = make_application()
    reason = why_not_drawn()
    if reason:
        raise ValueError(reason)
    if path is not None:
        remember_file(path)
    window = Window(Model(sitting, path), kept, in_steps=True)
    Watch(window)
    window.show()
    QTimer.singleShot(0, window.stages.first.plotter.setFocus)
    window.when_whole(lambda: window.recovering.look())
    window.when_whole(lambda: _look_after_memory(window))
    return app.exec()


def _look_after_memory(window) -> None:
    from sitterlight.viewer.short_memory import ShortMemory

    ShortMemory(window)


def last_sitting() -> tuple[Sitting, Path | None]:
    """What was open last, or the first sitting."""
    from sitterlight.viewer.memory import settings

    kept = settings()
    path, name = kept.value("last_file"), kept.value("last_built_in")
    try:
        if path and Path(path).is_file():
            return read_sitting(path), Path(path)
        if name:
            return built_in(name), None
    except (ValueError, OSError):
        pass
    return built_in(FIRST_SITTING), None


def _light_early(sitting: Sitting) -> None:
    """Light a sitting whose head needs no rays any more; what goes wrong is said when the window asks again."""
    from sitterlight.viewer import engine
    from sitterlight.viewer.courtesy import give_way

    give_way()
    with suppress(Exception):
        if engine.is_prepared(sitting):
            engine.light(sitting)
