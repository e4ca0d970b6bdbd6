"""How much memory the window holds in long use: python -m tests.window_memory, with a screen.

The real window on the built-in bust goes through many heads, lights, skins and places of the eye, held beside each
other and let go, for as many rounds as are asked for. After each round it tells the megabytes of the process when at
rest, the most it ever had, and what the remembered results hold of it.
"""

from __future__ import annotations

import argparse
import os
import resource
import sys
import tempfile
import time

SITTINGS = ("lamp-and-dusk", "garden-overcast", "afternoon-terrace", "warm-and-cool", "north-studio", "open-shade")


def resident() -> float:
    """Megabytes of this process in memory now."""
    with open("/proc/self/statm", encoding="ascii") as facts:
        return float(facts.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6


def told(what: str, begun: float) -> None:
    """One line about now."""
    from sitterlight.shading.memory import KEPT

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6
    held = f"{resident():6.0f} MB at rest, {most:6.0f} at most, {KEPT.held_bytes / 1e6:6.0f} kept"
    print(f"{what:28s} {held}, {time.time() - begun:5.0f} s", flush=True)


def used(trial, k: int) -> None:
    """One round: a sitting, then everything about it changed."""
    from tests.window_gaps.trial import hand

    window = trial.window
    window.files.open_built_in(SITTINGS[k % len(SITTINGS)])
    trial.rest()
    stage = window.stages.first
    x, y = stage.width() / 2, stage.height() / 2
    hand(window, True, x, y, "press")
    trial.measure("camera", lambda n: hand(window, True, x + 4 * n, y + k, "move"), 20)
    hand(window, False, x + 80, y, "release")
    trial.rest()
    for name in ("oil", "roughness"):
        slider = getattr(window.sitter, name).slider
        trial.measure(name, lambda n, slider=slider: slider.setValue(300 + 40 * n + 7 * k), 8)
    chart = window.lights.map
    for mark in chart.marks[:1]:  # a sky has none
        start = chart.place(mark.azimuth, mark.elevation)
        hand(window, True, start.x(), start.y(), "press", chart)
        trial.measure("lamp", lambda n, at=start: hand(window, True, at.x() + 3 * n, at.y() - n, "move", chart), 15)
        hand(window, False, start.x() + 45, start.y(), "release", chart)
        trial.rest()
    trial.measure("turn", lambda n: window.sitter.turn.slider.setValue(300 + 40 * n + 5 * k), 10)
    trial.measure("hold", lambda n: window.actions_by_name["hold"].trigger(), 1)
    trial.measure("skins", lambda n: window.sitter.chips[n % 9].clicked.emit(), 9)
    trial.measure("let go", lambda n: window.actions_by_name["let go"].trigger(), 1)
    views = list(window.stages.bar.buttons)
    trial.measure("views", lambda n: window.model.show(views[n % len(views)]), 9)
    window.model.show("as seen")


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.window_memory", description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=6)
    asked = parser.parse_args(arguments)
    os.environ.setdefault("QT_API", "pyqt6")
    os.environ["SITTERLIGHT_SETTINGS"] = tempfile.mkdtemp()
    from sitterlight.shading.sittings import built_in
    from sitterlight.viewer.main_window import Window, make_application
    from sitterlight.viewer.model import Model
    from tests.window_gaps.heart import Heart
    from tests.window_gaps.trial import Trial, close

    app = make_application()
    begun = time.time()
    told("loaded", begun)
    window = Window(Model(built_in("lamp-and-dusk")))
    window.resize(1280, 800)
    window.show()
    trial = Trial(Heart(None), window)
    trial.rest()
    told("first picture", begun)
    for k in range(asked.rounds):
        used(trial, k)
        until = time.perf_counter() + 3
        trial.wait(lambda until=until: time.perf_counter() > until)  # until the window gives memory back
        told(f"round {k + 1}, {SITTINGS[k % len(SITTINGS)]}", begun)
    close(app, window)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
