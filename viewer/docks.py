"""The two sides of the window: sitting, sitter, light and eye on the left; planes and their why on the right."""

from __future__ import annotations

from PyQt6.QtCore import Qt
from PyQt6.QtWidgets import (
    QDockWidget,
    QHBoxLayout,
    QMenu,
    QPushButton,
    QScrollArea,
    QSplitter,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from sitterlight.viewer.controls import Section, scrolling

LEFT, RIGHT = "Sitting", "Planes"
LEFT_WIDTH, RIGHT_WIDTH, LEAST_WIDTH = 296, 440, 250
RIGHT_SHARE = 0.27
LEAST_ROWS = 8
"""Lines of text for which the list of planes keeps room in a low window: some four planes below heading and family."""

BOTH_SIDES = 880
"""Width of a window from which both sides have room beside the head; in a narrower one they share one side."""


def add_docks(window) -> None:
    """Put places for the window's panels at its sides, empty fields at first."""
    window.setTabPosition(Qt.DockWidgetArea.AllDockWidgetAreas, QTabWidget.TabPosition.North)
    _dock(window, LEFT, Qt.DockWidgetArea.LeftDockWidgetArea, LEFT_WIDTH)
    _dock(window, RIGHT, Qt.DockWidgetArea.RightDockWidgetArea, RIGHT_WIDTH)


def fill(window, name: str, panels: QWidget) -> None:
    """Put panels into the place of that name, LEFT or RIGHT, which keeps its width."""
    dock = window.findChild(QDockWidget, name)
    empty = dock.widget()
    panels.setMinimumWidth(max(LEAST_WIDTH, panels.minimumWidth()))
    dock.setWidget(panels)
    empty.deleteLater()


def share_out(window) -> None:
    """Give each side its share of the window's width."""
    docks = {dock.objectName(): dock for dock in window.findChildren(QDockWidget)}
    wide = window.width()
    right = max(min(RIGHT_WIDTH, round(0.36 * wide)), round(RIGHT_SHARE * wide))
    left = min(LEFT_WIDTH, max(LEAST_WIDTH, round(0.28 * wide)))
    window.resizeDocks([docks[LEFT], docks[RIGHT]], [left, right], Qt.Orientation.Horizontal)


def fold(window) -> bool:
    """Put both sides into one where the window is narrow, and apart again where it is not; whether it changed."""
    docks = {dock.objectName(): dock for dock in window.findChildren(QDockWidget)}
    narrow = window.width() < BOTH_SIDES
    if narrow == bool(window.tabifiedDockWidgets(docks[LEFT])):
        return False
    if narrow:
        window.tabifyDockWidget(docks[LEFT], docks[RIGHT])
        docks[LEFT].raise_()
    else:
        window.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, docks[RIGHT])
        docks[RIGHT].show()
    return True


def bring_planes(window) -> None:
    """Where both sides share one place, show the planes."""
    dock = window.findChild(QDockWidget, RIGHT)
    if window.tabifiedDockWidgets(dock):
        dock.raise_()


def left_side(window) -> QScrollArea:
    """Room for sitting, sitter, light, eye and palette, one below the other; `add_left` puts them there."""
    body = QWidget()
    body.setUpdatesEnabled(False)
    layout = QVBoxLayout(body)
    layout.setContentsMargins(10, 8, 12, 8)
    layout.setSpacing(4)
    window.left_body = body
    return scrolling(body, LEAST_WIDTH)


LEFT_PANELS = 6


def add_left(window, place: int) -> None:
    """Put one of the LEFT_PANELS panels into the left side, below the others; painted once the last is there."""
    body = window.left_body
    if place == 0:
        panel = window.choice
    elif place == 1:
        panel = Section("Sitter", window.sitter, line=False)
    elif place == 2:
        panel = window.planes_of_head
    elif place == 3:
        panel = Section("Light", window.lights)
    elif place == 4:
        panel = Section("Eye", window.eye, opened=False)
    else:
        panel = window.palette_section = Section("Palette", window.paints, opened=False)
    body.layout().addWidget(panel)
    if place == LEFT_PANELS - 1:
        body.layout().addStretch(1)
        body.setUpdatesEnabled(True)


def right_side(window) -> QSplitter:
    """The planes over the rooms of the chosen one."""
    split = QSplitter(Qt.Orientation.Vertical)
    split.addWidget(_planes(window))
    split.addWidget(window.rooms)
    for place, share in ((0, 2), (1, 3)):
        split.setStretchFactor(place, share)
    split.setSizes([300, 460])
    split.setChildrenCollapsible(False)
    return split


def _planes(window) -> QWidget:
    """The planes over what one can leave with."""
    box = QWidget()
    layout = QVBoxLayout(box)
    layout.setContentsMargins(6, 8, 10, 4)
    layout.addWidget(window.table)
    window.table.tree.setMinimumHeight(LEAST_ROWS * window.table.fontMetrics().lineSpacing())
    row = QHBoxLayout()
    row.addWidget(window.table.count, 1)
    window.sheet, window.leave = QPushButton("Plane sheet…"), QPushButton("Leave with…")
    window.sheet.setToolTip(
        "a page with a chip, a notation and a recipe for every plane, and one with the mixing plan, as PDF"
    )
    window.leave.setToolTip("write a table, a picture, layers to paint on, swatches, the lit head or a whole study")
    window.sheet.clicked.connect(lambda: window.leaving.ask("sheet"))
    menu = QMenu(window.leave)
    menu.aboutToShow.connect(lambda: menu.isEmpty() and window.leaving.fill(menu))
    window.leave.setMenu(menu)
    row.addWidget(window.sheet)
    row.addWidget(window.leave)
    layout.addLayout(row)
    return box


def _dock(window, name: str, area: Qt.DockWidgetArea, width: int) -> None:
    dock = QDockWidget(name, window)
    dock.setObjectName(name)
    dock.setFeatures(QDockWidget.DockWidgetFeature.DockWidgetMovable)
    dock.setTitleBarWidget(QWidget(dock))
    empty = QWidget()
    empty.setMinimumWidth(LEAST_WIDTH)
    dock.setWidget(empty)
    window.addDockWidget(area, dock)
    window.resizeDocks([dock], [width], Qt.Orientation.Horizontal)
