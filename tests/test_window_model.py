"""The model of the window, without Qt: steps, their undoing, gaze, holding, files."""

from dataclasses import replace
from pathlib import Path

import pytest

from sitterlight.shading.frame import Gaze
from sitterlight.shading.sitting import Sitting, with_eye, with_skin
from sitterlight.viewer.model import Model

PLAIN = Sitting()


def test_a_change_can_be_undone_and_redone():
    model = Model(PLAIN)
    model.change(with_skin(PLAIN, ladder=5), "skin")
    assert model.can_undo == "skin" and model.sitting.skin.ladder == 5
    model.undo()
    assert model.sitting == PLAIN and model.can_undo is None and model.can_redo == "skin"
    model.redo()
    assert model.sitting.skin.ladder == 5 and model.can_redo is None


def test_steps_of_one_key_are_one_until_settled():
    model = Model(PLAIN)
    for oil in (0.1, 0.2, 0.3):
        model.change(with_skin(model.sitting, oil=oil), "oil", key="oil")
    model.settle()
    model.change(with_skin(model.sitting, oil=0.4), "oil", key="oil")
    model.undo()
    assert model.sitting.skin.oil == 0.3
    model.undo()
    assert model.sitting == PLAIN


def test_a_change_to_the_same_sitting_is_no_step():
    model, told = Model(PLAIN), []
    model.on("state", lambda: told.append(1))
    model.change(replace(PLAIN), "nothing")
    assert model.can_undo is None and not told


def test_a_new_step_ends_what_could_be_redone():
    model = Model(PLAIN)
    model.change(with_skin(PLAIN, ladder=5), "skin")
    model.undo()
    model.change(with_skin(PLAIN, ladder=6), "skin")
    assert model.can_redo is None


def test_the_gaze_leaves_the_sitting_and_standing_changes_it():
    model = Model(PLAIN)
    model.look_from(Gaze(40.0, 10.0, 1500.0))
    assert model.sitting == PLAIN and not model.changed
    model.stand_here()
    assert model.sitting == with_eye(PLAIN, azimuth=40.0, elevation=10.0) and model.state.gaze is None
    model.undo()
    assert model.sitting == PLAIN and model.state.gaze == Gaze(40.0, 10.0, 1500.0)
    model.look_from(Gaze(0.0, 0.0, 1500.0))
    assert model.state.gaze is None


def test_holding_exchanging_and_letting_go():
    model = Model(PLAIN)
    fair = with_skin(PLAIN, ladder=9)
    model.hold(PLAIN)
    model.change(fair, "skin")
    model.swap()
    assert model.sitting == PLAIN and model.state.held == fair
    model.hold(None)
    assert model.state.held is None
    model.undo()
    assert model.state.held == fair


def test_changed_follows_saving_and_undoing():
    model = Model(PLAIN)
    model.change(with_skin(PLAIN, ladder=5), "skin")
    assert model.changed
    model.was_saved(Path("a.toml"))
    assert not model.changed
    model.undo()
    assert model.changed
    model.open(PLAIN, Path("b.toml"))
    assert not model.changed and model.can_undo is None


def test_there_are_only_known_views():
    model = Model(PLAIN)
    with pytest.raises(ValueError, match="no view"):
        model.show("thermal")


def test_choosing_tells_once():
    model, told = Model(PLAIN), []
    model.on("chosen", lambda: told.append(model.chosen))
    model.choose(3)
    model.choose(3)
    model.choose(None)
    assert told == [3, None]
