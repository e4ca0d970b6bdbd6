"""How tests drive the one window that they share: sittings to show, waiting for it, and what it pictures."""

from __future__ import annotations

import threading
from contextlib import contextmanager, suppress
from dataclasses import replace

import numpy as np

from sitterlight.shading.sitting import HeadSetting, LampLight, Sitting, SkinSetting, SkyLight

BALL = Sitting(
    title="A ball",
    head=HeadSetting(mesh="sphere"),
    skin=SkinSetting(ladder=4),
    lights=(LampLight(name="lamp", azimuth=-50, elevation=30), SkyLight(name="sky", sky="open shade", illuminance=200)),
)
BUST = replace(BALL, title="A bust", head=HeadSetting())
PATIENCE = 240_000


class Shown:
    """Shows sittings in a window, each time beginning with everything else as it is in a new one."""

    def __init__(self, window, qtbot):
        self.window, self.qtbot = window, qtbot

    def __call__(self, sitting: Sitting | None = None, until: str = "lit"):
        """The window with a sitting, or the one at hand, once it is "lit", "counted" or at "rest"."""
        if sitting is not None:
            self._begin(sitting)
        self.qtbot.waitUntil(lambda: self._is(until), timeout=PATIENCE)
        if until == "rest":  # what the calculation told last may just be on its way
            self.qtbot.wait(1)
            self.qtbot.waitUntil(lambda: self._is(until), timeout=PATIENCE)
        return self.window

    def view(self, view: str):
        """The window with another view of what is lit."""
        self.window.model.show(view)
        return self()

    def _begin(self, sitting: Sitting) -> None:
        window = self.window
        window.stages.difference.setChecked(False)
        window.stages.say("")
        window.table.search.clear()
        window.set_value_count(5)
        window.set_mark(True)
        window.model.open(sitting)
        window.model.show("as seen")

    def _is(self, until: str) -> bool:
        from sitterlight.viewer import turns
        from sitterlight.viewer.appearance import remembered

        if turns.are_waiting():
            return False
        window, state, lit = self.window, self.window.model.state, self.window.lit
        if lit is None or not lit.exact or (lit.sitting, lit.gaze) != (state.sitting, state.looks_from):
            return False
        stages = [(window.stages.first, lit)]
        if state.held is not None:
            held = window.stages.second.lit
            if held is None or not held.exact or held.sitting != state.held:
                return False
            stages.append((window.stages.second, held))
        for stage, one in stages:
            looks = remembered(one, window.model.view, window.value_count, window.mark)
            if stage.lit is not one or stage.drawing.looks is not looks:
                return False
        if until == "lit":
            return True
        if not (lit.has("rows") and lit.has("notes") and (window.table.rows is lit.rows or lit.has("mixed"))):
            return False
        return until == "counted" or not window.background.is_busy


@contextmanager
def left(qtbot, leaving):
    """Waits at its end until something is written; where nothing is, the test fails with what the window said of it."""
    told, begin = [], leaving.work.begin
    said, window, say = [], leaving.window, leaving.window.say
    window.say = lambda *words: said.append(words) or say(*words)
    leaving.work.begin = lambda work: told.append("begun" if begin(work) else "refused") or told[-1] == "begun"
    leaving.work.ended.connect(lambda: "begun" in told and told.append("ended"))  # not what a work before told last
    leaving.written.connect(lambda path: told.append("written"))
    leaving.failed.connect(told.append)
    leaving.stopped.connect(lambda: told.append("stopped"))
    try:
        yield
        with suppress(qtbot.TimeoutError):
            qtbot.waitUntil(lambda: "ended" in told, timeout=PATIENCE)
    finally:
        del leaving.work.begin, window.say
    assert told == ["begun", "written", "ended"], (told, said, window.stages.words.text())


class Held:
    """A long work held at a share, on its own thread, until it may go on."""

    def __init__(self, share: float):
        self.share, self._reached, self._go_on = share, threading.Event(), threading.Event()

    def is_reached(self) -> bool:
        return self._reached.is_set()

    def go_on(self) -> None:
        self._go_on.set()

    def told(self, share: float) -> None:
        if share >= self.share:
            self._reached.set()
            self._go_on.wait(PATIENCE / 1000)


@contextmanager
def held_in_the_middle(work, share: float):
    """Holds what a LongWork that begins meanwhile does as soon as it tells this share or more; let go at the end."""
    held, tell = Held(share), work._tell

    def told(share: float) -> None:
        work.progressed.emit(share)
        held.told(share)
        tell(share)

    work._tell = told
    try:
        yield held
    finally:
        held.go_on()
        del work._tell


def picture(window) -> np.ndarray:
    """What the first stage shows, (H,W,3)."""
    return window.stages.first.picture().astype(int)


def differ(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether two pictures differ by more than two codes anywhere."""
    return one.shape != other.shape or bool(np.abs(one - other).max() > 2)


def told_apart(one: np.ndarray, other: np.ndarray) -> str:
    """In what two pictures differ by more than two codes, in words; nothing where they don't."""
    if one.shape != other.shape:
        return f"{one.shape[:2]} and {other.shape[:2]} pixels"
    rows, columns = np.nonzero(np.abs(one - other).max(axis=2) > 2)
    if not len(rows):
        return ""
    about = f"in rows {rows.min()} to {rows.max()}, columns {columns.min()} to {columns.max()}"
    return f"{len(rows)} pixels {about} of {one.shape[:2]}, by {np.abs(one - other).max()} at most"


def plane_at(stage, x: float, y: float) -> int:
    """The plane under a place of a stage, −1 for none."""
    from PyQt6.QtCore import QPointF

    face, _ = stage.face_at(QPointF(x + 0.5, y + 0.5))
    return -1 if face < 0 else int(stage.head.display.plane_of_face[face])
