"""Every way of using the window that is measured."""

from __future__ import annotations

import tempfile
from pathlib import Path

from .trial import STEPS, Trial, hand, wait


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

    _drag(trial, "skin slider: oil", window.sitter.oil.slider, 300, 10, 3)
    _drag(trial, "skin slider: roughness", window.sitter.roughness.slider, 300, 10, 3)
    _drag(trial, "skin slider: melanin", window.sitter.amounts["melanin"].slider, 300, 10, 3)
    trial.measure("ladder, chip after chip", lambda k: window.sitter.chips[k % 9].clicked.emit(), 9)

    turn = window.lights.map
    mark = turn.marks[0]
    start = turn.place(mark.azimuth, mark.elevation)
    hand(window, True, start.x(), start.y(), "press", turn)
    trial.measure(
        "lamp drag", lambda k: hand(window, True, start.x() + 2 * k + trial.round, start.y() - k, "move", turn)
    )
    hand(window, False, start.x(), start.y(), "release", turn)
    _drag(trial, "strength of a lamp", window.lights.editor.strength.slider, 400, 5, 2)
    _drag(trial, "turn of the head", window.sitter.turn.slider, 400, 5, 2)
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
        wait(lambda: not window.leaving.is_busy)


def _drag(trial: Trial, name: str, slider, first: int, step: int, round_step: int) -> None:
    """A slider under the hand, in other places each round, so that none is known already."""
    slider.setSliderDown(True)
    trial.measure(name, lambda k: slider.setValue(first + step * k + round_step * trial.round))
    slider.setSliderDown(False)
