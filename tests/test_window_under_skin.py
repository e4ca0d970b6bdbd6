"""The switch for light under the skin in the window's sitter panel."""

import pytest

from sitterlight.shading.sitting import Sitting

pytest.importorskip("PyQt6")
pytestmark = pytest.mark.screen


def test_the_switch_shows_and_changes_the_sitting_and_can_be_undone(qtbot):
    from sitterlight.viewer.model import Model
    from sitterlight.viewer.sitter_panel import SitterPanel

    model = Model(Sitting())
    panel = SitterPanel(model)
    qtbot.addWidget(panel)
    panel.mirror()
    assert panel.under_skin.isChecked()
    panel.under_skin.setChecked(False)
    assert model.sitting.skin.under_skin is False
    assert model.can_undo == "light under the skin"
    model.undo()
    panel.mirror()
    assert panel.under_skin.isChecked() and model.sitting == Sitting()
    model.redo()
    panel.mirror()
    assert not panel.under_skin.isChecked()
