"""The middle of the window: the choice of view, one stage or two with tied cameras, what is said of them, a legend."""

from __future__ import annotations

from PyQt6.QtCore import Qt, pyqtSignal
from PyQt6.QtWidgets import QSplitter, QVBoxLayout, QWidget

from sitterlight.shading.frame import Gaze
from sitterlight.viewer.apart import apart_from
from sitterlight.viewer.appearance import Appearance
from sitterlight.viewer.controls import Elided
from sitterlight.viewer.engine import Glimpse, Lit
from sitterlight.viewer.legend_strip import LegendStrip
from sitterlight.viewer.lesson_strip import LessonStrip
from sitterlight.viewer.model import Model
from sitterlight.viewer.notice import Notice
from sitterlight.viewer.stage import Stage
from sitterlight.viewer.view_bar import ViewBar


class Stages(QWidget):
    """The first stage shows the sitting at hand, the second the one held beside it. Emits `compared(held, at hand)`
    where their difference is asked for, and `viewed()` where the view is to be shown again."""

    compared = pyqtSignal(object, object)
    viewed = pyqtSignal()

    def __init__(self, model: Model):
        super().__init__()
        self.model = model
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        self.bar = ViewBar()
        layout.addWidget(self.bar)
        self.notice = Notice(model, self.bar.steps)
        self.words, self.difference = self.notice.words, self.notice.difference
        self.difference.toggled.connect(self._toggle_difference)
        self.notice.say("Lighting the head …")
        layout.addWidget(self.notice)
        self.first, self.second = Stage(), Stage()
        self.split = QSplitter(Qt.Orientation.Horizontal)
        self._first_box, self.first_words = _titled(self.first)
        self._second_box, self.second_words = _titled(self.second)
        self.split.addWidget(self._second_box)
        self.split.addWidget(self._first_box)
        self.split.setChildrenCollapsible(False)
        layout.addWidget(self.split, 1)
        self.lesson = LessonStrip(model)
        layout.addWidget(self.lesson)
        self.legend = LegendStrip()
        layout.addWidget(self.legend)
        self.shows_difference = False
        self.first.gazed.connect(lambda gaze: self._tie(self.second, gaze))
        self.second.gazed.connect(lambda gaze: self._tie(self.first, gaze))
        self.first.reframed.connect(lambda window: self._tie_window(self.second, window))
        self.second.reframed.connect(lambda window: self._tie_window(self.first, window))
        self._second_box.hide()

    def mirror(self) -> None:
        """Show as many stages as the state asks for."""
        state = self.model.state
        self._second_box.setVisible(state.held is not None)
        self.notice.mirror()
        both = state.held is not None
        self.first_words.setVisible(both)
        self.second_words.setVisible(both)
        if both:
            for words, place, one, other in (
                (self.first_words, "at hand", state.sitting, state.held),
                (self.second_words, "held", state.held, state.sitting),
            ):
                words.setText(", ".join([f"{place}: {one.title}", *apart_from(one, other)]))
        elif self.difference.isChecked():
            self.difference.setChecked(False)
        if not self.first.is_dragged and not self.second.is_dragged:
            for stage in (self.first, self.second):
                if stage.lit is not None and stage.gaze != state.looks_from:
                    stage.look_from(state.looks_from)

    def say(self, words: str) -> None:
        """A sentence above the head; an empty one takes the last back."""
        self.notice.say(words)

    def show_first(self, lit: Lit, looks: Appearance, gaze: Gaze | None) -> None:
        """Show the sitting at hand."""
        self.first.show_lit(lit, looks, gaze)
        if self.shows_difference:
            self._ask_difference()
        else:
            self.legend.show_legend(looks.legend, stepped=looks.steps is not None)

    def show_second(self, lit: Lit, looks: Appearance) -> None:
        """Show the sitting held beside."""
        gaze = None if self.second.is_dragged else self.first.gaze
        self.second.show_lit(lit, looks, gaze)
        if self.first.window_frame is not None:
            self.second.frame()
        if self.shows_difference:
            self._ask_difference()

    def show_glimpse(self, place: str, seen: Glimpse) -> None:
        """Show the colours alone of what is being dragged."""
        stage = self.first if place == "first" else self.second
        as_seen = self.model.view == "as seen" and not (stage is self.first and self.shows_difference)
        if as_seen and stage.head is not None and stage.head.key == seen.head.key:
            stage.show_codes(seen.codes, seen.rotation)

    def show_looks(self, stage: Stage, looks: Appearance) -> None:
        """Show what is on a stage in another view."""
        if stage is self.first and self.shows_difference:
            return
        stage.show_appearance(looks)
        if stage is self.first:
            self.legend.show_legend(looks.legend, stepped=looks.steps is not None)

    def _toggle_difference(self, shown: bool) -> None:
        self.shows_difference = shown
        if shown:
            self._ask_difference()
        else:
            self.viewed.emit()

    def _ask_difference(self) -> None:
        held, at_hand = self.second.lit, self.first.lit
        if held is None or at_hand is None:
            return
        if held.head.key != at_hand.head.key:
            self.say("There is a difference to show only where both sittings have the same head.")
            return
        self.compared.emit(held, at_hand)

    def show_difference(self, held: Lit, at_hand: Lit, looks: Appearance) -> None:
        """Show how far apart the two are, where these are still the two that are shown."""
        if self.shows_difference and held is self.second.lit and at_hand is self.first.lit:
            self.first.show_appearance(looks)
            self.legend.show_legend(looks.legend)

    def set_short(self, short: bool) -> None:
        """Leave more room for the head in a low window."""
        self.legend.set_short(short)
        self.notice.set_short(short)

    def set_surround(self, code: int) -> None:
        for stage in (self.first, self.second):
            stage.set_surround(code)

    def close_stages(self) -> None:
        self.first.close_stage()
        self.second.close_stage()

    def _tie(self, other: Stage, gaze: Gaze) -> None:
        if other.isVisible():
            other.look_from(gaze)

    def _tie_window(self, other: Stage, window) -> None:
        if other.isVisible() and other.window_frame is not None and other.window_frame != window:
            other.set_framing(window)


def _titled(stage: Stage) -> tuple[QWidget, Elided]:
    box = QWidget()
    layout = QVBoxLayout(box)
    layout.setContentsMargins(0, 0, 0, 0)
    layout.setSpacing(0)
    words = Elided()
    words.setObjectName("soft")
    words.setAlignment(Qt.AlignmentFlag.AlignCenter)
    words.setContentsMargins(4, 3, 4, 3)
    layout.addWidget(words)
    layout.addWidget(stage, 1)
    words.hide()
    return box, words
