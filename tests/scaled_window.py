"""What test_window_scaled.py has run at twofold scaling: colours, clicks, three heads and panels where a pixel of the
window is four of the screen."""

from __future__ import annotations

import numpy as np
import pytest
from window_driver import BALL

from sitterlight.shading.sitting import with_eye, with_skin

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")

SEEN = with_eye(BALL, azimuth=20, elevation=10)
CODES = 2
"""By how much a pixel may miss the colour of its plane, of 255: rounding on the way through the graphics."""

NARROW, WIDE = (640, 400), (960, 540)
"""What twofold scaling leaves of 1280 × 800 and of 1920 × 1080."""


def grabbed(window) -> np.ndarray:
    """The window as the screen has it, (H,W,3)."""
    from PyQt6.QtGui import QImage

    image = window.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits().asstring(image.sizeInBytes()), np.uint8).reshape(image.height(), -1)
    return rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).astype(int)


def middles(stage) -> dict[int, np.ndarray]:
    """Where on a stage the middles of the planes lie that the eye sees, in pixels of the window, by number."""
    from sitterlight.viewer.camera import view_of

    view = view_of(stage.gaze, stage.window_frame, stage.lit.scene.rotation, (stage.width(), stage.height()))
    mesh, found = stage.head.display, {}
    for number, row in enumerate(stage.lit.rows):
        if row.visible > 0.9:
            corners = mesh.vertices[mesh.faces[mesh.plane_of_face == number]]
            middle = corners.mean(axis=(0, 1))
            found[number] = view.project(100 * middle[None] / np.linalg.norm(middle))[0]
    return found


def code(text: str) -> np.ndarray:
    """Codes (3,) of "#8a5a3c"."""
    return np.frombuffer(bytes.fromhex(text.removeprefix("#")), np.uint8).astype(int)


