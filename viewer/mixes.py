"""What to mix for a plane: a chip, its notation and its recipe for each stroke."""

from __future__ import annotations

from collections.abc import Sequence

from PyQt6.QtCore import QSize
from PyQt6.QtWidgets import QGridLayout, QWidget

from sitterlight.shading.sheet_paints import recipe_words
from sitterlight.shading.targets import Target
from sitterlight.viewer.controls import Chip, soft, titled

MOST_STROKES = 3


class Mixes(QWidget):
    """Up to three strokes, one under the other."""

    def __init__(self):
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(3)
        grid.addWidget(titled("To mix"), 0, 0, 1, 2)
        self._lines = []
        for line in range(1, MOST_STROKES + 1):
            chip, words = Chip("", QSize(28, 30)), soft()
            words.setObjectName("value")
            grid.addWidget(chip, line, 0)
            grid.addWidget(words, line, 1)
            self._lines.append((chip, words))
        grid.setColumnStretch(1, 1)

    def show_targets(self, targets: Sequence[Target]) -> None:
        """Show these strokes."""
        for place, (chip, words) in enumerate(self._lines):
            shown = place < len(targets)
            chip.setVisible(shown)
            words.setVisible(shown)
            if shown:
                chip.set_colour(targets[place].srgb)
                words.setText(stroke_words(targets[place]))


def stroke_words(target: Target) -> str:
    """Part and share, Munsell, and the recipe where there is one yet."""
    part = "" if target.part == "whole" else f"{target.part}, {target.share_of_area:.0%}: "
    recipe = recipe_words(target.recipe) or "looking for a mix …"
    return f"{part}{target.munsell or 'above white'}\n{recipe}"
