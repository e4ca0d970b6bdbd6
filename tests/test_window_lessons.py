"""The real window: lessons and the first steps."""

from __future__ import annotations

import pytest
from window_driver import BALL

from sitterlight.shading.sitting import with_light

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")


@pytest.mark.parametrize("place", range(5))
def test_a_lesson_computes_its_figures(shown, qtbot, place):
    from sitterlight.viewer.lessons import lessons

    window = shown(BALL)
    lesson = lessons()[place]
    window.actions_by_name[lesson.title].trigger()
    shown()
    strip = window.stages.lesson
    qtbot.waitUntil(lambda: any(sign.isdigit() for sign in strip.text.text()), timeout=60_000)
    assert strip.text.text() == lesson.text(window.stages.second.lit, window.lit)
    assert "nan" not in strip.text.text() and window.model.view == lesson.view
    window.actions_by_name["undo"].trigger()
    assert not strip.isVisible() and window.model.sitting == BALL


def test_lessons_follow_each_other_and_end(shown):
    from sitterlight.viewer.lessons import lessons

    window = shown(BALL)
    strip, titles = window.stages.lesson, [lesson.title for lesson in lessons()]
    strip.begin(lessons()[-1])
    strip.following.click()
    assert strip.lesson.title == titles[0]
    strip.close_button.click()
    assert not strip.isVisible() and window.model.state.held is None


def test_first_steps_are_told_one_after_the_other_and_never_again():
    from sitterlight.viewer.first_steps import STEPS, FirstSteps
    from sitterlight.viewer.model import Model

    model, told = Model(BALL), []
    steps = FirstSteps(model, told=lambda: told.append(1))
    assert steps.words.startswith("1 of 4") and "lamp" in steps.words
    model.change(with_light(BALL, "lamp", azimuth=20), "place")
    assert steps.words.startswith("2 of 4") and "Skylight notes" in steps.words
    model.show("skylight notes")
    assert steps.words.startswith("3 of 4") and "click" in steps.words
    model.choose(3)
    assert steps.words.startswith("4 of 4") and "Plane sheet" in steps.words
    steps.take("leave")
    assert steps.words == "" and len(told) == 4
    assert FirstSteps(model, set(STEPS)).words == ""
    assert FirstSteps(model, {"light", "nonsense"}).done == {"light"}


def test_first_steps_can_be_skipped(window):
    notice = window.stages.notice
    notice.first_steps.done = set()
    notice.mirror()
    assert notice.words.text().startswith("1 of 4")
    notice.skip.click()
    assert not notice.words.text().startswith("1 of 4") and notice.skip.isHidden()
