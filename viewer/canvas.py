"""The widget that VTK draws into: one drawing for each wish to be shown, timed, as smooth as the machine allows."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from PyQt6.QtCore import QRect, pyqtSignal
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkRenderingCore import vtkRenderer, vtkWindowToImageFilter

from sitterlight.viewer import turns
from sitterlight.viewer.vtk_widget import VtkWidget

SAMPLES = 4
"""Samples in a pixel where the graphics processor smooths edges."""

QUICK = 0.060
"""Seconds that a drawing at rest may take; what takes longer is left out."""

FLUENT = 0.030
"""Seconds of a drawing up to which the full mesh is drawn while the eye moves."""

READY, NOT_YET = 4, (0, 0)
"""Turns after which a head can be drawn, and the size of what has not been drawn yet."""

COLOUR_BUFFER = 0x4000
"""GL_COLOR_BUFFER_BIT of OpenGL."""

LESS_OR_EQUAL, SCISSOR, DRAW_BUFFER, NEAREST = 0x0203, 0x0C11, 0x8CA9, 0x2600
"""GL_LEQUAL, GL_SCISSOR_TEST, GL_DRAW_FRAMEBUFFER and GL_NEAREST."""

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
    """Draws in a turn of its own, and only what has changed; painting then only shows what was drawn last.

    `drawn(seconds)` when something newly drawn is shown.
    """

    drawn = pyqtSignal(float)

    def __init__(self, parent=None):
        self._stale, self._hasty, self._resizing = True, False, False
        self._turns, self._size_drawn = 0, NOT_YET
        self._size_to_take: tuple[int, int] | None = None
        self._fresh: float | None = None
        self.before_drawing: Callable[[], None] = lambda: None
        self.stand_in: Callable[[bool], None] = lambda shown: None
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
        if self._turns == 0:
            self.update()  # only painting makes the graphics ready
        else:
            turns.soon(self, "draw", self._draw)

    def resizeEvent(self, event) -> None:
        """Qt would draw at once for every size that a new layout passes through; the last is enough."""
        self._resizing = True
        try:
            super().resizeEvent(event)
        finally:
            self._resizing = False
        self.wish()

    def resizeGL(self, width: int, height: int) -> None:
        """VTK, which would forget its picture, is told of another size when it is to draw anew."""
        self._size_to_take = width, height

    def _take_size(self) -> None:
        if self._size_to_take is not None:
            super().resizeGL(*self._size_to_take)
            self._size_to_take = None

    def paintGL(self) -> None:
        """Show what was drawn last; what is newer is drawn in its turn."""
        if self._resizing:
            return
        if self._size_drawn == NOT_YET:
            self._fill(*self.renderer.GetBackground())
            self._turns = max(self._turns, 1)
        else:
            self._show()
        if self._stale:
            self.wish()

    def _draw(self) -> None:
        if not self._stale or not self.isVisible() or not self.render_window.GetReadyForRendering():
            return  # painting asks again
        if self._turns < READY:
            self._ready()
            return
        self.before_drawing()
        kind = self._way()
        self._stale = self._hasty = False
        self._fresh, self._size_drawn = self._render(), tuple(self.render_window.GetSize())
        self.pace.note(kind, self._fresh)
        self.update()

    def _ready(self) -> None:
        """Draw the ground alone, then something small as a head is drawn, plain and filtered, none of which is shown:
        to make the graphics ready, to have them translate how heads are drawn, and to hand one to them takes long."""
        shown = [actor for actor in self.renderer.GetActors() if actor.GetVisibility()]
        camera = self.renderer.GetActiveCamera()
        self.renderer.SetActiveCamera(self.renderer.MakeCamera())
        if self._turns == 1:
            for actor in shown:
                actor.VisibilityOff()
        else:
            self.stand_in(True)
            self.renderer.ResetCamera()
        self._smooth(FILTERED if self._turns == 3 else PLAIN)
        self._render()
        if self._turns == 1:
            for actor in shown:
                actor.VisibilityOn()
        else:
            self.stand_in(False)
        self.renderer.SetActiveCamera(camera)
        self._turns += 1
        self.wish()

    def _render(self) -> float:
        """Have VTK draw outside of painting; the seconds that took."""
        begun = time.perf_counter()
        self.makeCurrent()
        self._take_size()
        state = self.render_window.GetState()
        state.Reset()  # Qt has used the graphics meanwhile
        state.Push()
        state.vtkglDepthFunc(LESS_OR_EQUAL)
        self.renderer.ResetCameraClippingRange()  # what is drawn may have changed since the eye was placed
        self._in_paint = True
        try:
            self.render_window.GetInteractor().Render()
        finally:
            self._in_paint = False
            state.Pop()
        return time.perf_counter() - begun

    def _fill(self, red: float, green: float, blue: float) -> None:
        """The whole canvas in one colour, by what the widget has of the graphics' own functions."""
        graphics = getattr(self, "_gl", None)
        if graphics is not None:
            graphics.glClearColor(red, green, blue, 1.0)
            graphics.glClear(COLOUR_BUFFER)

    def _show(self) -> None:
        """What was drawn last, without drawing it anew."""
        self._in_paint = True
        try:
            super().paintGL()
        finally:
            self._in_paint = False
        if self._fresh is not None:
            seconds, self._fresh = self._fresh, None
            self.drawn.emit(seconds)

    def _blit(self, target_id: int, rect: QRect) -> None:
        """As in the widget; what was drawn for another size is shown unscaled in the middle, until it is drawn anew."""
        window, size, drawn = self.render_window, (rect.width(), rect.height()), self._size_drawn
        if size == drawn or self._gl is None:
            super()._blit(target_id, rect)
            return
        window.GetState().vtkglDisable(SCISSOR)
        self._gl.glDisable(SCISSOR)
        self._gl.glBindFramebuffer(DRAW_BUFFER, target_id)
        self._gl.draw_buffer_attachment0()
        self._fill(*self.renderer.GetBackground())
        common = [min(one, other) for one, other in zip(size, drawn, strict=True)]
        within = [[(one - part) // 2 for one, part in zip(whole, common, strict=True)] for whole in (drawn, size)]
        window.BlitDisplayFramebuffer(0, *within[0], *common, *within[1], *common, COLOUR_BUFFER, NEAREST)
        self._gl.glColorMask(False, False, False, True)  # VTK's ground would let through what is behind the window
        self._fill(0.0, 0.0, 0.0)
        self._gl.glColorMask(True, True, True, True)

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
        self._take_size()
        self.renderer.ResetCameraClippingRange()
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
