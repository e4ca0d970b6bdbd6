"""How long the window ever stands still, and what a frame costs: python -m tests.window_gaps, with a screen.

A timer of the event loop beats every few milliseconds while the real window, on the built-in bust with its 73 000
vertices, is used as a hand would use it. For each use it tells the longest silence between two beats; the longest one
less what was spent waiting for a processor, by the window's thread or by one that it waited for, which is as it would
be on a machine with nothing else to do (Linux alone tells); the longest time between two beats that the window's own
thread was at work; how many pictures were drawn, what a drawing cost, and how long a new light or skin took to be
answered. No silence should be longer than a tenth of a second. `--stacks FILE` writes where every thread stood in each
longer one, `--rounds N` repeats each use and tells the best, `--only WORD …` measures some uses alone.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import threading
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

BEAT = 5
"""Milliseconds between two beats."""

LONG = 0.080
"""Seconds of silence of which the stacks are written."""

STEPS = 40
"""Steps of a drag, one each `STEP_MS` milliseconds."""

STEP_MS = 25
PATIENCE = 240.0


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


class Queues:
    """How long threads of this process have waited for a processor: what /proc/self/task/*/schedstat tells of them."""

    DRAWING = "llvmpipe"
    """What the threads that draw where there is no graphics processor are called."""

    def __init__(self):
        self._window, self._known = threading.get_native_id(), 0
        self._others: dict[int, int] = {}
        self._drawing: set[int] = set()

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

    @staticmethod
    def _of(place: int) -> float:
        try:
            return int(os.pread(place, 100, 0).split()[1]) / 1e9
        except (OSError, IndexError):
            return 0.0  # the thread has ended


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
        self.wait(lambda: done[0] >= steps)
        timer.stop()
        drawn = len(use.draws)
        self.rest()
        del use.draws[max(drawn, 1) :]
        return use

    def rest(self) -> None:
        """Until lit, counted and mixed."""
        self.wait(lambda: not self.window.background.is_busy and self.window.lit is not None and self.window.lit.exact)
        until = time.perf_counter() + 0.3
        self.wait(lambda: time.perf_counter() > until)

    def wait(self, done: Callable[[], bool]) -> None:
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


def uses_of(trial: Trial) -> None:
    """Every way of using the window that is measured."""
    window = trial.window
    stage = window.stages.first
    middle_x, middle_y = stage.width() / 2, stage.height() / 2

    trial.measure("pointer over the head", lambda k: hand(window, False, middle_x - 60 + 3 * k, middle_y, "move"))
    hand(window, True, middle_x, middle_y, "press")
    trial.measure("camera drag", lambda k: hand(window, True, middle_x + 3 * k, middle_y + k, "move"))
    hand(window, False, middle_x + 3 * STEPS, middle_y, "release")
    trial.measure("camera at rest again", lambda k: None, 1)

    oil = window.sitter.oil.slider
    oil.setSliderDown(True)
    trial.measure("skin slider: oil", lambda k: oil.setValue(300 + 10 * k + 3 * trial.round))
    oil.setSliderDown(False)
    rough = window.sitter.roughness.slider
    rough.setSliderDown(True)
    trial.measure("skin slider: roughness", lambda k: rough.setValue(300 + 10 * k + 3 * trial.round))
    rough.setSliderDown(False)
    melanin = window.sitter.amounts["melanin"].slider
    melanin.setSliderDown(True)
    trial.measure("skin slider: melanin", lambda k: melanin.setValue(300 + 10 * k + 3 * trial.round))
    melanin.setSliderDown(False)
    trial.measure("ladder, chip after chip", lambda k: window.sitter.chips[k % 9].clicked.emit(), 9)

    turn = window.lights.map
    mark = turn.marks[0]
    start = turn.place(mark.azimuth, mark.elevation)
    hand(window, True, start.x(), start.y(), "press", turn)
    trial.measure(
        "lamp drag", lambda k: hand(window, True, start.x() + 2 * k + trial.round, start.y() - k, "move", turn)
    )
    hand(window, False, start.x(), start.y(), "release", turn)
    strength = window.lights.editor.strength.slider
    strength.setSliderDown(True)
    trial.measure("strength of a lamp", lambda k: strength.setValue(400 + 5 * k + 2 * trial.round))
    strength.setSliderDown(False)
    head = window.sitter.turn.slider
    head.setSliderDown(True)
    trial.measure("turn of the head", lambda k: head.setValue(400 + 5 * k + 2 * trial.round))
    head.setSliderDown(False)
    trial.measure("adaptation", lambda k: window.eye.adaptation.slider.setValue(900 - 10 * k - 3 * trial.round))

    views = list(window.stages.bar.buttons)
    trial.measure("views in turn", lambda k: window.model.show(views[k % len(views)]), 12)
    window.model.show("as seen")
    trial.measure("planes in turn", lambda k: window.model.choose(k), 30)
    rooms = ("plan", "strings", "why")
    trial.measure("rooms of a plane in turn", lambda k: window.rooms.show_room(rooms[k % 3]), 9)
    window.rooms.show_room("strings")
    trial.measure("strings, plane after plane", lambda k: window.model.choose(k), 10)
    window.rooms.show_room("why")
    trial.measure("search", lambda k: window.table.search.setText("nose"[: k % 5]), 10)
    window.table.search.setText("")
    trial.measure("hold beside", lambda k: window.actions_by_name["hold"].trigger(), 1)
    trial.measure("skin with two stages", lambda k: window.sitter.chips[k % 9].clicked.emit(), 9)
    trial.measure("difference", lambda k: window.actions_by_name["difference"].trigger(), 2)
    if window.stages.shows_difference:
        window.actions_by_name["difference"].trigger()
    trial.measure("let go", lambda k: window.actions_by_name["let go"].trigger(), 1)
    trial.measure("undo, step by step", lambda k: window.model.undo(), 10)
    trial.measure("another sitting", lambda k: window.files.open_built_in("open-shade"), 1)
    folder = Path(tempfile.mkdtemp())
    for name in ("sheet", "layers", "mesh-glb"):
        trial.measure(f"leaving with {name}", lambda k, name=name: window.leaving.write(name, folder / name), 1)
        trial.wait(lambda: not window.leaving.is_busy)


def close(app, window) -> None:
    """Close the window without being asked about what is unsaved."""
    window.model.saved = window.model.sitting
    window.close()
    app.processEvents()


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.window_gaps", description=__doc__.splitlines()[0])
    parser.add_argument("--stacks", type=Path, help="write what every thread did in each long silence to this file")
    parser.add_argument("--rounds", type=int, default=1, help="times that each use is repeated; the best is told")
    parser.add_argument("--only", nargs="+", default=(), metavar="WORD", help="measure uses alone whose name holds it")
    parser.add_argument("--size", default="1280x800", help="of the window in pixels")
    asked = parser.parse_args(arguments)
    os.environ.setdefault("QT_API", "pyqt6")
    os.environ["SITTERLIGHT_SETTINGS"] = tempfile.mkdtemp()
    from sitterlight.shading.sittings import built_in
    from sitterlight.viewer.main_window import Window, make_application
    from sitterlight.viewer.model import Model

    app = make_application()
    stacks = asked.stacks.open("w") if asked.stacks else None
    begun = time.perf_counter()
    window = Window(Model(built_in("lamp-and-dusk")))
    window.resize(*map(int, asked.size.split("x")))
    window.show()
    heart = Heart(stacks)
    trial = Trial(heart, window, asked.rounds, tuple(asked.only))
    print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors, window {asked.size}")
    print(f"{'':34s}  longest  without  longest    drawn      drawing, ms       answer, ms")
    print(f"{'use':34s}  silence   queues own work    per s  middle, longest  middle, longest")
    trial.uses.append(heart.use)
    trial.rest()
    heart.use.draws.clear()
    print(heart.use.line(), f"  ({time.perf_counter() - begun:.1f} s until at rest)")
    uses_of(trial)
    worst = max(trial.uses[1:], key=lambda use: use.longest)
    print(f"longest silence once open: {1000 * worst.longest:.0f} ms, in {worst.name}")
    worst = max(trial.uses[1:], key=lambda use: use.alone)
    print(f"the same without queues for a processor: {1000 * worst.alone:.0f} ms, in {worst.name}")
    worst = max(trial.uses[1:], key=lambda use: use.own)
    print(f"longest own work of the window's thread: {1000 * worst.own:.0f} ms, in {worst.name}")
    print(f"load of the machine at the end {os.getloadavg()[0]:.1f}")
    close(app, window)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
