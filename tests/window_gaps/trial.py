"""The window used step by step, as a hand would, with its heart measured meanwhile."""

from __future__ import annotations

import time
from collections.abc import Callable

from .heart import Heart, Use

STEPS = 40
"""Steps of a drag, one each `STEP_MS` milliseconds."""

STEP_MS = 25
PATIENCE = 240.0


class Trial:
    """The window and what is done with it."""

    def __init__(self, heart: Heart, window, rounds: int = 1, only: tuple[str, ...] = ()):
        self.heart, self.window, self.rounds, self.only = heart, window, rounds, only
        self.round = 0
        self.uses: list[Use] = []
        for stage in (window.stages.first, window.stages.second):
            stage.plotter.drawn.connect(lambda seconds: self.heart.use.draws.append(seconds))
        window.background.answered.connect(lambda answer: self.heart.use.answers.append(answer.seconds))

    def measure(self, name: str, step: Callable[[int], None], steps: int = STEPS) -> None:
        """Do `step(k)` every `STEP_MS` milliseconds, then wait until the window is at rest; the best of some rounds."""
        if self.only and not any(word in name for word in self.only):
            if steps == 1:  # what others build on
                step(0)
                self.rest()
            return
        rounds = []
        for number in range(1 if steps == 1 else self.rounds):
            self.round = number
            rounds.append(self._once(name, step, steps))
        best = min(rounds, key=lambda use: use.alone)
        best.longest, best.own = (min(getattr(use, each) for use in rounds) for each in ("longest", "own"))
        self.uses.append(best)
        print(best.line(), flush=True)

    def _once(self, name: str, step: Callable[[int], None], steps: int) -> Use:
        from PyQt6.QtCore import QTimer

        self.heart.use = use = Use(name)
        begun, done = time.perf_counter(), [0]
        timer = QTimer()

        def go() -> None:
            if done[0] < steps:
                step(done[0])
                done[0] += 1
                if done[0] == steps:
                    use.seconds = time.perf_counter() - begun

        timer.timeout.connect(go)
        timer.start(STEP_MS)
        wait(lambda: done[0] >= steps)
        timer.stop()
        drawn = len(use.draws)
        self.rest()
        del use.draws[max(drawn, 1) :]
        return use

    def rest(self) -> None:
        """Until lit, counted and mixed."""
        wait(lambda: not self.window.background.is_busy and self.window.lit is not None and self.window.lit.exact)
        until = time.perf_counter() + 0.3
        wait(lambda: time.perf_counter() > until)


def wait(done: Callable[[], bool]) -> None:
    """Let the event loop go on until then."""
    from PyQt6.QtCore import QEventLoop, QTimer

    loop, timer, begun = QEventLoop(), QTimer(), time.perf_counter()
    timer.timeout.connect(lambda: (done() or time.perf_counter() - begun > PATIENCE) and loop.quit())
    timer.start(10)
    loop.exec()


def hand(window, button_down: bool, x: float, y: float, kind: str, widget=None) -> None:
    """A movement of the mouse on the first stage, sent through Qt."""
    from PyQt6.QtCore import QEvent, QPointF, Qt
    from PyQt6.QtGui import QMouseEvent
    from PyQt6.QtWidgets import QApplication

    widget = widget or window.stages.first.plotter
    kinds = {
        "press": QEvent.Type.MouseButtonPress,
        "move": QEvent.Type.MouseMove,
        "release": QEvent.Type.MouseButtonRelease,
    }
    place = QPointF(x, y)
    left, none = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
    event = QMouseEvent(
        kinds[kind],
        place,
        widget.mapToGlobal(place),
        none if kind == "move" else left,
        left if button_down else none,
        Qt.KeyboardModifier.NoModifier,
    )
    QApplication.sendEvent(widget, event)


def close(app, window) -> None:
    """Close the window without being asked about what is unsaved."""
    window.model.saved = window.model.sitting
    window.close()
    app.processEvents()
