"""Long works of the window, on threads of their own: how they end, and errors as sentences."""

from __future__ import annotations

import sys
import threading

import pytest

pytest.importorskip("PyQt6.QtWidgets")

FOREVER = 60.0


@pytest.fixture
def raised(monkeypatch):
    """What threads raised."""
    found = []
    monkeypatch.setattr(threading, "excepthook", lambda told: found.append(told.exc_value))
    return found


@pytest.mark.parametrize("ending", ["it goes on", "it has an answer", "it fails"])
def test_a_work_whose_window_has_closed_ends_without_a_word(qapp, raised, ending):
    """As a day plan does that still goes on when the program ends."""
    from PyQt6.QtCore import QObject
    from PyQt6.sip import delete

    from sitterlight.viewer.day_work import DayWork

    window = QObject()
    work, begun, go_on = DayWork(window), threading.Event(), threading.Event()

    def day(progress):
        begun.set()
        go_on.wait(FOREVER)
        if ending == "it fails":
            raise ValueError("there is no such day")
        work.worked.emit(None) if ending == "it has an answer" else progress(0.5)

    assert work.begin(day) and begun.wait(FOREVER)
    thread = work._thread
    delete(window)
    go_on.set()
    thread.join(FOREVER)
    assert not thread.is_alive() and not raised


@pytest.mark.parametrize(
    ("work", "words", "error"),
    [
        (lambda _progress: {}["day"], "KeyError: 'day'", KeyError),
        (lambda _progress: sys.exit(3), "SystemExit", SystemExit),  # of which a thread says nothing by itself
    ],
)
def test_a_fault_in_a_work_is_told_and_raised(qapp, qtbot, raised, work, words, error):
    from sitterlight.viewer.long_work import LongWork

    long_work = LongWork()
    with qtbot.waitSignals([long_work.failed, long_work.ended], timeout=int(1000 * FOREVER)) as told:
        long_work.begin(work)
    said = [each.args[0] for each in told.all_signals_and_args if each.args]
    assert said == [f"a fault in Sitterlight, {words}"]
    qtbot.waitUntil(lambda: len(raised) > 0, timeout=int(1000 * FOREVER))  # once the thread is at its end
    assert [type(one) for one in raised] == [error]


def test_errors_are_sentences_of_one_line():
    from sitterlight.viewer.sentences import sentence

    missing = FileNotFoundError(2, "No such file or directory", "a.toml")
    assert sentence(missing) == "a.toml: there is no such file or folder; look at how its name is written"
    assert sentence(missing, named=False).startswith("there is no such file")
    assert sentence(OSError(28, "room is short", "a.toml")) == "a.toml: room is short"
    assert sentence(ValueError("two\n  lines")) == "two lines"
    assert sentence(MemoryError()) == "there is not enough memory"
    assert sentence(KeyError()) == "KeyError"
