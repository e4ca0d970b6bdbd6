"""The robot: chooses what to do next, does it, and looks whether anything came of it."""

from __future__ import annotations

import random
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

from PyQt6 import sip
from PyQt6.QtCore import QMimeData, QPointF, Qt, QTimer, QUrl
from PyQt6.QtGui import QAction, QDragEnterEvent, QDropEvent
from PyQt6.QtWidgets import QAbstractItemView, QApplication, QComboBox, QLabel, QLineEdit, QMenu, QWidget

from sitterlight.shading.sitting_file import to_toml
from sitterlight.shading.sittings import built_in
from sitterlight.viewer.main_window import Window, make_application
from sitterlight.viewer.memory import settings
from sitterlight.viewer.model import Model, State

from . import hands
from .answers import Answers
from .files import make_files
from .watch import GROWTH, Watch

SIZES = ((600, 360), (800, 600), (1024, 700), (1280, 800), (1600, 1000), (1900, 1150))
WAYS = {"control": 58, "action": 14, "key": 7, "stage": 9, "drop": 4, "resize": 3, "rest": 3, "wheel": 2}
PAUSES = (10, 30, 60, 150)
"""Milliseconds between two steps."""

TRIES = 6
"""So often a control may change nothing before it is called dead."""

WEIGH_EVERY = 5.0
"""Seconds."""


class SmallModel(Model):
    """A model in which another head stands in for the bust."""

    mesh = "bust"

    def _set(self, state: State) -> None:
        held = None if state.held is None else self.with_mesh(state.held)
        super()._set(replace(state, sitting=self.with_mesh(state.sitting), held=held))

    def with_mesh(self, sitting):
        if sitting.head.mesh != "bust" or self.mesh == "bust":
            return sitting
        return replace(sitting, head=replace(sitting.head, mesh=self.mesh))


