"""The choice of view above the head, and how many values the head is parted into."""

from __future__ import annotations

from PyQt6.QtCore import pyqtSignal
from PyQt6.QtWidgets import QButtonGroup, QHBoxLayout, QToolButton, QWidget

from sitterlight.shading.legends import VIEWS, legend
from sitterlight.shading.maps import VALUE_STEPS
from sitterlight.viewer.choice import Choice

SHOWN = {view: view.capitalize() for view in VIEWS}


class ViewBar(QWidget):
    """Emits `chosen(view)` and `counted(steps)`."""

    chosen = pyqtSignal(str)
    counted = pyqtSignal(int)

    def __init__(self):
        super().__init__()
        layout = QHBoxLayout(self)
        layout.setContentsMargins(8, 2, 8, 0)
        layout.setSpacing(2)
        self.buttons: dict[str, QToolButton] = {}
        group = QButtonGroup(self)
        for place, view in enumerate(VIEWS, 1):
            button = QToolButton()
            button.setObjectName("view")
            button.setText(SHOWN[view])
            button.setCheckable(True)
            button.setToolTip(f"{legend(view).line}  ({place})")
            button.setAccessibleName(f"view: {view}")
            button.clicked.connect(lambda _=False, view=view: self.chosen.emit(view))
            group.addButton(button)
            layout.addWidget(button)
            self.buttons[view] = button
        self.steps = Choice("number of values", [(str(n), f"{n} values") for n in VALUE_STEPS], worded=True)
        self.steps.set_value(5)
        self.steps.chosen.connect(lambda text: self.counted.emit(int(text)))
        layout.addWidget(self.steps)
        layout.addStretch(1)

    def show_view(self, view: str) -> None:
        self.buttons[view].setChecked(True)
        self.steps.setVisible(view == "values")
