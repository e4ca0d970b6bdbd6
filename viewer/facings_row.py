"""Which way to seat the sitter: the head at one hour, facing eight ways."""

from __future__ import annotations

from collections.abc import Sequence

from PyQt6.QtCore import QSize, Qt, pyqtSignal
from PyQt6.QtGui import QIcon, QPixmap
from PyQt6.QtWidgets import QHBoxLayout, QToolButton, QVBoxLayout, QWidget

from sitterlight.shading.day_hours import COMPASS, Hour
from sitterlight.viewer.controls import soft, titled
from sitterlight.viewer.day_chart import picture_image
from sitterlight.viewer.day_readings import facing_reading

PICTURE = QSize(88, 110)


class FacingsRow(QWidget):
    """Emits `chosen(place)` of a facing, north first, clockwise; `compared()` when another hour is asked for."""

    chosen = pyqtSignal(int)
    compared = pyqtSignal()

    def __init__(self):
        super().__init__()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.setSpacing(4)
        top = QHBoxLayout()
        self.title = titled("Which way to seat the sitter")
        self.another = QToolButton()
        self.another.setObjectName("quiet")
        self.another.setAccessibleName("compare the facings at another hour")
        self.another.clicked.connect(self.compared)
        top.addWidget(self.title)
        top.addStretch(1)
        top.addWidget(self.another)
        layout.addLayout(top)
        row = QHBoxLayout()
        row.setSpacing(2)
        self.buttons, self.words = [], []
        for place, name in enumerate(COMPASS):
            button, words = QToolButton(), soft()
            button.setObjectName("quiet")
            button.setCheckable(True)
            button.setIconSize(PICTURE)
            button.setText(name)
            button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
            button.setToolTip("the sitter faces this way, at this hour")
            button.clicked.connect(lambda _=False, place=place: self.chosen.emit(place))
            words.setAlignment(Qt.AlignmentFlag.AlignHCenter)
            column = QVBoxLayout()
            column.setSpacing(0)
            column.addWidget(button, 0, Qt.AlignmentFlag.AlignHCenter)
            column.addWidget(words)
            row.addLayout(column, 1)
            self.buttons.append(button)
            self.words.append(words)
        layout.addLayout(row)

    def show_facings(self, facings: Sequence[Hour]) -> None:
        """Show eight facings of one hour; none hides the row."""
        self.setVisible(bool(facings))
        if not facings:
            return
        self.title.setText(f"Which way to seat the sitter at {facings[0].clock}")
        for button, words, facing in zip(self.buttons, self.words, facings, strict=True):
            button.setIcon(QIcon(QPixmap.fromImage(picture_image(facing.picture))))
            button.setAccessibleName(f"facing {button.text()}, {facing_reading(facing)}".replace("\n", ", "))
            words.setText(facing_reading(facing))

    def show_sitting(self, facing: float, offer: str | None) -> None:
        """Mark the way the sitter faces; `offer` names an hour at which the facings can be compared anew."""
        for place, button in enumerate(self.buttons):
            button.setChecked(abs((facing - 45 * place + 180) % 360 - 180) < 1)
        self.another.setVisible(offer is not None)
        self.another.setText(f"Compare at {offer}" if offer else "")
