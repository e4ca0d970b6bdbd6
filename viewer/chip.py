"""A flat field of one colour: named, clicked, focused, and dragged into other programs."""

from __future__ import annotations

from PyQt6.QtCore import QMimeData, QPointF, QSize, Qt, pyqtSignal
from PyQt6.QtGui import QColor, QDrag, QPainter, QPixmap
from PyQt6.QtWidgets import QApplication, QFrame, QWidget

from sitterlight.viewer.screen_colour import on_screen


class Chip(QFrame):
    """Emits `clicked()`; dragged away it is its colour, and that in letters. With a `rim` it is seen on any ground."""

    clicked = pyqtSignal()

    def __init__(self, name: str = "", size: QSize | None = None, rim: bool = False):
        super().__init__()
        self.setAccessibleName(name)
        self._colour: QColor | None = None
        self._chosen, self._rim = False, rim
        self._pressed: QPointF | None = None
        self.setMinimumSize(size or QSize(22, 22))
        if name:
            self.setToolTip(name)

    def set_colour(self, code: str | None) -> None:
        """An sRGB code such as "#8a5a3c", or None for an empty chip."""
        self._colour = QColor(code) if code else None
        self.update()

    def set_chosen(self, chosen: bool) -> None:
        self._chosen = chosen
        self.update()

    @property
    def code(self) -> str | None:
        return self._colour.name() if self._colour else None

    def paintEvent(self, _event) -> None:
        painter = QPainter(self)
        box = self.rect()
        if self._chosen or self.hasFocus():
            painter.setPen(self.palette().text().color())
            painter.drawRect(box.adjusted(0, 0, -1, -1))
            if self._chosen:
                painter.drawRect(box.adjusted(1, 1, -2, -2))
            box = box.adjusted(3, 3, -3, -3)
        if self._colour:
            painter.fillRect(box, on_screen(self._colour))
            if self._rim:
                painter.setPen(self.palette().placeholderText().color())
                painter.drawRect(box.adjusted(0, 0, -1, -1))
        else:
            painter.setPen(self.palette().mid().color())
            painter.drawRect(box.adjusted(0, 0, -1, -1))
        painter.end()

    def mousePressEvent(self, event) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self._pressed = event.position()
            if self.focusPolicy() != Qt.FocusPolicy.NoFocus:
                self.setFocus()
            self.clicked.emit()

    def mouseMoveEvent(self, event) -> None:
        if self._pressed is None or self.code is None:
            return
        if (event.position() - self._pressed).manhattanLength() >= QApplication.startDragDistance():
            self._pressed = None
            drag_colour(self, self.code)

    def mouseReleaseEvent(self, _event) -> None:
        self._pressed = None

    def keyPressEvent(self, event) -> None:
        if event.key() in (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.clicked.emit()
        else:
            super().keyPressEvent(event)


def drag_colour(source: QWidget, code: str) -> None:
    """Drag a colour out of a widget, until it is let go somewhere."""
    drag = QDrag(source)
    drag.setMimeData(colour_data(code))
    picture = QPixmap(40, 28)
    picture.fill(on_screen(QColor(code)))
    drag.setPixmap(picture)
    drag.exec(Qt.DropAction.CopyAction)


def colour_data(code: str) -> QMimeData:
    """A colour for other programs: application/x-color, and its sRGB code as text."""
    data = QMimeData()
    data.setColorData(QColor(code))
    data.setText(code)
    return data
