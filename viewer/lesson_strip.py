"""A lesson above the two stages: its title, what it says of them, the next one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PyQt6.QtCore import Qt, pyqtSignal
from PyQt6.QtWidgets import QHBoxLayout, QScrollArea, QToolButton, QVBoxLayout, QWidget

from sitterlight.viewer.controls import Elided, soft
from sitterlight.viewer.model import Model

FEWEST_LINES, MOST_LINES, REST = 3, 8, 360
"""Lines of what is said, and the height in pixels that all else of the window wants first."""

if TYPE_CHECKING:
    from sitterlight.viewer.engine import Lit
    from sitterlight.viewer.lessons import Lesson


class LessonStrip(QWidget):
    """Begins lessons, fills in their figures when both heads are lit, and ends them. `begun()`, and `ended()` when
    closed."""

    begun = pyqtSignal()
    ended = pyqtSignal()

    def __init__(self, model: Model):
        super().__init__()
        self.model = model
        self.lesson: Lesson | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 6, 12, 4)
        layout.setSpacing(3)
        top = QHBoxLayout()
        self.title, self.text = Elided(), soft()
        self.title.setObjectName("title")
        self.text.setObjectName("value")
        self.following, self.close_button = QToolButton(), QToolButton()
        for button, words, hint, slot in (
            (self.following, "Next lesson", "after the last the first", self.go_on),
            (self.close_button, "Close", "end the lesson; the sitting at hand stays", self.end),
        ):
            button.setObjectName("quiet")
            button.setText(words)
            button.setToolTip(hint)
            button.clicked.connect(slot)
        top.addWidget(self.title, 1)
        top.addWidget(self.following)
        top.addWidget(self.close_button)
        layout.addLayout(top)
        self.place = QScrollArea()
        self.place.setWidget(self.text)
        self.place.setAccessibleName("what the lesson says")
        self.place.setWidgetResizable(True)
        self.place.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.place.setFrameShape(QScrollArea.Shape.NoFrame)
        layout.addWidget(self.place)
        model.on("state", self._left)
        self.hide()

    def begin(self, lesson: Lesson) -> None:
        """Show a lesson; a step that can be undone."""
        from sitterlight.viewer.lessons import lessons

        self.lesson = None
        self.model.settle()
        self.model.show(lesson.view)
        self.model.show_pair(lesson.sitting, lesson.held, f"lesson {lesson.title}")
        self.lesson = lesson
        titles = [other.title for other in lessons()]
        place = f"{titles.index(lesson.title) + 1} of {len(titles)}   " if lesson.title in titles else ""
        self.title.setText(f"{place}{lesson.title}")
        self._say("Lighting both heads …")
        self.show()
        self.begun.emit()

    def go_on(self) -> None:
        """The next lesson, after the last the first."""
        from sitterlight.viewer.lessons import lessons

        titles = [lesson.title for lesson in lessons()]
        place = titles.index(self.lesson.title) if self.lesson else -1
        self.begin(lessons()[(place + 1) % len(titles)])

    def end(self) -> None:
        """Close the lesson; the sitting at hand stays."""
        self.lesson = None
        self.hide()
        self.model.hold(None)
        self.ended.emit()

    def tell(self, held: Lit | None, at_hand: Lit | None) -> None:
        """Fill in the text once both heads of the lesson are lit exactly, whichever of them is at hand."""
        if self.lesson is None or not all(lit is not None and lit.exact and lit.has("rows") for lit in (held, at_hand)):
            return
        for first, second in ((held, at_hand), (at_hand, held)):
            if (first.sitting, second.sitting) == (self.lesson.held, self.lesson.sitting):
                self._say(self.lesson.text(first, second))

    def resizeEvent(self, event) -> None:
        super().resizeEvent(event)
        self.fit()

    def _say(self, words: str) -> None:
        self.text.setText(words)
        self.fit()

    def fit(self) -> None:
        """As high as the words are, up to as many lines as the window has room for; what is longer is scrolled."""
        bar, margins = self.place.verticalScrollBar().sizeHint().width(), self.layout().contentsMargins()
        needed = self.text.heightForWidth(self.width() - margins.left() - margins.right() - bar)
        line = self.fontMetrics().lineSpacing()
        lines = min(max(FEWEST_LINES, (self.window().height() - REST) // line), MOST_LINES)
        self.place.setFixedHeight(min(max(needed, line), lines * line))

    def _left(self) -> None:
        """A lesson ends when one of its sittings is changed; exchanging them is no change."""
        state, lesson = self.model.state, self.lesson
        if lesson and (state.sitting, state.held) not in (
            (lesson.sitting, lesson.held),
            (lesson.held, lesson.sitting),
        ):
            self.lesson = None
            self.hide()
