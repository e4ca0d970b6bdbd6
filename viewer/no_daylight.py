"""What stands in the day plan for a sitting without sun and sky of a place and hour: why, and an offer to add one."""

from __future__ import annotations

from dataclasses import replace

from PyQt6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from sitterlight.shading.sitting import DaylightLight, with_lights
from sitterlight.viewer.home_city import at_home
from sitterlight.viewer.light_facts import new_light

NONE = (
    "This sitting has no sun and sky of a place and hour that is on, so its light is the same all day. "
    "A day plan needs such a light."
)


class NoDaylight(QWidget):
    """A sentence and two buttons."""

    def __init__(self, window):
        super().__init__()
        self.window_at_hand, self.model = window, window.model
        layout = QVBoxLayout(self)
        words = QLabel(NONE)
        words.setWordWrap(True)
        layout.addWidget(words)
        self.add, self.instead = QPushButton("Add sun and sky"), QPushButton("Sun and sky instead of its lights")
        row = QHBoxLayout()
        for button, instead in ((self.add, False), (self.instead, True)):
            button.clicked.connect(lambda _=False, instead=instead: self.add_daylight(instead))
            row.addWidget(button)
        row.addStretch(1)
        layout.addLayout(row)
        layout.addStretch(1)

    def add_daylight(self, instead: bool) -> None:
        """Add a daylight light, or put it in the place of all others; where one is off, it is switched on."""
        sitting = self.model.sitting
        off = [light for light in sitting.lights if isinstance(light, DaylightLight)]
        light = replace(off[0], on=True) if off else at_home(new_light(sitting, "daylight"))
        others = () if instead else tuple(one for one in sitting.lights if one.name != light.name)
        self.model.settle()
        self.model.change(with_lights(sitting, *others, light), f"add {light.name}")
        self.window_at_hand.lights.choose(light.name)
