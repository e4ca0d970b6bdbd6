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
import time
from pathlib import Path

from .heart import Heart
from .trial import Trial, close, wait
from .uses import uses_of


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
    window = Window(Model(built_in("lamp-and-dusk")), in_steps=True)
    window.resize(*map(int, asked.size.split("x")))
    window.show()
    heart = Heart(stacks)
    wait(lambda: window.is_whole)
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
