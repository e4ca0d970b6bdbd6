"""The second step of opening the window: what stands beside the head is made once the head is shown, piece by piece.

Modules are loaded, and what panels have to work out first is worked out, in a thread of its own, so that the window
goes on answering; widgets are made in the window's thread, each piece a short one. Whoever asks for a piece sooner has
all of them made at once (`Window.__getattr__`).
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from importlib import import_module

from PyQt6.QtCore import QObject, pyqtSignal

from sitterlight.shading.sitting import Sitting
from sitterlight.viewer import docks, turns, warming
from sitterlight.viewer.courtesy import take_short_turns
from sitterlight.viewer.tidying import set_aside

PARTS = frozenset(
    "answers background keeper files leaving recovering actions_by_name "  # noqa: SIM905 - shorter than a list
    "choice sitter lights eye planes_of_head paints palette_section table why rooms sheet leave".split()
)
"""The attributes of a window that the second step makes."""


@dataclass(frozen=True)
class Piece:
    """What `make(window)` adds to it, the module of the viewer that it is made of, and what is to be `worked_out` for
    the sitting before it is made."""

    module: str
    make: Callable[[object], None]
    worked_out: Callable[[Sitting], object] | None = None


def _part(name: str, module: str, kind: str, *given: str, worked_out=None) -> Piece:
    """The window's attribute `name`, of a class that takes these attributes of the window, or itself as "window"."""

    def make(window) -> None:
        found = getattr(import_module(f"sitterlight.viewer.{module}"), kind)
        setattr(window, name, found(*(window if one == "window" else getattr(window, one) for one in given)))

    return Piece(module, make, worked_out)


def _light(window) -> None:
    from sitterlight.viewer.answers import Answers

    window.answers = Answers(window)
    window.background = window.answers.background
    window.answers.ask()


def _left(window) -> None:
    docks.fill(window, docks.LEFT, docks.left_side(window))


def _add_left(place: int) -> Callable[[object], None]:
    return lambda window: docks.add_left(window, place)


def _right(window) -> None:
    docks.fill(window, docks.RIGHT, docks.right_side(window))


def _actions(window) -> None:
    from sitterlight.viewer.actions import make_actions

    window.actions_by_name = make_actions(window)


_LIGHT = Piece("answers", _light)
_PANELS = (
    _part("choice", "sitting_choice", "SittingChoice", worked_out=warming.choice),
    _part("sitter", "sitter_panel", "SitterPanel", "model", worked_out=warming.sitter),
    _part("lights", "light_panel", "LightPanel", "model", worked_out=warming.lights),
    _part("eye", "eye_panel", "EyePanel", "model", worked_out=warming.eye),
    _part("planes_of_head", "head_panel", "HeadPanel", "model"),
    _part("paints", "palette_panel", "PalettePanel", "model", "say", worked_out=warming.paints),
    Piece("docks", _left),
    *(Piece("docks", _add_left(place)) for place in range(docks.LEFT_PANELS)),
    _part("table", "planes_table", "PlanesTable"),
    _part("why", "why_panel", "WhyPanel"),
    _part("rooms", "plane_rooms", "PlaneRooms", "why"),
    Piece("docks", _right),
    _part("files", "files", "Files", "window"),
    _part("leaving", "leaving", "Leaving", "window"),
    _part("recovering", "recovering", "Recovering", "window"),
    Piece("actions", _actions),
)
_LAST = _part("keeper", "picture_keeper", "PictureKeeper", "window")


class Building(QObject):
    """Makes the pieces of a window, in their order. `ended` is called when there are no more."""

    _loaded = pyqtSignal(int)

    def __init__(self, window, ended: Callable[[], None]):
        super().__init__(window)
        self.window, self._ended = window, ended
        # Where a picture of another time is shown, what stands beside it is missed first; where none is, the light.
        order = (*_PANELS, _LIGHT) if window.kept is not None else (_LIGHT, *_PANELS)
        self._pieces = (*order, _LAST)
        self._made, self._ready, self._begun, self._making = 0, 0, False, False
        self._loaded.connect(self._take_loaded)

    def begin(self) -> None:
        """Load and make piece after piece while the window goes on."""
        if not self._begun:
            self._begun = True
            threading.Thread(target=self._load, args=(self.window.model.sitting,), name="loading", daemon=True).start()

    def _load(self, sitting: Sitting) -> None:
        take_short_turns()
        for count, piece in enumerate(self._pieces, 1):
            with suppress(Exception):  # said where the piece is made
                import_module(f"sitterlight.viewer.{piece.module}")
                if piece.worked_out is not None:
                    piece.worked_out(sitting)
            set_aside()
            with suppress(RuntimeError):  # the window has gone meanwhile
                self._loaded.emit(count)

    def _take_loaded(self, count: int) -> None:
        self._ready = max(self._ready, count)
        turns.soon(self, "piece", self._go_on)

    def _go_on(self) -> None:
        """One piece more, and the next when the window has had its turn."""
        if self._made < self._ready:
            self._make(self._made + 1)
        if self._made < self._ready:
            turns.soon(self, "piece", self._go_on)

    def finish(self) -> None:
        """Make what is not made yet, at once."""
        self._make(len(self._pieces))

    def _make(self, count: int) -> None:
        if self._making:
            return
        self._making = True
        try:
            while self._made < count:
                self._pieces[self._made].make(self.window)
                self._made += 1
        finally:
            self._making = False
        if self._made == len(self._pieces) and self._ended is not None:
            ended, self._ended = self._ended, None
            ended()
            set_aside()