class Robot:
    """Uses a window. `watch.faults` holds what was found."""

    def __init__(self, seed: int, head: str, folder: Path, log: Path | None = None):
        self.seed, self.head, self.chance = seed, head, random.Random(seed)
        self._log = log.open("w", encoding="utf-8") if log else None
        self.steps, self.done, self.tried, self.lived = 0, Counter(), Counter(), Counter()
        self._begun = time.monotonic()
        self.app = make_application()
        self.app.setQuitOnLastWindowClosed(False)
        self.watch = Watch(self.note)
        self.files = make_files(folder / "files", head, random.Random(seed))
        self.answers = Answers(self.chance, self.files, folder / "files", self.note)
        SmallModel.mesh = head
        model = SmallModel(SmallModel.with_mesh(SmallModel, built_in("lamp-and-dusk")))
        self.window = Window(model)
        told = self.window.stages.notice.say
        self.window.stages.notice.say = lambda words: (words and self.note(f"  said {words!r}"), told(words))[1]
        self.window.show()

    def note(self, words: str) -> None:
        """A line of the log."""
        if self._log:
            self._log.write(f"{time.monotonic() - self._begun:7.1f} {self.steps:6d} {words}\n")
            self._log.flush()

    def run(self, seconds: float, steps: int | None = None) -> None:
        """Go on for so long, or for so many steps."""
        self._until, self._most = time.monotonic() + seconds, steps
        self._begun, self._weighed = time.monotonic(), 0.0
        QTimer.singleShot(500, self._step)
        self.app.exec()
        self.seconds = time.monotonic() - self._begun
        self.window.model.saved = self.window.model.sitting
        self.window.leaving.end()  # else it may be asked about, and there is nobody left to answer
        if self.window.day_plan is not None:
            self.window.day_plan.end()
        self.window.close()
        growth = self.watch.growth()
        if growth is not None and growth > GROWTH:
            self.watch.fault(f"memory grew by {growth:.0f} MB after it had been warmed up")

    # ---- one step

    def _step(self) -> None:
        if time.monotonic() > self._until or (self._most and self.steps >= self._most):
            self.app.exit()  # quit would ask the window, which may ask the user
            return
        if self.answers.waits:  # a dialog of the window's own, which is being answered
            QTimer.singleShot(100, self._step)
            return
        self.steps += 1
        way = self.chance.choices(list(WAYS), WAYS.values())[0]
        name, control, does = getattr(self, f"_{way}")()
        before = None if name is None or self.lived[name] else self._fingerprint(control)
        self.watch.rest()
        self.answers.since = time.monotonic()
        try:
            what = does()
        except RuntimeError as error:
            if "has been deleted" not in str(error):
                raise
            what = "gone while it was being used"
        self.answers.since = None
        self.done[way] += 1
        self.note(f"{way} {name or ''}: {what}")
        is_new = name is not None and not self.lived[name]
        QTimer.singleShot(400 if is_new else self.chance.choice(PAUSES), lambda: self._go_on(name, control, before))

    def _go_on(self, name: str | None, control: QWidget | None, before) -> None:
        try:
            self._after(name, control, before)
        finally:  # a fault of the robot's own is one too, and no reason to stop
            QTimer.singleShot(0, self._step)

    def _after(self, name: str | None, control: QWidget | None, before) -> None:
        self.watch.check()
        if name is not None:
            self.tried[name] += 1
            if not self.lived[name]:
                gone = control is not None and sip.isdeleted(control)
                self.lived[name] += gone or self._fingerprint(control) != before
        try:
            to_toml(self.window.model.sitting)
        except ValueError as error:
            self.watch.fault(f"a sitting that cannot be saved: {error}")
        if not self.window.isVisible():
            self.watch.fault("the window has gone")
            self.window.show()
        if time.monotonic() - self._weighed > WEIGH_EVERY:
            self._weighed = time.monotonic()
            told = self.watch.held() if len(self.watch.memory) % 12 == 0 else ""
            self.note(f"  memory {self.watch.weigh():.0f} MB {told}")
        self.watch.rest()

    def _fingerprint(self, besides: QWidget | None):
        """What a user, a file or a later time could tell apart, but for the control itself."""
        window, model = self.window, self.window.model
        stage = window.stages.first
        told = [
            model.state, model.saved, model.path, model.view, model.chosen, window.value_count, window.mark,
            stage.gaze, stage.window_frame, window.stages.shows_difference, self.answers.asked,
            window.statusBar().currentMessage(), self.app.clipboard().text(), _content(settings().fileName()),
            window.leaving.is_busy, window.size(), len(self.app.topLevelWidgets()),
        ]  # fmt: skip
        for top in self._tops():
            for widget in top.findChildren(QWidget):
                if widget is not besides and (besides is None or not besides.isAncestorOf(widget)):
                    told.append((widget.isVisible(), _words(widget)))
        self.watch.rest()
        return told

    def _tops(self) -> list[QWidget]:
        return [
            one
            for one in self.app.topLevelWidgets()
            if one.isVisible() and not isinstance(one, QMenu) and one.isWindow()
        ]

    # ---- what there is to do: the control's name and widget, and the deed

    def _control(self):
        tops = sorted(self._tops(), key=lambda top: (top is not self.window, type(top).__name__))
        top = self.window if self.chance.random() < 0.75 else self.chance.choice(tops)
        found = hands.controls(top)
        if self.chance.random() < 0.6:
            fewest = min(self.tried[name] for name, _ in found)
            found = [pair for pair in found if self.tried[pair[0]] == fewest]
        name, control = self.chance.choice(found)
        return name, control, lambda: hands.use(control, self.chance)

    def _action(self):
        found = [pair for pair in self._actions(self.window.menuBar()) if pair[1].isEnabled()]
        if self.chance.random() < 0.5:
            fewest = min(self.tried[name] for name, _ in found)
            found = [pair for pair in found if self.tried[pair[0]] == fewest]
        name, action = self.chance.choice(found)
        return name, None, lambda: action.trigger() or "triggered"

    def _actions(self, menu: QWidget, above: str = "menu") -> list[tuple[str, QAction]]:
        found = []
        for action in menu.actions():
            words = f"{above} › {action.text().split(' ')[0] if 'ndo' in action.text() else action.text()}"
            if action.menu() is not None:
                action.menu().aboutToShow.emit()
                found += self._actions(action.menu(), words)
            elif not action.isSeparator() and action.text() != "Quit":
                found.append((words, action))
        return found

    def _key(self):
        widget = self.app.focusWidget() or self.window
        return None, None, lambda: hands.press_key(widget, self.chance)

    def _stage(self):
        stage = self.window.stages.second if self.chance.random() < 0.3 else self.window.stages.first
        stage = stage if stage.isVisible() else self.window.stages.first
        way = self.chance.choice(("turn", "turn", "shift", "click", "double"))
        plotter = stage.plotter

        def does() -> str:
            if way == "turn":
                return hands.drag(plotter, self.chance)
            if way == "shift":
                return hands.drag(plotter, self.chance, hands.RIGHT)
            place = hands.somewhere(plotter, self.chance)
            press = hands.QTest.mouseClick if way == "click" else hands.QTest.mouseDClick
            press(plotter, hands.LEFT, hands.NONE, place)
            return f"{way} {place.x()},{place.y()}"

        return f"stage › {way}", plotter, does

    def _wheel(self):
        return "stage › wheel", None, lambda: hands.wheel(self.window.stages.first.plotter, self.chance)

    def _resize(self):
        size = self.chance.choice(SIZES)
        return None, None, lambda: self.window.resize(*size) or f"{size}"

    def _rest(self):
        return None, None, lambda: hands.QTest.qWait(self.chance.choice((200, 800, 2000))) or "a while"

    def _drop(self):
        path = self.chance.choice(self.files)
        return None, None, lambda: self._let_fall(path) or path.name

    def _let_fall(self, path: Path) -> None:
        data = QMimeData()
        data.setUrls([QUrl.fromLocalFile(str(path))])
        rest = (Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier)
        QApplication.sendEvent(self.window, QDragEnterEvent(QPointF(9, 9).toPoint(), *rest))
        QApplication.sendEvent(self.window, QDropEvent(QPointF(9, 9), *rest))

    # ---- at the end

    @property
    def dead(self) -> list[str]:
        """Controls that were tried often enough and never changed anything."""
        return sorted(
            name
            for name, times in self.tried.items()
            if times >= TRIES and not self.lived[name] and not name.startswith("scroll")
        )

    def report(self) -> str:
        """What was done and found."""
        watch, held = self.watch, [each for _, each in self.watch.memory] or [0.0]
        growth = watch.growth()
        lines = [
            f"seed {self.seed}, head {self.head}: {self.steps} steps in {self.seconds / 60:.1f} min, "
            f"{len(self.tried)} controls and actions, {sum(map(bool, self.lived.values()))} seen to change something",
            ", ".join(f"{way} {times}" for way, times in self.done.most_common()),
            f"longest silence {watch.longest:.1f} s, longest own work {watch.longest_own:.1f} s",
            f"memory {held[0]:.0f} MB at first, {max(held):.0f} MB at most, {held[-1]:.0f} MB at the end; once warm "
            f"it grew by {'not known' if growth is None else f'{growth:.0f} MB'} (bound {GROWTH} MB)",
            f"dead controls: {'; '.join(self.dead) or 'none'}",
            f"faults: {len(watch.faults)}",
        ]
        return "\n".join([*lines, *watch.faults])


def _words(widget: QWidget):
    if isinstance(widget, QLabel | QLineEdit):
        return widget.text()
    if isinstance(widget, QComboBox):
        return widget.currentText(), widget.count()
    if isinstance(widget, QAbstractItemView) and widget.model() is not None:
        model = widget.model()
        rows = [model.index(row, 0).data() for row in range(min(model.rowCount(), 60))]
        return rows, model.rowCount(), widget.currentIndex().row()
    return None


def _content(name: str) -> bytes:
    try:
        return Path(name).read_bytes()
    except OSError:
        return b""
