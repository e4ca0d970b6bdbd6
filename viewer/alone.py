"""What each light would make of the chosen plane if it alone were switched on, as chips beside each other."""

from __future__ import annotations

import numpy as np
from PyQt6.QtCore import QSize
from PyQt6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from sitterlight.shading.colour_spaces import hex_from_XYZ
from sitterlight.shading.eye import Eye
from sitterlight.viewer.chip import Chip
from sitterlight.viewer.controls import soft

MOST = 6


class Alone(QWidget):
    """Chips in one row, the strongest light first."""

    def __init__(self):
        super().__init__()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 2, 0, 2)
        layout.setSpacing(2)
        self.heading = soft("Each light alone, to the same eye; light adds up, so together they make the colour seen")
        layout.addWidget(self.heading)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(4)
        self._grid.setVerticalSpacing(0)
        layout.addLayout(self._grid)
        self.chips: list[Chip] = []
        self.words: list = []
        for place in range(MOST):
            chip, words = Chip("", QSize(30, 28)), soft()
            self._grid.addWidget(chip, 0, place)
            self._grid.addWidget(words, 1, place)
            self._grid.setColumnStretch(place, 1)
            self.chips.append(chip)
            self.words.append(words)

    def show_added(self, added: dict[str, np.ndarray], eye: Eye) -> None:
        """Show what each light adds to a plane, XYZ (3,) in cd/m² by name; one light alone is no news."""
        found = sorted(((name, XYZ) for name, XYZ in added.items() if XYZ[1] > 0), key=lambda pair: -pair[1][1])
        total = sum(XYZ[1] for _, XYZ in found)
        found = [(name, XYZ) for name, XYZ in found if XYZ[1] >= 0.005 * total][:MOST]
        self.setVisible(len(found) > 1)
        for place, (chip, words) in enumerate(zip(self.chips, self.words, strict=True)):
            shown = place < len(found)
            chip.setVisible(shown)
            words.setVisible(shown)
            if shown:
                name, XYZ = found[place]
                name = "other skin" if name == "bounce" else name
                chip.set_colour(hex_from_XYZ(eye.screen_XYZ(XYZ)))
                text = f"{name}\n{100 * XYZ[1] / total:.0f} %\nL* {float(eye.Lab(XYZ)[0]):.0f}"
                chip.setAccessibleName(text.replace("\n", ", "))
                chip.setToolTip(chip.accessibleName())
                words.setText(text)
