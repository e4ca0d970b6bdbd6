"""The stage: one lit head on neutral grey, drawn as calculated. VTK gives no light and bends no colour."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from PyQt6.QtCore import QEvent, QPointF, Qt, QTimer, pyqtSignal
from PyQt6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from sitterlight.shading.frame import Gaze
from sitterlight.shading.legend_words import legend
from sitterlight.viewer.camera import Framing, aim, apart, framing, turned, view_of
from sitterlight.viewer.canvas import Canvas
from sitterlight.viewer.drawing import HeadDrawing
from sitterlight.viewer.framings import Framings
from sitterlight.viewer.looks import Appearance
from sitterlight.viewer.picking import Picker

if TYPE_CHECKING:
    from sitterlight.meshes.head import Head
    from sitterlight.viewer.engine import Lit
    from sitterlight.viewer.kept_picture import KeptPicture

DEGREES_PER_WIDTH = 180.0
STILL = 4.0  # pixels a press may wander and still be a click

NEAR = 15.0
"""Degrees by which the eye may be moved at once: from there the sheen is nearly the same."""

PATIENCE = 600
"""Milliseconds after which the eye goes elsewhere though what is seen from there is not known yet."""


class Stage(QWidget):
    """A lit head that can be walked round and asked. Emits `gazed(Gaze)` while the eye moves and `rested()` when it
    is let go; `pointed(face, weights)` under the pointer, face −1 for none; `picked(plane)`, −1 for none;
    `reframed(Framing)` when the window of the picture was chosen anew, `resized()` when its size has changed."""

    gazed = pyqtSignal(object)
    rested = pyqtSignal()
    pointed = pyqtSignal(int, object)
    picked = pyqtSignal(int)
    reframed = pyqtSignal(object)
    resized = pyqtSignal()

    def __init__(self, parent: QWidget | None = None):
        super().__init__(parent)
        self.plotter = Canvas(self)
        self.plotter.setAccessibleName("the lit head")
        self.plotter.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.plotter)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(80, 150)  # wide enough for a head where three stand in a narrow window
        self.head: Head | None = None
        self.lit: Lit | None = None
        self.rotation = np.eye(3)
        self.gaze = Gaze(0.0, 0.0, 1500.0)
        self._framings = Framings(self._fitting)
        self._is_misplaced = False
        self.drawing = HeadDrawing(self.plotter.renderer)
        self._pressed: QPointF | None = None
        self._last = QPointF()
        self._button = Qt.MouseButton.NoButton
        self._wandered = False
        self._picker: Picker | None = None
        self.awaited: Gaze | None = None  # where the eye goes once it is known what is seen from there
        self._patience = QTimer(self)
        self._patience.setSingleShot(True)
        self._patience.timeout.connect(lambda: self.look_from(self.heading))
        self.plotter.installEventFilter(self)
        self.plotter.setMouseTracking(True)
        self.plotter.before_drawing, self.plotter.stand_in = self._settle, self.drawing.stand_in

    @property
    def heading(self) -> Gaze:
        """Where the eye goes, or, where it goes nowhere, is."""
        return self.awaited or self.gaze

    @property
    def window_frame(self) -> Framing | None:
        """The window of the picture; None before there is one."""
        return self._framings.window

    def set_surround(self, code: int) -> None:
        """The grey behind the head, an sRGB code."""
        self.plotter.renderer.SetBackground(*[code / 255.0] * 3)
        self.render()

    def show_lit(self, lit: Lit, looks: Appearance, gaze: Gaze | None = None) -> None:
        """Show a lit head. The camera goes to `gaze` if one is given."""
        self.lit, before = lit, self.window_frame
        if self.head is None or self.head.key != lit.head.key:
            self._take(lit.head)
        elif self.head is not lit.head:
            self.head, self._picker = lit.head, None
            self.drawing.take_head(lit.head)
        if self.awaited is not None:
            self._see_from(lit.gaze)
        elif gaze is not None:
            self.gaze = gaze
        self.rotation = lit.scene.rotation
        self.drawing.turn(self.rotation)
        self.drawing.paint(looks)
        if self.window_frame is None:
            self.frame()
        elif self.window_frame != before:
            self.reframed.emit(self.window_frame)
        self._place_camera()
        self.render()

    def _take(self, head: Head) -> None:
        """Show another head from now on."""
        self.head, self._picker = head, None
        self.drawing.set_head(head)
        self._framings.turn_to(head.shape_key)

    def show_kept(self, kept: KeptPicture) -> None:
        """Show a head as it was lit at another time, before there is anything that can be asked."""
        self._take(kept.head)
        self.gaze, self.rotation = kept.gaze, kept.rotation
        self.drawing.turn(kept.rotation)
        self.drawing.paint(kept.looks)
        self.frame()
        self._place_camera()
        self.render()

    def show_appearance(self, looks: Appearance) -> None:
        """Show the same lit head in another view."""
        if self.lit is not None:
            self.drawing.turn(self.lit.scene.rotation)  # a glimpse may have turned it otherwise
        self.drawing.paint(looks)
        self.render()

    def show_codes(self, codes: np.ndarray, rotation: np.ndarray, gaze: Gaze) -> None:
        """Show the head in other colours, `codes (D,4)`, as seen from `gaze`, and turned by `rotation`; the eye stays
        where it is unless it waits for them."""
        if self.awaited is not None:
            self._see_from(gaze)
            self._place_camera()
        self.drawing.turn(rotation)
        self.drawing.paint(Appearance(legend("as seen"), of_vertex=codes))
        self.plotter.wish(hasty=True)

    def look_from(self, gaze: Gaze, reframe: bool = False) -> None:
        """Move the camera only."""
        self.gaze, self.awaited = gaze, None
        if reframe:
            self.frame()
        self._place_camera()
        self.render()

    def go_to(self, gaze: Gaze, patiently: bool = False) -> None:
        """Look from elsewhere: far from here not before it is known what is seen there, or, but `patiently`, soon."""
        if not patiently and (apart(self.gaze, gaze) < NEAR or self.lit is None or self.lit.gaze == gaze):
            self.look_from(gaze)
        elif gaze != self.awaited:
            self.awaited = gaze
            self._patience.stop() if patiently else self._patience.start(PATIENCE)

    def _see_from(self, gaze: Gaze) -> None:
        self.gaze = gaze
        self.awaited = None if gaze == self.awaited else self.awaited

    def frame(self) -> None:
        """Let the head fill the stage again."""
        if self.head is not None:
            self.set_framing(self._fitting())
            self.reframed.emit(self.window_frame)

    def _fitting(self, gaze: Gaze | None = None) -> Framing:
        return framing(self.head, gaze or self.gaze, self.rotation, self._size())

    def _settle(self) -> None:
        """Place the camera anew where the size has changed since: a new layout passes through many sizes."""
        if self._is_misplaced:
            self._place_camera()

    def set_framing(self, window: Framing) -> None:
        """Take a window."""
        self._framings.window = window
        self._place_camera()
        self.render()

    def mark_plane(self, plane: int | None) -> None:
        """Draw a line round a plane, or round none."""
        self.drawing.mark_plane(plane, self.devicePixelRatioF())
        self.render()

    @property
    def is_dragged(self) -> bool:
        """Whether the eye is being moved on this stage just now."""
        return self._pressed is not None and self._wandered

    def render(self) -> None:
        """Draw as soon as the window has a moment; many wishes in a row are one drawing."""
        self.plotter.wish()

    def picture(self) -> np.ndarray:
        """What the stage shows, (H,W,3) uint8, edges unsmoothed."""
        self._move(False)
        self._settle()
        return self.plotter.picture()

    def _move(self, moving: bool) -> None:
        """While the eye moves, where drawing is slow, the lighter mesh and unsmoothed edges."""
        canvas = self.plotter
        if moving == canvas.moving:
            return
        canvas.moving = moving
        canvas.coarse = moving and self.drawing.has_coarse and not canvas.pace.is_fluent
        self.drawing.coarsen(canvas.coarse)
        self.render()

    def face_at(self, place: QPointF) -> tuple[int, np.ndarray]:
        """The face of the display mesh under a place of this widget, −1 for none, and its corners' weights."""
        if self.lit is None or self.window_frame is None:
            return -1, np.zeros(3)
        if self._picker is None:
            self._picker = Picker(self.head.display.vertices, self.head.display.faces)
        view = view_of(self.gaze, self.window_frame, self.lit.scene.rotation, (self.width(), self.height()))
        return self._picker.face_at(view, place.x(), place.y())

    def _size(self) -> tuple[int, int]:
        return max(self.width(), 1), max(self.height(), 1)

    def _place_camera(self) -> None:
        if self.window_frame is None:
            return
        self._is_misplaced = False
        aim(self.plotter.renderer.GetActiveCamera(), self.gaze, self.window_frame, self._size())
        self.plotter.renderer.ResetCameraClippingRange()

    def resizeEvent(self, event) -> None:
        super().resizeEvent(event)
        self._is_misplaced = True
        self._framings.outgrow()
        self.resized.emit()

    def eventFilter(self, watched, event) -> bool:
        """All of the mouse is answered here; VTK's own ways of turning never see it."""
        kind = event.type()
        if kind == QEvent.Type.MouseButtonPress:
            self.plotter.setFocus()
            self._pressed = self._last = event.position()
            self._button = event.button()
            return True
        if kind == QEvent.Type.MouseMove:
            self._moved(event)
            return True
        if kind == QEvent.Type.MouseButtonRelease:
            self._released(event)
            return True
        if kind == QEvent.Type.MouseButtonDblClick:
            self.frame()
            self.look_from(self.gaze)
            return True
        if kind == QEvent.Type.Wheel:
            self.zoom(1.0015 ** event.angleDelta().y())
            return True
        if kind == QEvent.Type.Leave:
            self.pointed.emit(-1, None)
        if kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
            event.ignore()
            return True
        return False

    def zoom(self, factor: float) -> None:
        if self.window_frame is not None:
            self.set_framing(self.window_frame.zoomed(factor))
            self.reframed.emit(self.window_frame)

    def _moved(self, event) -> None:
        if self._pressed is None:
            self.pointed.emit(*self.face_at(event.position()))
            return
        step = event.position() - self._last
        self._last = event.position()
        shifts = self._button != Qt.MouseButton.LeftButton or event.modifiers() & Qt.KeyboardModifier.ShiftModifier
        if shifts and self.window_frame is not None:
            self.set_framing(self.window_frame.moved(-step.x() / self.height(), step.y() / self.height()))
            self.reframed.emit(self.window_frame)
            return
        if (event.position() - self._pressed).manhattanLength() <= STILL and not self._wandered:
            return
        degrees = DEGREES_PER_WIDTH / max(self.width(), 1)
        self._wandered = True
        self._move(True)
        self.look_from(turned(self.gaze, -step.x() * degrees, step.y() * degrees))
        self.gazed.emit(self.gaze)

    def _released(self, event) -> None:
        if self._pressed is not None and not self._wandered and self._button == Qt.MouseButton.LeftButton:
            face, _ = self.face_at(event.position())
            self.picked.emit(-1 if face < 0 else int(self.head.display.plane_of_face[face]))
        elif self._pressed is not None:
            self._move(False)
            self.rested.emit()
        self._pressed, self._wandered = None, False

    def close_stage(self) -> None:
        """Let go of the graphics before Qt does."""
        self.plotter.close()
