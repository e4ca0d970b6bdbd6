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
from sitterlight.viewer.sitting_choice import SittingChoice

LEFT_WIDTH, RIGHT_WIDTH, LEAST_WIDTH = 296, 440, 250
RIGHT_SHARE = 0.27

BOTH_SIDES = 880
"""Width of a window from which both sides have room beside the head; in a narrower one they share one side."""


def add_docks(window) -> None:
    """Put the window's panels into docks at its sides."""
    window.setTabPosition(Qt.DockWidgetArea.AllDockWidgetAreas, QTabWidget.TabPosition.North)
    _dock(window, "Sitting", _left(window), Qt.DockWidgetArea.LeftDockWidgetArea, LEFT_WIDTH)
    _dock(window, "Planes", _right(window), Qt.DockWidgetArea.RightDockWidgetArea, RIGHT_WIDTH)


def share_out(window) -> None:
    """Give each side its share of the window's width."""
    docks = {dock.objectName(): dock for dock in window.findChildren(QDockWidget)}
    wide = window.width()
    right = max(min(RIGHT_WIDTH, round(0.36 * wide)), round(RIGHT_SHARE * wide))
    left = min(LEFT_WIDTH, max(LEAST_WIDTH, round(0.28 * wide)))
    window.resizeDocks([docks["Sitting"], docks["Planes"]], [left, right], Qt.Orientation.Horizontal)


def fold(window) -> bool:
    """Put both sides into one where the window is narrow, and apart again where it is not; whether it changed."""
    docks = {dock.objectName(): dock for dock in window.findChildren(QDockWidget)}
    narrow = window.width() < BOTH_SIDES
    if narrow == bool(window.tabifiedDockWidgets(docks["Sitting"])):
        return False
    if narrow:
        window.tabifyDockWidget(docks["Sitting"], docks["Planes"])
        docks["Sitting"].raise_()
    else:
        window.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, docks["Planes"])
        docks["Planes"].show()
    return True


def _left(window) -> QScrollArea:
    body = QWidget()
    layout = QVBoxLayout(body)
    layout.setContentsMargins(10, 8, 12, 8)
    layout.setSpacing(4)
    window.choice = SittingChoice()
    layout.addWidget(window.choice)
    layout.addWidget(Section("Sitter", window.sitter, line=False))
    layout.addWidget(window.planes_of_head)
    layout.addWidget(Section("Light", window.lights))
    layout.addWidget(Section("Eye", window.eye, opened=False))
    window.palette_section = Section("Palette", window.paints, opened=False)
    layout.addWidget(window.palette_section)
    layout.addStretch(1)
    return scrolling(body)


def _right(window) -> QSplitter:
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
    row = QHBoxLayout()
    row.addWidget(window.table.count, 1)
    window.sheet, window.leave = QPushButton("Plane sheet…"), QPushButton("Leave with…")
    window.sheet.setToolTip(
        "a page with a chip, a notation and a recipe for every plane, and one with the mixing plan, as PDF"
    )
    window.leave.setToolTip("table, picture, layers, swatches, lit head")
    window.sheet.clicked.connect(lambda: window.leaving.ask("sheet"))
    menu = QMenu(window.leave)
    menu.aboutToShow.connect(lambda: menu.isEmpty() and window.leaving.fill(menu))
    window.leave.setMenu(menu)
    row.addWidget(window.sheet)
    row.addWidget(window.leave)
    layout.addLayout(row)
    return box


def _dock(window, name: str, widget: QWidget, area: Qt.DockWidgetArea, width: int) -> None:
    dock = QDockWidget(name, window)
    dock.setObjectName(name)
    dock.setFeatures(QDockWidget.DockWidgetFeature.DockWidgetMovable)
    dock.setTitleBarWidget(QWidget(dock))
    dock.setWidget(widget)
    widget.setMinimumWidth(LEAST_WIDTH)
    window.addDockWidget(area, dock)
    window.resizeDocks([dock], [width], Qt.Orientation.Horizontal)
