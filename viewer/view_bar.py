"""The choice of view above the head, and how many values the head is parted into."""

from __future__ import annotations

from PyQt6.QtCore import QSize, pyqtSignal
from PyQt6.QtWidgets import QButtonGroup, QHBoxLayout, QToolButton, QWidget

from sitterlight.shading.legend_words import VALUE_STEPS, VIEWS, legend
from sitterlight.viewer.choice import Choice

SHOWN = {view: view.capitalize() for view in VIEWS}


class ViewBar(QWidget):
    """Emits `chosen(view)` and `counted(steps)`. Where the buttons have no room there is a list to choose from.
    `steps`, the choice of how many values, is placed by whoever holds the bar."""

    chosen = pyqtSignal(str)
    counted = pyqtSignal(int)

    def __init__(self):
        super().__init__()
        layout = QHBoxLayout(self)
        layout.setContentsMargins(8, 2, 8, 0)
        layout.setSpacing(2)
        self.buttons: dict[str, QToolButton] = {}
        self._row = QWidget()
        row = QHBoxLayout(self._row)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2)
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
            row.addWidget(button)
            self.buttons[view] = button
        self.box = Choice("view", list(SHOWN.items()), worded=True)
        self.box.chosen.connect(self.chosen)
        self.box.hide()
        self.steps = Choice("number of values", [(str(n), f"{n} values") for n in VALUE_STEPS], worded=True)
        self.steps.set_value(5)
        self.steps.chosen.connect(lambda text: self.counted.emit(int(text)))
        for widget in (self._row, self.box):
            layout.addWidget(widget)
        layout.addStretch(1)

    def minimumSizeHint(self) -> QSize:
        return QSize(self.box.minimumSizeHint().width() + 100, super().minimumSizeHint().height())

    def resizeEvent(self, event) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        wanted = self._row.sizeHint().width() + 24
        has_room = self.width() >= wanted
        self._row.setVisible(has_room)
        self.box.setVisible(not has_room)

    def show_view(self, view: str) -> None:
        self.buttons[view].setChecked(True)
        self.box.set_value(view)
        self.steps.setVisible(view == "values")
