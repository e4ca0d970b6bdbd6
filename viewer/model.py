"""What the window is about, without Qt: the sitting at hand, where it is looked at from, and the way back.

Everything shown follows from a `State`, which never changes; a control makes a new one. Listeners are told by
topic: "state" (sitting, gaze or the sitting held beside it), "chosen", "view", "file", "said".
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

from sitterlight.shading.frame import Gaze, gaze_of
from sitterlight.shading.legend_words import VIEWS
from sitterlight.shading.sitting import Sitting, with_eye
from sitterlight.shading.sitting_references import check_references

MOST_STEPS = 200


def _planes_of(sitting: Sitting) -> tuple:
    """What decides which planes there are and how they are numbered, but not their names."""
    head = sitting.head
    joined = tuple((edit.number, edit.joined) for edit in head.plane if edit.joined)
    return head.mesh, head.unit, head.up, head.front, head.planes, joined


@dataclass(frozen=True)
class State:
    """A sitting; the gaze where it is not the sitting's own eye; and a sitting held beside it, or None."""

    sitting: Sitting
    gaze: Gaze | None = None
    held: Sitting | None = None

    @property
    def looks_from(self) -> Gaze:
        return self.gaze or gaze_of(self.sitting)


class _Step(NamedTuple):
    state: State
    what: str


class Model:
    """The sitting at hand with its undo and redo, the chosen plane and view, and its file."""

    def __init__(self, sitting: Sitting, path: Path | None = None):
        self.state = State(sitting)
        self.saved: Sitting | None = sitting
        self.path = path
        self.chosen: int | None = None
        self.view = VIEWS[0]
        self.said = ""
        self._undo: list[_Step] = []
        self._redo: list[_Step] = []
        self._open_key: str | None = None
        self._listeners: dict[str, list[Callable[[], None]]] = {}

    @property
    def sitting(self) -> Sitting:
        return self.state.sitting

    def on(self, topic: str, listener: Callable[[], None]) -> None:
        """Call `listener` whenever something of the topic has changed."""
        self._listeners.setdefault(topic, []).append(listener)

    def change(self, sitting: Sitting, what: str, key: str | None = None) -> None:
        """Take another sitting; `what` names the step. Steps of one `key` in a row, until `settle`, are one."""
        self._take(replace(self.state, sitting=sitting), what, key)

    def change_if_read(self, sitting: Sitting, key: str, what: str) -> bool:
        """Take another sitting if the file that its `key`, as "skin", names can be read; else `said` tells why not."""
        try:
            check_references(sitting, key)
        except ValueError as error:
            self.say(str(error))
            return False
        self.settle()
        self.change(sitting, what)
        return True

    def say(self, words: str) -> None:
        """Something that could not be done, in one sentence."""
        self.said = " ".join(words.split())
        self._tell("said")

    def look_from(self, gaze: Gaze | None, key: str | None = "gaze") -> None:
        """Look from elsewhere; None goes back to where the sitting's eye stands."""
        if gaze == gaze_of(self.sitting):
            gaze = None
        self._take(replace(self.state, gaze=gaze), "look from elsewhere", key)

    def stand_here(self) -> None:
        """Put the sitting's eye, and with it the white card, where the gaze is."""
        gaze = self.state.looks_from
        moved = with_eye(self.sitting, azimuth=gaze.azimuth, elevation=gaze.elevation, distance=gaze.distance)
        self._take(replace(self.state, sitting=moved, gaze=None), "stand here", None)

    def hold(self, sitting: Sitting | None) -> None:
        """Keep a sitting beside the one at hand, or none."""
        self._take(replace(self.state, held=sitting), "hold beside" if sitting else "let go", None)

    def show_pair(self, sitting: Sitting, held: Sitting, what: str) -> None:
        """Take two sittings at once, one at hand and one beside it."""
        self._take(State(sitting, None, held), what, None)

    def swap(self) -> None:
        """Exchange the sitting at hand and the one held beside it."""
        if self.state.held is not None:
            self._take(replace(self.state, sitting=self.state.held, held=self.sitting), "exchange", None)

    def _take(self, state: State, what: str, key: str | None) -> None:
        if state == self.state:
            return
        if key is None or key != self._open_key:
            self._undo.append(_Step(self.state, what))
            del self._undo[:-MOST_STEPS]
        self._open_key = key
        self._redo.clear()
        self._set(state)

    def settle(self) -> None:
        """The control has been let go: what comes next is a step of its own."""
        self._open_key = None

    @property
    def can_undo(self) -> str | None:
        """What undo would take back, or None."""
        return self._undo[-1].what if self._undo else None

    @property
    def can_redo(self) -> str | None:
        return self._redo[-1].what if self._redo else None

    def undo(self) -> None:
        self._go(self._undo, self._redo)

    def redo(self) -> None:
        self._go(self._redo, self._undo)

    def _go(self, back: list[_Step], forth: list[_Step]) -> None:
        self.settle()
        if back:
            step = back.pop()
            forth.append(_Step(self.state, step.what))
            self._set(step.state)

    def _set(self, state: State) -> None:
        other_head = _planes_of(state.sitting) != _planes_of(self.state.sitting)
        self.state = state
        if other_head and self.chosen is not None:
            self.choose(None)
        self._tell("state")

    def choose(self, plane: int | None) -> None:
        """Choose a plane by its number, or none."""
        if plane != self.chosen:
            self.chosen = plane
            self._tell("chosen")

    def show(self, view: str) -> None:
        """Choose one of VIEWS. ValueError for another name."""
        if view not in VIEWS:
            raise ValueError(f'"{view}" is no view; there are {", ".join(VIEWS)}.')
        if view != self.view:
            self.view = view
            self._tell("view")

    @property
    def changed(self) -> bool:
        """Whether the sitting differs from what was last opened or saved."""
        return self.sitting != self.saved

    def open(self, sitting: Sitting, path: Path | None = None) -> None:
        """Begin with another sitting; what was done before cannot be undone any more."""
        self._undo.clear()
        self._redo.clear()
        self.settle()
        self.saved, self.path, self.chosen = sitting, path, None
        self._set(State(sitting))
        self._tell("chosen")
        self._tell("file")

    def bring_back(self, sitting: Sitting, path: Path | None, held: Sitting | None = None) -> None:
        """Begin with a sitting that was never saved and the one held beside it; `path` is its file, or None."""
        self.open(sitting, path)
        self.saved = None
        if held is not None:
            self._set(replace(self.state, held=held))
        self._tell("file")

    def was_saved(self, path: Path, written: Sitting | None = None) -> None:
        """The sitting at hand is now in the file; `written` is the same with its files named as they are there."""
        before, self.state = self.state, replace(self.state, sitting=written or self.sitting)
        self.saved, self.path = self.sitting, path
        if self.state != before:
            self._tell("state")
        self._tell("file")

    def _tell(self, topic: str) -> None:
        for listener in list(self._listeners.get(topic, ())):
            listener()
