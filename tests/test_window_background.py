"""Lighting in the background: of several wishes only the last counts, and Stop ends what goes on."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest
from window_driver import BALL, PATIENCE

pytest.importorskip("PyQt6.QtWidgets")

NEWER = replace(BALL, title="newer")


@pytest.fixture
def slow(qapp, monkeypatch):
    """A background whose lighting of BALL tells its share again and again, with no end of its own."""
    from sitterlight.viewer import background
    from sitterlight.viewer.background import Background

    begun, enough, light = threading.Event(), threading.Event(), background.engine.light

    def lit(sitting, gaze, exact, progress):
        while sitting == BALL and not enough.is_set():
            progress(0.5)
            begun.set()
            enough.wait(0.005)
        return light(sitting, gaze, exact, progress)

    monkeypatch.setattr(background.engine, "light", lit)
    made = Background()
    yield made, begun
    enough.set()
    made.end()


def asked(sitting, place="first"):
    from sitterlight.viewer.background import Request

    return Request(place, sitting, None, "as seen", 5, True)


def test_a_newer_wish_ends_an_older(slow, qtbot):
    background, begun = slow
    answered, failed = [], []
    background.answered.connect(lambda answer: answered.append(answer.request.sitting))
    background.failed.connect(lambda *told: failed.append(told))
    background.ask(asked(BALL))
    assert begun.wait(PATIENCE / 1000)
    background.ask(asked(replace(BALL, title="older")))
    background.ask(asked(NEWER))
    qtbot.waitUntil(lambda: NEWER in answered, timeout=PATIENCE)
    assert set(answered) == {NEWER} and not failed


def test_what_follows_an_answer_waits_until_it_is_drawn(slow, qtbot, monkeypatch):
    """Drawing wants the cores that counting would take."""
    from sitterlight.viewer import background as module

    background, _ = slow
    answered, counted = [], []
    background.answered.connect(answered.append)
    background.counted.connect(counted.append)
    monkeypatch.setattr(module, "DRAWN", PATIENCE / 1000)
    background.ask(asked(NEWER))
    qtbot.waitUntil(lambda: len(answered) == 1, timeout=PATIENCE)
    qtbot.wait(200)
    assert len(answered) == 1 and not counted
    background.answered.connect(lambda _: background.note_drawn())  # the rough answer is followed by the exact one
    background.note_drawn()
    qtbot.waitUntil(lambda: len(counted) == 1, timeout=PATIENCE)


def test_what_is_never_drawn_is_not_waited_for(slow, qtbot):
    background, _ = slow
    with qtbot.waitSignal(background.counted, timeout=PATIENCE):
        background.ask(asked(replace(NEWER, title="unseen")))


def test_stop_ends_what_goes_on_and_says_so(slow, qtbot):
    from sitterlight.viewer.background import STOPPED

    background, begun = slow
    background.ask(asked(BALL))
    assert begun.wait(PATIENCE / 1000)
    with qtbot.waitSignal(background.failed, timeout=PATIENCE) as told:
        background.stop()
    assert told.args == ["first", STOPPED]
    with qtbot.waitSignal(background.answered, timeout=PATIENCE):
        background.ask(asked(NEWER))


def test_a_newer_wish_ends_the_recipes_of_an_older(qapp, qtbot, monkeypatch):
    """Recipes tell how far they are; what is asked meanwhile is answered without waiting for their end."""
    from sitterlight.viewer import engine
    from sitterlight.viewer.background import Background

    begun, mixed, mix = threading.Event(), [], engine.mixed_head

    def endless(rows, sitting, progress):
        while sitting == BALL:
            progress(0.5)
            begun.set()
        return mix(rows, sitting, progress)

    monkeypatch.setattr(engine, "mixed_head", endless)
    made = Background()
    made.mixed.connect(lambda lit: mixed.append(lit.sitting))
    try:
        made.ask(asked(BALL))
        assert begun.wait(PATIENCE / 1000)
        made.ask(asked(NEWER))
        qtbot.waitUntil(lambda: NEWER in mixed, timeout=PATIENCE)
        assert mixed == [NEWER]
    finally:
        made.end()


def test_both_stages_have_their_heads_before_recipes_are_looked_for(qapp, qtbot):
    from sitterlight.viewer.background import Background

    background, told = Background(), []
    background.answered.connect(lambda answer: told.append(answer.request.place) if answer.lit.exact else None)
    background.mixed.connect(lambda _lit: told.append("mixed"))
    try:
        background.ask(asked(BALL))
        background.ask(asked(NEWER, "second"))
        qtbot.waitUntil(lambda: "mixed" in told, timeout=PATIENCE)
        assert told == ["first", "second", "mixed"]
    finally:
        background.end()


def test_what_the_chosen_plane_says_is_known_before_it_is_asked(qapp):
    """Notations of own colours are sought all at once in the background, and are those that one alone would have."""
    from sitterlight.shading.munsell import munsell_under_D65
    from sitterlight.viewer import engine
    from sitterlight.viewer.why_panel import _own_munsell

    lit = engine.light(BALL)
    alone = [_own_munsell(lit, seen) for row in lit.rows for seen in (row, *row.targets)]
    assert not lit.has("own_munsell") and None not in alone
    assert [lit.own_munsell[seen.own_Lab] for row in lit.rows for seen in (row, *row.targets)] == alone
    assert [_own_munsell(lit, row) for row in lit.rows] == [munsell_under_D65(row.own_Lab) for row in lit.rows]
