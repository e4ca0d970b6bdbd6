"""How the heads of a stage are framed: who comes back to one finds it as it was left, zoomed and shifted."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace

from sitterlight.shading.frame import Gaze
from sitterlight.viewer.camera import Framing

MOST = 12
"""Heads whose framing is remembered."""


class Framings:
    """The window of the picture of the head at hand, and those of heads before it, by the keys of their shapes.

    `fit(gaze)` finds the window that the head at hand fills as seen from there. After a change of size the window is
    fitted anew when it is asked for, from where it was fitted before, and keeps its zoom and shift."""

    def __init__(self, fit: Callable[[Gaze | None], Framing]):
        self._fit, self._head, self._sizes = fit, "", 0
        self._known: OrderedDict[str, tuple[Framing, int]] = OrderedDict()

    @property
    def window(self) -> Framing | None:
        """That of the head at hand; None before there is one."""
        if self._head not in self._known:
            return None
        kept, sizes = self._known[self._head]
        if sizes != self._sizes:
            fitting = self._fit(kept.seen_from)
            self.window = kept = replace(fitting, zoom=kept.zoom, shift=kept.shift)
        return kept

    @window.setter
    def window(self, window: Framing) -> None:
        self._known[self._head] = window, self._sizes

    def turn_to(self, head: str) -> None:
        """From now on the head whose shape has this key is at hand."""
        self._head = head
        if head in self._known:
            self._known.move_to_end(head)
        while len(self._known) > MOST:
            self._known.popitem(last=False)

    def outgrow(self) -> None:
        """The picture has another size from now on."""
        self._sizes += 1
