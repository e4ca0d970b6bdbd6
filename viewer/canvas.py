"""The widget that VTK draws into: one drawing for each wish to be shown, timed, as smooth as the machine allows."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from PyQt6.QtCore import QTimer, pyqtSignal
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkRenderingCore import vtkRenderer, vtkWindowToImageFilter

from sitterlight.viewer.vtk_widget import VtkWidget

SAMPLES = 4
"""Samples in a pixel where the graphics processor smooths edges."""

QUICK = 0.060
"""Seconds that a drawing at rest may take; what takes longer is left out."""

FLUENT = 0.030
"""Seconds of a drawing up to which the full mesh is drawn while the eye moves."""

LONGEST_WAIT = 2
"""Turns of the event loop that a canvas leaves to others: where one is drawn all the time, as under a drag."""

COLOUR_BUFFER = 0x4000
"""GL_COLOR_BUFFER_BIT of OpenGL."""

PLAIN, FILTERED, SAMPLED, COARSE = "plain", "filtered", "sampled", "coarse"


class Pace:
    """How smooth and how full to draw, from what drawings have cost on this machine. `costs` in seconds."""

    def __init__(self):
        self.costs: dict[str, float] = {}

    def note(self, kind: str, seconds: float) -> None:
        """Remember what a drawing took; one slow drawing among quick ones counts for a third."""
        before = self.costs.get(kind, seconds)
        self.costs[kind] = before + (seconds - before) / 3
        for dearer in (FILTERED, SAMPLED):
            if kind in (PLAIN, FILTERED) and 4 * seconds < self.costs.get(dearer, 0.0):
                del self.costs[dearer]  # the machine has more time than it had: worth another try

    def at_rest(self) -> str:
        """The smoothest way of drawing that is quick enough; a dearer one is tried where a cheaper is quick by far."""
        costs = self.costs
        for kind, cheaper in ((SAMPLED, FILTERED), (FILTERED, PLAIN)):
            if kind in costs and costs[kind] <= QUICK:
                return kind
            if kind not in costs and costs.get(cheaper, QUICK) <= QUICK / 4:
                return kind
        return FILTERED if FILTERED not in costs and costs.get(PLAIN, QUICK) <= QUICK / 2 else PLAIN

    @property
    def is_fluent(self) -> bool:
        """Whether the full mesh is drawn fast enough to follow the hand."""
        return 0 < min(self.costs.get(PLAIN, QUICK), self.costs.get(FILTERED, QUICK)) <= FLUENT


class Canvas(VtkWidget):
    """Draws when Qt paints it, and only what has changed. `drawn(seconds)` after each drawing."""

    drawn = pyqtSignal(float)
    _have_drawn = False
    """Whether one of them has been drawn in this turn of the event loop."""

    def __init__(self, parent=None):
        self._stale, self._hasty, self._resizing = True, False, False
        self._may_wait, self._turns, self._waited = True, 0, 0
        self.before_drawing: Callable[[], None] = lambda: None
        self.moving = self.coarse = False
        self.pace = Pace()
        super().__init__(parent)
        self.renderer, self.render_window = vtkRenderer(), self.GetRenderWindow()
        self.render_window.SetMultiSamples(0)
        self.render_window.AddRenderer(self.renderer)
        interactor = self.render_window.GetInteractor()
        interactor.SetInteractorStyle(None)  # the stage moves the eye itself
        interactor.Initialize()
        self.setAcceptDrops(False)  # files are the window's to take in

    def wish(self, hasty: bool = False) -> None:
        """Be drawn soon; many wishes in a row are one drawing. A hasty one, which others will follow, is plain."""
        self._hasty = hasty and (self._hasty or not self._stale)
        self._stale = True
        self.update()

    def resizeEvent(self, event) -> None:
        """Qt would draw at once for every size that a new layout passes through; the last is enough."""
        self._resizing, self._may_wait = True, self._turns < 2
        try:
            super().resizeEvent(event)
        finally:
            self._resizing = False
        self.wish()

    def paintGL(self) -> None:
        if self._resizing:
            return
        if self._turns < 2:
            self._begin()
        elif not self._stale:
            self._show_again()
        elif self._may_wait and Canvas._have_drawn and self._waited < LONGEST_WAIT:
            self._waited += 1
            self._show_again()
            QTimer.singleShot(0, self.update)
        else:
            self._draw()

    def _draw(self) -> None:
        self.before_drawing()
        kind = self._way()
        begun = time.perf_counter()
        super().paintGL()
        seconds = time.perf_counter() - begun
        self._stale = self._hasty = False
        self._may_wait, self._waited = True, 0
        self.pace.note(kind, seconds)
        self._let_others_wait()
        self.drawn.emit(seconds)

    def _begin(self) -> None:
        """Three turns for the first picture: plain ground; ground that VTK draws, which readies the graphics; the head,
        which has to be handed over to them."""
        self._turns += 1
        if self._turns == 1:
            self._fill(*self.renderer.GetBackground())
        else:
            shown = [actor for actor in self.renderer.GetActors() if actor.GetVisibility()]
            for actor in shown:
                actor.VisibilityOff()
            super().paintGL()
            for actor in shown:
                actor.VisibilityOn()
            self._let_others_wait()
        QTimer.singleShot(0, self.wish)

    def _fill(self, red: float, green: float, blue: float) -> None:
        """The whole canvas in one colour, by what the widget has of the graphics' own functions."""
        graphics = getattr(self, "_gl", None)
        if graphics is not None:
            graphics.glClearColor(red, green, blue, 1.0)
            graphics.glClear(COLOUR_BUFFER)

    def _let_others_wait(self) -> None:
        """Of several canvases one is drawn in a turn of the event loop, so that the hand is soon answered."""
        Canvas._have_drawn = True
        QTimer.singleShot(0, _next_turn)

    def _show_again(self) -> None:
        """What was drawn last, without drawing it anew."""
        self._in_paint = True
        try:
            super().paintGL()
        finally:
            self._in_paint = False

    def _way(self) -> str:
        kind = COARSE if self.coarse else PLAIN if self.moving or self._hasty else self.pace.at_rest()
        self._smooth(kind)
        return kind

    def _smooth(self, kind: str) -> None:
        samples = SAMPLES if kind == SAMPLED else 0
        if samples != self.render_window.GetMultiSamples():
            self.render_window.SetMultiSamples(samples)
        self.renderer.SetUseFXAA(kind == FILTERED)

    def picture(self) -> np.ndarray:
        """What is shown, (H,W,3) uint8, drawn plain: every pixel is one place of the head."""
        self._smooth(PLAIN)
        self._ensure_initialized()
        self.render_window.MakeCurrent()
        self.render_window.Render()
        read = vtkWindowToImageFilter()
        read.SetInput(self.render_window)
        read.SetInputBufferTypeToRGB()
        read.ReadFrontBufferOff()
        read.ShouldRerenderOff()
        read.Update()
        image = read.GetOutput()
        width, height, _ = image.GetDimensions()
        picture = vtk_to_numpy(image.GetPointData().GetScalars()).reshape(height, width, -1)[::-1, :, :3].copy()
        self.wish()
        return picture


def _next_turn() -> None:
    Canvas._have_drawn = False
