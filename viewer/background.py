"""Lighting in the background: the window asks, goes on, and is told. Of several requests only the last counts."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass

from PyQt6.QtCore import QObject, pyqtSignal

from sitterlight.shading.compiled import asking
from sitterlight.shading.eye import Key
from sitterlight.shading.frame import Gaze
from sitterlight.shading.legend_words import VIEWS
from sitterlight.shading.sitting import EyeSetting, Sitting
from sitterlight.viewer import engine
from sitterlight.viewer.appearance import Appearance, appearance, difference
from sitterlight.viewer.courtesy import give_way, take_short_turns
from sitterlight.viewer.drawing import make_mesh
from sitterlight.viewer.engine import Lit
from sitterlight.viewer.sentences import sentence
from sitterlight.viewer.thrift import give_back

STOPPED = "Stopped. What you see has nothing that blocks light; any change begins anew."
PAUSE = 0.03
"""Seconds in which a newer wish, as one who drags makes, spares the work on all the parts of an older."""

REST = 0.15
"""Seconds of rest before recipes are looked for."""

DRAWN = 0.1
"""Seconds for which what follows an answer waits, at most, until the answer is drawn: that wants the cores, too."""

UNTIL_ENDED = 30.0
"""Seconds for which a closing window, which is out of sight by then, waits for what cannot be interrupted."""

QUIET = 2.0
"""Seconds of rest after which what memory is free goes back to the system."""


@dataclass(frozen=True)
class Request:
    """What to light and how it will be looked at. `place` is the stage that asks, "first" or "second"."""

    place: str
    sitting: Sitting
    gaze: Gaze | None
    view: str
    value_count: int
    mark: bool


@dataclass(frozen=True, eq=False)
class Answer:
    """A lit head with its appearance; `seconds` it took."""

    request: Request
    lit: Lit
    appearance: Appearance
    seconds: float


class StoppedError(Exception):
    """A newer request has come, or the user has stopped this one."""


class Background(QObject):
    """One thread that lights what was asked for last, first for one stage, then for the other.

    `glimpsed(place, Glimpse, Gaze)` as soon as the colours alone are known, `answered(Answer)` when a head is lit,
    `counted(Lit)` when its plane rows are ready as well,
    `mixed(Lit)` when they have recipes, `planned(Lit)` when these make a mixing plan, `looked(Lit)` when an appearance
    that was asked for is ready, `compared(held, at hand, Appearance)` likewise, `progressed(share)` while rays are
    cast, `failed(place, sentence)` where a sitting cannot be lit, `idle()` when nothing is left to do.
    """

    glimpsed = pyqtSignal(str, object, object)
    answered = pyqtSignal(object)
    counted = pyqtSignal(object)
    weighed = pyqtSignal(object)
    mixed = pyqtSignal(object)
    planned = pyqtSignal(object)
    looked = pyqtSignal(object)
    compared = pyqtSignal(object, object, object)
    progressed = pyqtSignal(float)
    failed = pyqtSignal(str, str)
    idle = pyqtSignal()

    def __init__(self, parent: QObject | None = None):
        super().__init__(parent)
        self._waiting: dict[str, Request] = {}
        self._wake = threading.Condition()
        self._keys: dict[str, tuple[EyeSetting, Key]] = {}
        self._glimpses: dict[str, Request] = {}
        self._lit_for: dict[str, tuple[Sitting, Gaze | None]] = {}
        self._later: list[tuple[Request, Lit]] = []
        self._ending = self._stop = self._working = self._is_warm = False
        self._drawn = threading.Event()
        take_short_turns()
        self._looks = ThreadPoolExecutor(1, thread_name_prefix="looks", initializer=give_way)
        self._thread = threading.Thread(target=self._work, name="lighting", daemon=True)
        self._thread.start()

    def ask(self, request: Request) -> None:
        """Light this next; an older request of the same stage is dropped."""
        with self._wake:
            self._waiting.pop(request.place, None)
            self._waiting[request.place] = request
            self._stop = False
            self._wake.notify()

    def look(self, lit: Lit, view: str, value_count: int, mark: bool) -> None:
        """Work out another view of a lit head, without waiting for what else is going on."""

        self._aside(lambda: (appearance(lit, view, value_count, mark), self.looked.emit(lit)))

    def compare(self, held: Lit, at_hand: Lit) -> None:
        """Work out how far apart two lit heads of one mesh look."""

        self._aside(lambda: self.compared.emit(held, at_hand, difference(held, at_hand)))

    def _aside(self, work: Callable[[], object]) -> None:
        """Do a short work on the second thread."""

        def tried() -> None:
            try:
                work()
            except Exception as error:
                if not self._ending:
                    self.failed.emit("first", sentence(error))

        if not self._ending:
            self._looks.submit(tried)

    def note_drawn(self) -> None:
        """Take note that what was answered is on the screen."""
        self._drawn.set()

    def forget(self, place: str) -> None:
        """Drop what a stage has asked for."""
        with self._wake:
            self._waiting.pop(place, None)

    def stop(self) -> None:
        """Give up what is going on; the next request begins anew."""
        self._stop = True

    def end(self) -> None:
        """End the thread, and wait for it: what still calculates while the program ends spoils the end."""
        with self._wake:
            self._ending = self._stop = True
            self._waiting.clear()
            self._wake.notify()
        self._looks.shutdown(wait=True, cancel_futures=True)
        self._thread.join(UNTIL_ENDED)

    @property
    def is_busy(self) -> bool:
        return self._working or bool(self._waiting)

    def _work(self) -> None:
        give_way()
        while (request := self._next()) is not None:
            self._later = [one for one in self._later if one[0].place != request.place]
            self._try(request)
            self._try_later()
            if not self._waiting and not self._ending:
                self.idle.emit()

    def _next(self) -> Request | None:
        """Wait for what is asked next, and give back memory if that takes a while; None at the end."""
        patience: float | None = QUIET
        while True:
            with self._wake:
                if not self._waiting and not self._ending:
                    self._working = False
                    self._wake.wait(patience)
                if self._ending:
                    return None
                if self._waiting:
                    self._working = True
                    return self._waiting.pop(next(iter(self._waiting)))
            if patience is not None:
                patience = None
                give_back()

    def _try(self, request: Request) -> None:
        """Answer a request, and count what is asked of every head."""
        with self._saying_why_not(request):
            if not engine.is_prepared(request.sitting):
                self._answer(request, exact=False)
                lit = self._answer(request, exact=True)
            elif self._glimpse(request):
                self._glimpse_others(request)
                time.sleep(PAUSE)  # whether something newer is asked for
                self._go_on(request)
                with asking(lambda: self._go_on(request)):  # what is newer will soon be seen as well
                    lit = self._answer(request, exact=True)
            else:
                lit = self._answer(request, exact=True)
            self._keys[request.place] = (request.sitting.eye, lit.eye.key)
            self._lit_for[request.place] = (request.sitting, request.gaze)
            self._go_on(request)
            lit.rows  # noqa: B018 - counted here so that the window need not
            lit.own_munsell  # noqa: B018 - what is said of the chosen plane
            lit.notes  # noqa: B018 - what the line under the pointer tells
            if not self._ending:
                self.counted.emit(lit)
            self._go_on(request)
            lit.light_mix  # noqa: B018 - what each light gives
            if not self._ending:
                self.weighed.emit(lit)
            self._later.append((request, lit))

    def _try_later(self) -> None:
        """What can wait until both stages show their heads: other views, and recipes for what is at hand."""
        while self._later and not self._waiting and not self._ending:
            request, lit = self._later.pop(0)
            with self._saying_why_not(request):
                self._warm(request, lit)
                for view in VIEWS:
                    self._go_on(request)
                    appearance(lit, view, request.value_count, request.mark)
                if request.place == "first":
                    self._mix(request, lit)

    @contextmanager
    def _saying_why_not(self, request: Request) -> Iterator[None]:
        """What is raised meanwhile is told, but for a wish that made room for a newer one."""
        try:
            yield
        except StoppedError:
            if self._stop and not self._ending:
                self.failed.emit(request.place, STOPPED)
        except Exception as error:
            if not self._ending:
                self.failed.emit(request.place, sentence(error))

    def _glimpse(self, request: Request) -> bool:
        """Show the colours alone; whether they are shown."""
        eye, key = self._keys.get(request.place, (None, None))
        if request.view != "as seen" or eye != request.sitting.eye:
            return False
        if request is not self._glimpses.get(request.place):
            self._glimpses[request.place] = request
            seen = engine.glimpse(request.sitting, request.gaze, key, request.mark)
            if not self._ending:
                self.glimpsed.emit(request.place, seen, request.gaze)
        return True

    def _glimpse_others(self, request: Request) -> None:
        """Show the colours of what the other stage has asked for too, so that both change together."""
        with self._wake:
            others = [one for one in self._waiting.values() if one.place != request.place]
        for one in others:
            if self._lit_for.get(one.place) != (one.sitting, one.gaze):
                with suppress(Exception):  # said when it is this one's turn
                    engine.is_prepared(one.sitting) and self._glimpse(one)

    def _warm(self, request: Request, lit: Lit) -> None:
        """Load what glimpses need while nothing is dragged: loading holds the window up for a moment."""
        if not self._is_warm:
            self._is_warm = True
            engine.glimpse(request.sitting, request.gaze, lit.eye.key, request.mark)

    def _answer(self, request: Request, exact: bool) -> Lit:
        begun = time.perf_counter()
        lit = engine.light(request.sitting, request.gaze, exact, lambda share: self._progress(request, share))
        looks = appearance(lit, request.view, request.value_count, request.mark)
        lit.share_above_white  # noqa: B018
        make_mesh(lit.head)  # for the stage, which would have to wait for it
        if not self._ending:
            self._drawn.clear()
            self.answered.emit(Answer(request, lit, looks, time.perf_counter() - begun))
        until = time.monotonic() + DRAWN
        while not (self._drawn.wait(0.01) or self._waiting or self._ending or time.monotonic() > until):
            pass
        return lit

    def _mix(self, request: Request, lit: Lit) -> None:
        """Find recipes once nothing newer has been asked for during a moment of rest."""
        time.sleep(REST)
        self._go_on(request)
        lit.mix(lambda _: self._go_on(request)).mixed_rows  # noqa: B018
        if not self._ending:
            self.mixed.emit(lit)
        self._go_on(request)
        lit.plan  # noqa: B018
        if not self._ending:
            self.planned.emit(lit)

    def _progress(self, request: Request, share: float) -> None:
        self._go_on(request)
        self.progressed.emit(share)

    def _go_on(self, request: Request) -> None:
        if self._stop or self._ending or request.place in self._waiting:
            raise StoppedError
