"""A box for a number with its unit, that tells of what the user types or steps and of nothing else."""

from __future__ import annotations

from PyQt6.QtCore import QSignalBlocker, Qt, pyqtSignal
from PyQt6.QtWidgets import QAbstractSpinBox, QDoubleSpinBox

MINUS = "−"


class NumberBox(QDoubleSpinBox):
    """Emits `changed(value)`. Numbers stand there with a true minus sign and no needless noughts; a hyphen that is
    typed is a minus, too."""

    changed = pyqtSignal(float)

    def __init__(self, name: str, low: float, high: float, unit: str, step: float):
        super().__init__()
        self.setAccessibleName(name)
        self.setRange(low, high)
        self.setDecimals(2 if step < 1 or high - low < 10 else 1 if unit.startswith("°") else 0)
        self.setSuffix(unit)
        self.setSingleStep(step)
        self.setButtonSymbols(QAbstractSpinBox.ButtonSymbols.NoButtons)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setKeyboardTracking(False)
        self.valueChanged.connect(self.changed)

    def set_value(self, value: float) -> None:
        """Show a value without telling anyone."""
        with QSignalBlocker(self):
            self.setValue(value)

    def textFromValue(self, value: float) -> str:
        """The number as it stands in the box, without its unit."""
        text, point = super().textFromValue(value).replace("-", MINUS), self.locale().decimalPoint()
        return text.rstrip("0").rstrip(point) if point in text else text

    def valueFromText(self, text: str) -> float:
        """The number that is written there."""
        return super().valueFromText(text.replace(MINUS, "-"))

    def validate(self, text: str, place: int) -> tuple:
        """Whether that is a number, or can become one; the text stays as it was typed."""
        return super().validate(text.replace(MINUS, "-"), place)[0], text, place

    def wheelEvent(self, event) -> None:
        event.ignore()
