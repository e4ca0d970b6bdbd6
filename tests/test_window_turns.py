"""The window's own work in turns of the event loop: one piece in each, and drawing apart from painting."""

from __future__ import annotations

import numpy as np
import pytest
from window_driver import PATIENCE

pytest.importorskip("PyQt6.QtWidgets")


@pytest.fixture
def beats(qapp):
    """How often a timer of the event loop has beaten."""
    from PyQt6.QtCore import QTimer

    count, timer = [0], QTimer()
    timer.timeout.connect(lambda: count.__setitem__(0, count[0] + 1))
    timer.start(0)
    yield count
    timer.stop()


def test_each_piece_has_a_turn_of_its_own(qapp, qtbot, beats):
    from PyQt6.QtCore import QObject

    from sitterlight.viewer import turns

    owner, done = QObject(), []
    for piece in range(6):
        turns.soon(owner, piece, lambda piece=piece: done.append((piece, beats[0])))
    assert turns.are_waiting() and not done
    qtbot.waitUntil(lambda: len(done) == 6, timeout=PATIENCE)
    assert [piece for piece, _ in done] == list(range(6))
    assert len({beat for _, beat in done}) == 6


def test_a_newer_piece_takes_the_place_of_an_older_one(qapp, qtbot):
    from PyQt6.QtCore import QObject

    from sitterlight.viewer import turns

    owner, other, done = QObject(), QObject(), []
    for what in ("old", "new"):
        turns.soon(owner, "draw", lambda what=what: done.append(what))
        turns.soon(other, "draw", lambda what=what: done.append(f"other {what}"))
    qtbot.waitUntil(lambda: not turns.are_waiting(), timeout=PATIENCE)
    assert done == ["new", "other new"]


def test_what_has_gone_has_no_turn(qapp, qtbot):
    from PyQt6.QtCore import QObject
    from PyQt6.sip import delete

    from sitterlight.viewer import turns

    gone, owner, done = QObject(), QObject(), []
    turns.soon(gone, "piece", lambda: done.append("of what has gone"))
    turns.soon(owner, "piece", lambda: done.append("of what is there"))
    delete(gone)
    qtbot.waitUntil(lambda: bool(done), timeout=PATIENCE)
    assert done == ["of what is there"]


def test_a_fault_in_one_piece_leaves_the_others(qapp, qtbot):
    from PyQt6.QtCore import QObject

    from sitterlight.viewer import turns

    owner, done = QObject(), []
    with qtbot.captureExceptions() as raised:
        turns.soon(owner, "wrong", lambda: 1 / 0)
        turns.soon(owner, "right", lambda: done.append(True))
        qtbot.waitUntil(lambda: bool(done), timeout=PATIENCE)
    assert [kind for kind, *_ in raised] == [ZeroDivisionError]


@pytest.mark.screen
def test_a_stage_of_another_size_keeps_its_picture_until_it_is_drawn_anew(shown, qtbot):
    """Unscaled and in the middle: neither a bent head nor an empty stage in between."""
    from sitterlight.viewer import turns

    window = shown(until="rest")
    canvas = window.stages.first.plotter
    qtbot.waitUntil(lambda: not turns.are_waiting(), timeout=PATIENCE)
    before = _codes(canvas)
    window.model.hold(window.model.sitting)
    window.stages.split.refresh()
    if canvas.width() >= before.shape[1]:
        window.resize(window.width() - 100, window.height())
    between = _codes(canvas)
    off = (before.shape[1] - between.shape[1]) // 2
    assert off > 10 and turns.are_waiting()
    rows = min(len(before), len(between))
    apart = [(len(one) - rows + 1) // 2 for one in (before, between)]  # the graphics count from below
    middle = before[apart[0] : apart[0] + rows, off : off + between.shape[1]]
    assert np.array_equal(between[apart[1] : apart[1] + rows], middle)
    qtbot.waitUntil(lambda: not turns.are_waiting(), timeout=PATIENCE)
    assert not np.array_equal(_codes(canvas), between)
    window.model.hold(None)


def _codes(canvas) -> np.ndarray:
    image = canvas.grabFramebuffer()
    image = image.convertToFormat(image.Format.Format_RGBX8888)
    pixels = image.constBits().asarray(image.sizeInBytes())
    return np.frombuffer(pixels, np.uint8).reshape(image.height(), image.width(), 4)[:, :, :3].copy()


def test_a_head_drawn_again_after_something_small_has_its_own_extent():
    """The eye's near and far ends follow from it: with another's, the front of the head would be cut off."""
    from vtkmodules.vtkRenderingOpenGL2 import vtkOpenGLRenderer

    from sitterlight.meshes.library import load_head
    from sitterlight.viewer.drawing import HeadDrawing

    renderer = vtkOpenGLRenderer()
    drawing = HeadDrawing(renderer)
    drawing.set_head(load_head("sphere"))
    extent = renderer.ComputeVisiblePropBounds()
    drawing.stand_in(True)
    assert renderer.ComputeVisiblePropBounds() != extent
    drawing.stand_in(False)
    assert renderer.ComputeVisiblePropBounds() == extent