def test_planes_have_their_colours_to_a_pixel_and_answer_to_clicks(shown, qtbot):
    """In what VTK drew and in what the screen shows, all of whose pixels are used."""
    from PyQt6.QtCore import QPoint, Qt

    window = shown(SEEN, until="counted")
    shown.view("planes")
    qtbot.wait(100)
    assert window.devicePixelRatioF() == 2.0
    stage = window.stages.first
    corner, screen, drawn = stage.mapTo(window, QPoint(0, 0)), grabbed(window), stage.picture().astype(int)
    assert screen.shape[:2] == (2 * window.height(), 2 * window.width())
    assert drawn.shape[:2] == (2 * stage.height(), 2 * stage.width())
    places, codes = middles(stage), np.array([code(row.srgb) for row in window.lit.rows])
    assert len(places) >= 2
    for number, place in places.items():
        x, y = np.rint(2 * place).astype(int)
        for dx, dy in ((0, 0), (9, 0), (-9, 0), (0, 9), (0, -9)):
            on_screen = screen[2 * corner.y() + y + dy, 2 * corner.x() + x + dx]
            assert np.abs(drawn[y + dy, x + dx] - codes[number]).max() <= CODES, (number, dx, dy)
            assert np.abs(on_screen - codes[number]).max() <= CODES, (number, dx, dy)
        qtbot.mouseClick(stage.plotter, Qt.MouseButton.LeftButton, pos=QPoint(x // 2, y // 2))
        assert window.model.chosen == number == np.abs(codes - on_screen).max(axis=1).argmin()
    assert is_marked_by(stage) > 2.5
    qtbot.mouseClick(stage.plotter, Qt.MouseButton.LeftButton, pos=QPoint(3, 3))
    assert window.model.chosen is None


def is_marked_by(stage) -> float:
    """How thick the line round a plane is, in pixels of the screen: the middle one of its crossings with rows."""
    is_line = (stage.picture() > 240).all(axis=2)
    changes = np.diff(np.pad(is_line, ((0, 0), (1, 1))).astype(int), axis=1)
    (_, begins), (_, ends) = np.nonzero(changes > 0), np.nonzero(changes < 0)
    return float(np.median(ends - begins))


def test_three_heads_stand_whole_side_by_side_in_one_size(shown, qtbot):
    window = shown(SEEN)
    window.model.hold(with_skin(SEEN, ladder=8))
    window.stages.difference.setChecked(True)
    shown()
    stages = window.stages.second, window.stages.first, window.stages.third
    qtbot.waitUntil(lambda: all(stage.lit is not None and stage.isVisible() for stage in stages), timeout=60_000)
    for size in (NARROW, WIDE):
        window.resize(*size)
        qtbot.wait(100)
        assert (window.width(), window.height()) == size
        assert stages[0].window_frame == stages[1].window_frame == stages[2].window_frame
        sizes, end = [], 0
        for stage in stages:
            left, right, top, bottom = extent(stage)
            assert min(left, top) > 0 and right < 2 * stage.width() and bottom < 2 * stage.height(), size
            sizes.append((right - left, bottom - top))
            assert stage.mapTo(window, stage.rect().topLeft()).x() >= end
            end = stage.mapTo(window, stage.rect().topRight()).x()
        assert np.ptp(sizes, axis=0).max() <= 2 and np.min(sizes) > 100, (size, sizes)
    window.resize(1280, 800)


def extent(stage) -> tuple[int, int, int, int]:
    """Left, right, top and bottom of the head in the picture of a stage, in pixels of the screen."""
    ground = [round(255 * part) for part in stage.plotter.renderer.GetBackground()]
    is_head = np.abs(stage.picture().astype(int) - ground).max(axis=2) > 2
    columns, rows = (np.flatnonzero(is_head.any(axis=axis)) for axis in (0, 1))
    return columns[0], columns[-1] + 1, rows[0], rows[-1] + 1


def test_nothing_in_the_panels_is_cut_off(shown, qtbot):
    from PyQt6.QtWidgets import QDockWidget

    window = shown(SEEN, until="counted")
    window.model.choose(next(n for n, row in enumerate(window.lit.rows) if not row.hidden))
    for size in (NARROW, WIDE):
        window.resize(*size)
        for dock in window.findChildren(QDockWidget):
            dock.raise_()
            qtbot.wait(100)
            assert dock.widget().isVisible() and not cut_off(dock), size
    window.findChild(QDockWidget, "Sitting").raise_()
    window.resize(1280, 800)


def cut_off(panel) -> list[str]:
    """What of a panel has less room than its words or its parts want."""
    from PyQt6.QtWidgets import QAbstractButton, QComboBox, QLabel, QScrollArea

    found = []
    for area in panel.findChildren(QScrollArea):
        if area.isVisible() and area.widget().minimumSizeHint().width() > area.viewport().width():
            found.append(f"a panel of {area.widget().minimumSizeHint().width()} in {area.viewport().width()}")
    for kind, room_of in ((QLabel, label_fits), (QAbstractButton, button_fits), (QComboBox, choice_fits)):
        for widget in panel.findChildren(kind):
            if widget.isVisible() and not (room_of(widget) and widget.geometry().right() < widget.parent().width()):
                found.append(f"{type(widget).__name__} {widget.accessibleName() or widget.toolTip()}")
    return found


def label_fits(label) -> bool:
    from sitterlight.viewer.controls import Elided

    if label.wordWrap():
        return label.height() >= label.heightForWidth(label.width())
    return isinstance(label, Elided) or label.width() >= label.minimumSizeHint().width()


def button_fits(button) -> bool:
    return button.width() >= button.minimumSizeHint().width()


def choice_fits(choice) -> bool:
    """Whether what stands there, which may end in dots, has room."""
    from PyQt6.QtWidgets import QStyle, QStyleOptionComboBox

    option, field = QStyleOptionComboBox(), QStyle.SubControl.SC_ComboBoxEditField
    choice.initStyleOption(option)
    room = choice.style().subControlRect(QStyle.ComplexControl.CC_ComboBox, option, field, choice).width()
    return choice.fontMetrics().horizontalAdvance(option.currentText) <= room
