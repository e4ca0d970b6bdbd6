"""The middle of the window: the choice of view, one stage or two with tied cameras, what is said of them, a legend."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PyQt6.QtCore import Qt, QTimer, pyqtSignal
from PyQt6.QtWidgets import QSplitter, QVBoxLayout, QWidget

from sitterlight.shading.frame import Gaze
from sitterlight.viewer.apart import apart_from
from sitterlight.viewer.controls import Elided
from sitterlight.viewer.legend_strip import LegendStrip
from sitterlight.viewer.lesson_strip import LessonStrip
from sitterlight.viewer.looks import Appearance
from sitterlight.viewer.model import Model
from sitterlight.viewer.notice import Notice
from sitterlight.viewer.stage import Stage
from sitterlight.viewer.view_bar import ViewBar

if TYPE_CHECKING:
    from sitterlight.viewer.engine import Glimpse, Lit
    from sitterlight.viewer.kept_picture import KeptPicture


class Stages(QWidget):
    """The first stage shows the sitting at hand, the second the one held beside it, the third how far apart they look.
    Emits `compared(held, at hand)` where that is asked for."""

    compared = pyqtSignal(object, object)

    def __init__(self, model: Model):
        super().__init__()
        self.model = model
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        self.bar = ViewBar()
        layout.addWidget(self.bar)
        self.lesson = LessonStrip(model)  # above, so that its buttons keep their place whatever is said below
        self.lesson.begun.connect(lambda: self.lesson.tell(self.second.lit, self.first.lit))  # which may be lit already
        layout.addWidget(self.lesson)
        self.notice = Notice(model, self.bar.steps)
        self.words, self.difference = self.notice.words, self.notice.difference
        self.difference.toggled.connect(self._toggle_difference)
        self.notice.say("Lighting the head … The very first time takes some seconds.")
        layout.addWidget(self.notice)
        self.all = self.first, self.second, self.third = Stage(), Stage(), Stage()
        self.split = QSplitter(Qt.Orientation.Horizontal)
        self._first_box, self.first_words = _titled(self.first)
        self._second_box, self.second_words = _titled(self.second)
        self._third_box, self.third_words = _titled(self.third)
        for box in (self._second_box, self._first_box, self._third_box):
            self.split.addWidget(box)
        self.split.setChildrenCollapsible(False)
        layout.addWidget(self.split, 1)
        self.legend = LegendStrip()
        layout.addWidget(self.legend)
        self.shows_difference = self._short = False
        self._highest = 0.0
        self._fitting = QTimer(self)
        self._fitting.setSingleShot(True)
        self._fitting.timeout.connect(self._fit)
        for stage in self.all:
            stage.gazed.connect(lambda gaze, stage=stage: self._tie(stage, gaze))
            stage.reframed.connect(lambda window, stage=stage: self._tie_window(stage, window))
            stage.resized.connect(self._fitting.start)
        self._second_box.hide()
        self._third_box.hide()

    def mirror(self) -> None:
        """Show as many stages as the state asks for."""
        state = self.model.state
        self._second_box.setVisible(state.held is not None)
        self.notice.mirror()
        self._word_both()
        if state.held is None and self.difference.isChecked():
            self.difference.setChecked(False)
        if not any(stage.is_dragged for stage in self.all):
            for stage in self.all:
                if stage.lit is not None and stage.heading != state.looks_from:
                    stage.go_to(state.looks_from, patiently=self._is_waiting(stage))

    def _is_waiting(self, stage: Stage) -> bool:
        """Whether the sitting held beside is still to be lit, so that its stage shows an earlier one."""
        held = self.model.state.held
        return stage is self.second and held is not None and (stage.lit is None or stage.lit.sitting != held)

    def _word_both(self) -> None:
        """Which sitting is on which stage, and whether it is there yet; what differs first, where words are cut."""
        state = self.model.state
        both = state.held is not None
        self.first_words.setVisible(both)
        self.second_words.setVisible(both)
        if not both:
            return
        for stage, words, place, one, other in (
            (self.first, self.first_words, "at hand", state.sitting, state.held),
            (self.second, self.second_words, "held", state.held, state.sitting),
        ):
            told = apart_from(one, other) if one.title == other.title else []
            waiting = "being lit … " if self._is_waiting(stage) else ""
            words.setText(f"{waiting}{place}: {', '.join([*told, one.title])}")

    def say(self, words: str) -> None:
        """A sentence above the head; an empty one takes the last back."""
        self.notice.say(words)

    def show_first(self, lit: Lit, looks: Appearance, gaze: Gaze | None) -> None:
        """Show the sitting at hand."""
        self.first.show_lit(lit, looks, gaze)
        self.legend.show_legend(looks.legend, stepped=looks.steps is not None)
        if self.shows_difference:
            self._ask_difference()

    def show_kept(self, kept: KeptPicture) -> None:
        """Show the sitting at hand as it was when it was lit at another time."""
        self.say("")
        self.first.show_kept(kept)
        self.legend.show_legend(kept.looks.legend)

    def show_second(self, lit: Lit, looks: Appearance) -> None:
        """Show the sitting held beside."""
        gaze = None if self.second.is_dragged else self.first.heading
        self.second.show_lit(lit, looks, gaze)
        self._word_both()
        if self.first.window_frame is not None:
            self.second.frame()
        if self.shows_difference:
            self._ask_difference()

    def show_glimpse(self, place: str, seen: Glimpse, gaze: Gaze) -> None:
        """Show the colours alone of what is being dragged."""
        stage = self.first if place == "first" else self.second
        if self.model.view == "as seen" and stage.head is not None and stage.head.key == seen.head.key:
            stage.show_codes(seen.codes, seen.rotation, gaze)

    def show_looks(self, stage: Stage, looks: Appearance) -> None:
        """Show what is on a stage in another view."""
        stage.show_appearance(looks)
        if stage is self.first:
            self.legend.show_legend(looks.legend, stepped=looks.steps is not None)

    def _toggle_difference(self, shown: bool) -> None:
        if shown and self.model.state.held is None:
            self.difference.setChecked(False)
            self.say("Hold a sitting beside first (Ctrl+H): the difference is between the two.")
            return
        self.shows_difference = shown
        self._third_box.setVisible(shown)
        if shown:
            self._ask_difference()

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
            self.third.show_lit(at_hand, looks, self.first.heading)
            if self.first.window_frame is not None:
                self.third.frame()
            self.third.mark_plane(self.model.chosen)
            self._highest = looks.legend.scale.marks[-1][0]
            self._word_third()
            self.third_words.show()

    def set_short(self, short: bool) -> None:
        """Leave more room for the head in a low window."""
        self._short = short
        self.legend.set_short(short)
        self.lesson.fit()
        self._mirror_legend()
        self.notice.set_short(short)

    def set_surround(self, code: int) -> None:
        for stage in self.all:
            stage.set_surround(code)

    def close_stages(self) -> None:
        for stage in self.all:
            stage.close_stage()

    def _tie(self, moved: Stage, gaze: Gaze) -> None:
        for stage in self.all:
            if stage is not moved and stage.isVisible():
                stage.look_from(gaze)

    def _word_third(self) -> None:
        """What the greys of the difference mean, in as many words as there is room for."""
        if self.third.lit is None:
            return
        told = f"difference, ΔE00: light 0, dark {self._highest:.0f} or more; 1 is hardly seen"
        ways = told, f"difference: dark is ΔE {self._highest:.0f}", f"dark: ΔE {self._highest:.0f}"
        room = self.third.width() - 8
        fitting = [words for words in ways if self.fontMetrics().horizontalAdvance(words) <= room]
        self.third_words.setText(fitting[0] if fitting else ways[-1])
        self.third_words.setToolTip(told)

    def _mirror_legend(self) -> None:
        """Under a lesson, which says more, a low window has room for the scale alone."""
        self.legend.set_crowded(self._short and self.lesson.isVisibleTo(self))

    def _fit(self) -> None:
        """Give all stages the one window in which the narrowest has the whole head: heads are compared in one size."""
        shown = [stage for stage in self.all if stage.isVisible() and stage.window_frame is not None]
        widest = max((stage.window_frame for stage in shown), key=lambda window: window.half_height, default=None)
        for stage in shown:
            if stage.window_frame != widest:
                stage.set_framing(widest)
        self._word_third()
        self._mirror_legend()

    def _tie_window(self, moved: Stage, window) -> None:
        for stage in self.all:
            if stage is not moved and stage.isVisible() and stage.window_frame not in (None, window):
                stage.set_framing(window)


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
