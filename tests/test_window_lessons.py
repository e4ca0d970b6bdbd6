"""The real window: lessons and the first steps."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
from window_driver import BALL

from sitterlight.shading.sitting import with_light

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")


@dataclass(frozen=True, eq=False)
class _Lit:
    """As much of a lit head as a lesson asks for."""

    sitting: object
    exact: bool = True

    def has(self, name: str) -> bool:
        return name == "rows"


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


def test_a_lesson_that_is_begun_once_more_is_told_again(shown, qtbot):
    from sitterlight.viewer.lessons import lessons

    window = shown(BALL)
    lesson, strip = lessons()[3], window.stages.lesson
    for _ in range(2):
        window.actions_by_name[lesson.title].trigger()
        qtbot.waitUntil(lambda: any(sign.isdigit() for sign in strip.text.text()), timeout=60_000)
    window.actions_by_name["undo"].trigger()


def test_lessons_follow_each_other_and_end(shown):
    from sitterlight.viewer.lessons import lessons

    window = shown(BALL)
    strip, titles = window.stages.lesson, [lesson.title for lesson in lessons()]
    strip.begin(lessons()[-1])
    strip.following.click()
    assert strip.lesson.title == titles[0]
    strip.close_button.click()
    assert not strip.isVisible() and window.model.state.held is None


def test_exchanging_the_two_leaves_the_lesson(shown):
    from sitterlight.viewer.lessons import lessons

    window = shown(BALL)
    strip = window.stages.lesson
    strip.begin(lessons()[0])
    window.model.swap()
    assert strip.lesson is not None and not strip.isHidden()
    assert window.model.sitting == lessons()[0].held
    told = []
    strip.lesson = replace(strip.lesson, text=lambda held, at_hand: told.append((held, at_hand)) or "told")
    held, at_hand = (_Lit(sitting) for sitting in (strip.lesson.held, strip.lesson.sitting))
    for pair in ((held, at_hand), (at_hand, held)):
        strip.tell(*pair)
    assert told == [(held, at_hand)] * 2 and strip.text.text() == "told"
    window.model.change(with_light(window.model.sitting, "sky", on=False), "off")
    assert strip.lesson is None and strip.isHidden()


def test_the_buttons_of_a_lesson_keep_their_place_whatever_is_said(shown):
    from sitterlight.viewer.lessons import lessons

    window = shown(BALL)
    strip = window.stages.lesson
    strip.begin(lessons()[0])
    places = set()
    for text in ("", "a few words", "many words " * 60):
        strip.text.setText(text)
        window.stages.layout().activate()
        places.add(strip.following.mapTo(window, strip.following.rect().center()).y())
    strip.end()
    assert len(places) == 1


def test_a_lesson_is_read_and_seen_in_a_low_window(shown, qtbot):
    """640 × 400 is what 1280 × 800 leaves at twofold scaling."""
    from sitterlight.viewer.lessons import lessons

    window = shown(BALL)  # in a view without a scale
    strip = window.stages.lesson
    window.resize(640, 400)
    strip.begin(lessons()[1])
    try:
        bar, stage, scroll = window.stages.legend.bar, window.stages.first, strip.place.verticalScrollBar()

        def seen_and_read() -> bool:
            if "many" not in strip.text.text():  # the lesson's own words have come meanwhile
                strip._say("many words " * 60)
            whole = strip.text.height() == scroll.maximum() + strip.place.viewport().height()
            return stage.height() >= 110 and bar.isVisible() and scroll.isVisible() and scroll.maximum() > 0 and whole

        qtbot.waitUntil(seen_and_read, timeout=60_000)
    finally:
        strip.end()
        window.resize(1280, 800)
        qtbot.wait(60)
    assert not window.stages.legend.line.isHidden()


def test_a_crowded_legend_comes_with_its_scale(qapp):
    """Whichever is there first: the lesson that takes its room, or the view with a scale."""
    from PyQt6.QtWidgets import QVBoxLayout, QWidget

    from sitterlight.shading.legend_words import legend
    from sitterlight.shading.maps import greying_scale
    from sitterlight.viewer.legend_strip import LegendStrip

    place, strip = QWidget(), LegendStrip()
    QVBoxLayout(place).addWidget(strip)
    strip.set_crowded(True)
    assert strip.isHidden()
    strip.show_legend(legend("greying", greying_scale()))
    assert not strip.isHidden() and strip.line.isHidden()
    strip.show_legend(legend("as seen"))
    assert strip.isHidden()
    strip.set_crowded(False)
    assert not strip.isHidden() and not strip.line.isHidden()


def test_a_loss_and_a_gain_of_colour_are_told_as_such():
    from sitterlight.viewer.lessons import _loss

    assert [_loss(0.51), _loss(-0.09), _loss(0.001)] == ["loses 51\u00a0%", "gains 9\u00a0%", "loses nothing"]


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


def test_first_steps_are_told_again_when_asked(window):
    notice = window.stages.notice
    notice.skip.click()
    window.actions_by_name["first steps"].trigger()
    assert notice.words.text().startswith("1 of 4")
    notice.skip.click()


def test_what_the_words_mean_is_there_in_one_window(window):
    from sitterlight.viewer.glossary import WORDS, Glossary

    for _ in range(2):
        window.actions_by_name["words"].trigger()
    assert len(window.findChildren(Glossary)) == 1
    shown = window.findChild(Glossary)
    told = shown.text.toPlainText()
    assert shown.isVisible() and all(f"{word}: {meaning}" in told for word, meaning in WORDS)
    shown.close()


def test_no_first_step_takes_more_lines_than_the_head_leaves_room_for(shown):
    from sitterlight.viewer.first_steps import STEPS

    notice = shown(BALL).stages.notice
    try:
        notice.first_steps.again()
        high = notice.words.height()
        for step in STEPS:
            assert notice.words.heightForWidth(notice.words.width()) <= 2 * notice.words.fontMetrics().lineSpacing()
            assert notice.words.height() == high
            notice.first_steps.take(step)
    finally:
        notice.first_steps.skip()


def test_first_steps_can_be_skipped(window):
    notice = window.stages.notice
    notice.first_steps.done = set()
    notice.mirror()
    assert notice.words.text().startswith("1 of 4")
    notice.skip.click()
    assert not notice.words.text().startswith("1 of 4") and notice.skip.isHidden()
