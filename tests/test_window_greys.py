"""Nothing of the window has a hue but pictures and chips."""

from __future__ import annotations

import numpy as np
import pytest

pytestmark = pytest.mark.screen


@pytest.fixture(params=["darker", "middle", "lighter"])
def dressed(qapp, request):
    """The application in each of its surrounds, then as it was."""
    from sitterlight.viewer.greys import SURROUNDS, palette, style

    before = qapp.palette(), qapp.styleSheet()
    qapp.setPalette(palette(SURROUNDS[request.param]))
    qapp.setStyleSheet(style(SURROUNDS[request.param]))
    yield
    qapp.setPalette(before[0])
    qapp.setStyleSheet(before[1])


def test_where_files_are_chosen_nothing_has_a_hue(dressed, qtbot, tmp_path):
    """In Qt's own way of asking, which a desktop without one of its own leaves it to."""
    from PyQt6.QtGui import QIcon
    from PyQt6.QtWidgets import QFileDialog

    from sitterlight.viewer.main_window import make_application

    make_application()
    if QIcon.themeName() not in ("", "hicolor"):
        return  # a desktop's own icons are its affair
    (tmp_path / "a folder").mkdir()
    (tmp_path / "noon.toml").touch()
    asked = QFileDialog(directory=str(tmp_path))
    asked.setOption(QFileDialog.Option.DontUseNativeDialog)
    qtbot.addWidget(asked)
    asked.show()
    qtbot.wait(300)
    assert _hue(asked) == 0


def test_a_question_about_a_file_has_no_hue(dressed, qapp, qtbot):
    from PyQt6.QtCore import QTimer
    from PyQt6.QtWidgets import QMessageBox, QWidget

    from sitterlight.viewer.files import ask_save_over

    parent, seen = QWidget(), []
    qtbot.addWidget(parent)

    def look() -> None:
        box = qapp.activeModalWidget()
        seen.append((box.text(), _hue(box)))
        box.reject()

    QTimer.singleShot(300, look)
    assert ask_save_over(parent, "noon.toml") is None
    QTimer.singleShot(300, look)
    QMessageBox.question(parent, "Sitterlight", "Save it?", QMessageBox.StandardButton.Save)
    assert [words for words, _ in seen] == [
        "noon.toml has been changed by someone else since it was opened here.",
        "Save it?",
    ]
    assert [hue for _, hue in seen] == [0, 0]


def _hue(widget) -> int:
    """How far apart the channels of any pixel are at most."""
    image = widget.grab().toImage()
    image = image.convertToFormat(image.Format.Format_RGBX8888)
    codes = np.frombuffer(image.constBits().asarray(image.sizeInBytes()), np.uint8).reshape(-1, 4)[:, :3].astype(int)
    return int((codes.max(axis=1) - codes.min(axis=1)).max())
