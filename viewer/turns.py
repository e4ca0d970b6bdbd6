"""What the window's own thread does, one piece in each turn of the event loop, so that the hand is answered between.

Qt hands over all that was sent meanwhile in one turn: what came of a calculation would be shown with all its panels and
drawings at once, and the window would stand still for as long as all of them take.
"""

from __future__ import annotations

import time
from collections import OrderedDict
from collections.abc import Callable, Hashable

from PyQt6.QtCore import QObject, Qt, QTimer
from PyQt6.QtWidgets import QApplication
from PyQt6.sip import isdeleted

PAUSE = 1
"""Milliseconds between two pieces. None at all would be after everything else that ever comes."""

LATE = 0.003
"""Seconds after which something else has taken the turn meanwhile, so that the piece waits for another."""

_waiting: OrderedDict[tuple[QObject, Hashable], Callable[[], object]] = OrderedDict()
_timers: list[QTimer] = []
_begun, _gave_way = 0.0, False
"""When the timer was started, and whether the next piece has given way already."""


def soon(owner: QObject, name: Hashable, work: Callable[[], object]) -> None:
    """Do `work` in a turn of its own, after what waits already; it takes the place of an older one of that name.

    It is dropped where its owner has gone meanwhile.
    """
    _waiting.pop((owner, name), None)
    _waiting[owner, name] = work
    if not _timer().isActive():
        _start()


def are_waiting() -> bool:
    """Whether anything is still to be done."""
    return any(not isdeleted(owner) for owner, _ in _waiting)


def _start() -> None:
    global _begun
    _begun = time.perf_counter()
    _timer().start(PAUSE)


def _next() -> None:
    global _gave_way
    if not _gave_way and time.perf_counter() - _begun > LATE:
        _gave_way = True
        _start()
        return
    _gave_way = False
    try:
        while _waiting:
            (owner, _), work = _waiting.popitem(last=False)
            if not isdeleted(owner):
                work()
                return
    finally:
        if _waiting:
            _start()


def _timer() -> QTimer:
    """The timer of the application that there is."""
    if not _timers or isdeleted(_timers[0]):
        timer = QTimer(QApplication.instance())
        timer.setSingleShot(True)
        timer.setTimerType(Qt.TimerType.PreciseTimer)
        timer.timeout.connect(_next)
        _timers[:] = [timer]
    return _timers[0]
