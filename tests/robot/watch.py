"""What the robot watches: what was raised in any thread, what Qt and VTK complain of, silence, memory."""

from __future__ import annotations

import gc
import os
import sys
import threading
import time
import traceback
from pathlib import Path

from PyQt6.QtCore import QTimer, QtMsgType, qInstallMessageHandler

ROOT = Path(__file__).resolve().parents[2]
BEAT = 20
"""Milliseconds between two beats of the event loop."""

OWN_WORK, SILENCE = 2.0, 5.0
"""Seconds between two beats that are a fault: of the window's own work, and of work and waiting together, without
what other programs took of the processor."""

GROWTH = 150
"""MB by which the process may grow between the second quarter of a run and its end."""

LEAST = 480.0
"""Seconds of a run from which on it tells of growth: every export, view and palette fills its own memory once."""

_HARMLESS = (
    "propagateSizeHints",
    "This plugin does not support",
    "QStandardPaths",
    "Could not connect to any X display",
    "setlocale",
    "Qt depends on a UTF-8 locale",
    "QPrinter",
    "cups",
    "Failed to create XRender picture",
)


class Watch:
    """`faults`, each one line or more, in the order in which they came."""

    def __init__(self, note):
        self.note, self.faults, self.sentences = note, [], {}
        self.longest = self.longest_own = 0.0
        self.memory: list[tuple[float, float]] = []
        self._begun = time.monotonic()
        sys.excepthook = self._raised
        threading.excepthook = lambda given: self._raised(given.exc_type, given.exc_value, given.exc_traceback)
        qInstallMessageHandler(self._qt)
        self._watch_vtk()
        self._watch_refusals()
        self._timer = QTimer()
        self._timer.timeout.connect(self._beat)
        self._main, self._seen = threading.get_ident(), ""
        self.rest()
        self._timer.start(BEAT)
        threading.Thread(target=self._look_on, daemon=True).start()

    def fault(self, words: str) -> None:
        """Something that must not be."""
        if words not in self.faults:
            self.faults.append(words)
            self.note(f"FAULT {words}")

    def rest(self) -> None:
        """Begin to listen anew: what came before was the robot's own work."""
        self._last, self._worked, self._queued = time.monotonic(), time.thread_time(), _queued()

    def _beat(self) -> None:
        now, worked = time.monotonic(), time.thread_time()
        gap, own = now - self._last - (_queued() - self._queued), worked - self._worked
        self.longest, self.longest_own = max(self.longest, gap), max(self.longest_own, own)
        if own > OWN_WORK or gap > SILENCE:
            self.fault(f"the event loop was silent for {gap:.1f} s, {own:.1f} s of it its own work\n{self._seen}")
        self._seen = ""
        self.rest()

    def _look_on(self) -> None:
        """Where the window's thread is while it is silent."""
        while True:
            time.sleep(0.2)
            if time.monotonic() - self._last > 0.7 * OWN_WORK and not self._seen:
                self._seen = "".join(traceback.format_stack(sys._current_frames()[self._main])[-9:])

    def _raised(self, kind, error, trace) -> None:
        self.fault("".join(traceback.format_exception(kind, error, trace)))

    def _qt(self, kind, _context, words) -> None:
        if kind not in (QtMsgType.QtDebugMsg, QtMsgType.QtInfoMsg) and not any(one in words for one in _HARMLESS):
            self.fault(f"Qt: {words}")

    def _watch_vtk(self) -> None:
        from vtkmodules.vtkCommonCore import vtkOutputWindow, vtkStringOutputWindow

        self._vtk = vtkStringOutputWindow()
        vtkOutputWindow.SetInstance(self._vtk)
        self._vtk_told = 0

    def _watch_refusals(self) -> None:
        """What becomes a sentence in the window must have been meant as one: raised by our own code."""
        from sitterlight.viewer import background

        told = background.sentence

        def sentence(error: Exception) -> str:
            frames = traceback.extract_tb(error.__traceback__)
            meant = isinstance(error, ValueError | OSError | MemoryError) and frames
            if not meant or not Path(frames[-1].filename).is_relative_to(ROOT):
                self.fault("as a sentence: " + "".join(traceback.format_exception(error)))
            return told(error)

        background.sentence = sentence

    def check(self) -> None:
        """Whatever is only found by asking."""
        words = self._vtk.GetOutput() or ""
        if len(words) > self._vtk_told:
            self.fault(f"VTK: {words[self._vtk_told :][:2000]}")
            self._vtk_told = len(words)

    def weigh(self) -> float:
        """Memory of this process, in MB, without what the allocator holds free; also noted. 0 where nobody says."""
        from sitterlight.viewer.thrift import give_back

        gc.collect()
        give_back()
        try:
            pages = int(Path("/proc/self/statm").read_text().split()[1])
        except (OSError, ValueError):
            return 0.0
        held = pages * os.sysconf("SC_PAGE_SIZE") / 1e6
        self.memory.append((time.monotonic() - self._begun, held))
        self.rest()
        return held

    def held(self) -> str:
        """What is remembered on purpose, and how many widgets and threads there are, in words."""
        from PyQt6.QtWidgets import QApplication

        from sitterlight.shading.memory import Memory, bytes_of

        # Not gc.get_objects(), which spoils tuples that other threads are just making.
        ours = [module for name, module in list(sys.modules.items()) if name.startswith("sitterlight.")]
        memories = {id(one): one for module in ours for one in vars(module).values() if isinstance(one, Memory)}
        remembered = bytes_of([list(one._known.values()) for one in memories.values()]) / 1e6
        self.rest()
        widgets, threads = len(QApplication.allWidgets()), threading.active_count()
        return f"remembered {remembered:.0f} MB, {widgets} widgets, {threads} threads"

    def growth(self) -> float | None:
        """MB from the second quarter of the run, whose mean of the upper half counts, to the last tenth."""
        if not self.memory or self.memory[-1][0] < LEAST:
            return None
        held = [each for _, each in self.memory]
        early = sorted(held[len(held) // 4 : len(held) // 2])
        late = sorted(held[-max(len(held) // 10, 3) :])
        return late[len(late) // 2] - sum(early[len(early) // 2 :]) / len(early[len(early) // 2 :])


def _queued() -> float:
    """Seconds for which this thread could have worked, but the processor was given to others; 0 where not known."""
    try:
        return int(Path("/proc/thread-self/schedstat").read_text().split()[1]) / 1e9
    except (OSError, ValueError, IndexError):
        return 0.0
