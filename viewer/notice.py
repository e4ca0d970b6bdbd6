"""The line above the head: what there is to say, the next of the first steps, and buttons for where one stands."""

from __future__ import annotations

from PyQt6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

from sitterlight.viewer.first_steps import FirstSteps
from sitterlight.viewer.memory import settings
from sitterlight.viewer.model import Model

BESIDE = "Drag to walk round both heads; click a plane to learn why."
AT_REST = "Drag to walk round the head, turn the wheel to come nearer, click a plane to learn why it has its colour."


class Notice(QWidget):
    """Two lines high whatever it says, so that the head below keeps its size; in a low window as high as need be."""

    def __init__(self, model: Model, steps: QWidget):
        super().__init__()
        self.model = model
        self._said, self._short = "", False
        self.sayings = 0  # how many were asked for: whoever asked for the last may take it back
        self.words = QLabel()
        self.words.setObjectName("soft")
        self.words.setWordWrap(True)
        self.words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.skip = _button("Skip", "no more first steps")
        self.skip.clicked.connect(lambda: self.first_steps.skip())
        self.difference = _button("Difference", "how far apart the two look, place by place (D)")
        self.difference.setCheckable(True)
        self.swap = _button("Exchange", "exchange the sitting at hand and the one held beside it (X)")
        self.swap.clicked.connect(model.swap)
        self.let_go = _button("Let go", "no longer hold a sitting beside (Esc)")
        self.let_go.clicked.connect(lambda: model.hold(None))
        self.here = _button("Stand here", "put the eye, and the white card that faces it, where you look from now (H)")
        self.here.clicked.connect(model.stand_here)
        self.back = _button("Go back", "look again from where the eye stands (G)")
        self.back.clicked.connect(lambda: model.look_from(None, None))
        self.first_steps = FirstSteps(model, set(settings().value("first_steps", []) or []), self._told)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(12, 2, 8, 3)
        layout.setSpacing(4)
        layout.addWidget(self.words, 1)
        for widget in (self.skip, steps, self.here, self.back, self.difference, self.swap, self.let_go):
            layout.addWidget(widget)
        self.set_short(False)

    def set_short(self, short: bool) -> None:
        """Take no room in a low window where there is nothing to say."""
        self._short = short
        self.setMinimumHeight(0 if short else 2 * self.fontMetrics().lineSpacing() + 8)
        self.mirror()

    def say(self, words: str) -> None:
        """A sentence; an empty one leaves room for what there is to say otherwise."""
        self._said = words
        self.sayings += 1
        self.mirror()

    def mirror(self) -> None:
        """Show what fits the state of the model."""
        state = self.model.state
        for button in (self.difference, self.swap, self.let_go):
            button.setVisible(state.held is not None)
        for button in (self.here, self.back):
            button.setVisible(state.gaze is not None)
        next_step = self.first_steps.words if state.held is None else ""
        elsewhere = "" if state.gaze is None else "Looking from elsewhere; the white card stays where it was."
        at_rest = AT_REST if state.held is None else BESIDE
        words = self._said or next_step or elsewhere or ("" if self._short else at_rest)
        self.words.setText(words)
        self.skip.setVisible(bool(next_step) and words == next_step)
        self.setVisible(
            not self._short
            or bool(words)
            or state.held is not None
            or state.gaze is not None
            or self.model.view == "values"
        )

    def _told(self) -> None:
        settings().setValue("first_steps", sorted(self.first_steps.done))
        self.mirror()


def _button(words: str, hint: str) -> QPushButton:
    button = QPushButton(words)
    button.setObjectName("quiet")
    button.setToolTip(hint)
    return button
