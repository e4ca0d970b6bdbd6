"""The window: the head in the middle, sitter, lights and eye on its left, planes and their why on its right.

It opens in two steps. The first makes what is seen at once: stage, title, menus, and the places of the panels. The
second makes the panels and all else (`building`).
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PyQt6.QtCore import QByteArray, QSize, QTimer
from PyQt6.QtGui import QIcon
from PyQt6.QtWidgets import QApplication, QLayout, QMainWindow

from sitterlight.viewer.building import PARTS, Building
from sitterlight.viewer.docks import add_docks, bring_planes, fold, share_out
from sitterlight.viewer.greys import SURROUNDS, Greys, palette, style
from sitterlight.viewer.memory import settings
from sitterlight.viewer.menus import add_menus
from sitterlight.viewer.model import Model
from sitterlight.viewer.stages import Stages
from sitterlight.viewer.status_line import StatusLine
from sitterlight.viewer.tidying import Tidying

if TYPE_CHECKING:
    from sitterlight.viewer.engine import Lit
    from sitterlight.viewer.kept_picture import KeptPicture

LEAST_SIZE = (600, 360)
"""Of the window, in pixels before scaling: a little less than 1280 × 800 at twofold scaling."""

SHORT = 620
"""Height of a window under which the legend makes room for the head."""

ICONS = Path(__file__).parent / "icons"
"""Grey ones for what a desktop without icons of its own leaves to Qt, whose folders are blue."""

_PATIENCE = 1500
"""Milliseconds after which the panels are made even where nothing has been drawn, as in a window shown as an icon."""


class Window(QMainWindow):
    """Mirrors a `Model`; every control changes the model and nothing else.

    Its panels and helpers are attributes, see building.PARTS. With `in_steps` they are made while the window is already
    shown; otherwise, and as soon as one of them is asked for, at once. `kept` is a picture to show until it is lit.
    """

    def __init__(self, model: Model, kept: KeptPicture | None = None, in_steps: bool = False):
        super().__init__()
        self.model, self.kept = model, kept
        self.lit: Lit | None = None
        self.value_count, self.mark = 5, True
        self.day_plan = None
        self.is_whole, self._waiting_for_all = False, []
        self.tidying = Tidying(self, lambda: not self.is_whole or self.background.is_busy)
        surround = settings().value("surround")
        self._surround = surround if surround in SURROUNDS else "middle"
        _dress(SURROUNDS[self._surround])  # before there is anything to dress, so that nothing changes its size later
        self.stages = Stages(model)
        self.stages.set_surround(SURROUNDS[self._surround].stage)
        self.setCentralWidget(self.stages)
        self._docks_are_remembered = settings().contains("docks")
        self.layout().setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)
        self.setMinimumSize(*LEAST_SIZE)
        add_docks(self)
        add_menus(self)
        self.status = StatusLine()
        self.setStatusBar(self.status)
        self._connect()
        self._restore()
        self.mirror_file()
        if kept is not None:
            self.stages.show_kept(kept)
        self._building = Building(self, self._became_whole)
        if in_steps:
            self.stages.first.plotter.drawn.connect(self._building.begin)
            QTimer.singleShot(_PATIENCE, self._building.begin)
        else:
            self._building.finish()

    def __getattr__(self, name: str):
        """A part that is still to be made is made now, with all the others."""
        if name in PARTS and "_building" in vars(self):
            self._building.finish()
            if name in vars(self):
                return vars(self)[name]
        raise AttributeError(f"the window has no {name}")

    def when_whole(self, then: Callable[[], None]) -> None:
        """Do something once all parts are made: now, or later."""
        if self.is_whole:
            then()
        else:
            self._waiting_for_all.append(then)

    def _connect(self) -> None:
        model = self.model
        model.on("state", self._changed)
        model.on("view", self.show_view)
        model.on("file", self.mirror_file)
        model.on("said", lambda: self.stages.say(model.said))
        for stage in self.stages.all:
            stage.gazed.connect(lambda gaze: model.look_from(gaze))
            stage.rested.connect(model.settle)
            stage.picked.connect(self._pick)
        self.stages.bar.chosen.connect(model.show)
        self.stages.bar.counted.connect(self.set_value_count)

    def _pick(self, plane: int) -> None:
        """A plane of the head was clicked, or with −1 none: who asks why can read it, in a narrow window too."""
        self.model.choose(None if plane < 0 else plane)
        if plane >= 0:
            bring_planes(self)

    def _became_whole(self) -> None:
        self.why.copied.connect(lambda text: self.say(f"Copied: {text}"))
        self.rooms.asked.connect(self.model.choose)
        self.stages.lesson.begun.connect(self.rooms.read_from_the_top)
        self.choice.chosen.connect(self.files.open_built_in)
        self.sitter.mesh_asked.connect(self.files.take_mesh)
        self.leaving.written.connect(lambda _path: self.stages.notice.first_steps.take("leave"))
        self.lights.editor.planned.connect(self.show_day_plan)
        self.setAcceptDrops(True)
        self.is_whole = True
        self.answers.serve_panels()
        self.actions_by_name[self._surround].setChecked(True)
        self._mirror_steps()
        self.mirror_file()
        for then in self._waiting_for_all:
            then()
        self._waiting_for_all.clear()

    # ---- what is shown

    def _changed(self) -> None:
        self.stages.mirror()
        self._mirror_steps()
        self.mirror_file()
        if "answers" in vars(self):
            self.answers.ask()

    def show_view(self, only: Lit | None = None) -> None:
        """Show the chosen view on both stages, or where this lit head is."""
        self.stages.bar.show_view(self.model.view)
        self.stages.notice.mirror()
        if "answers" in vars(self):
            self.answers.show_view(only)

    def set_value_count(self, count: int) -> None:
        """Part the head into this many values."""
        self.value_count = count
        self.show_view()

    def set_mark(self, mark: bool) -> None:
        """Mark, or not, what lies above white or outside the screen."""
        self.mark = mark
        self.show_view()

    def show_day_plan(self) -> None:
        """Open the day plan, made when it is first asked for."""
        if self.day_plan is None:
            from sitterlight.viewer.day_panel import DayPanel

            self.day_plan = DayPanel(self)
        self.day_plan.show()
        self.day_plan.raise_()
        self.day_plan.activateWindow()

    def say(self, words: str) -> None:
        """One sentence in the status line, for a while."""
        self.status.say(words)

    # ---- the window itself

    def set_surround(self, name: str) -> None:
        """One of greys.SURROUNDS for the whole application."""
        _dress(SURROUNDS[name])
        self.stages.set_surround(SURROUNDS[name].stage)
        settings().setValue("surround", name)
        self.actions_by_name[name].setChecked(True)

    def mirror_file(self) -> None:
        """The title of the window: the sitting, and whether it has been changed."""
        self.setWindowTitle(f"{self.model.sitting.title}[*] – Sitterlight")
        self.setWindowModified(self.model.changed)
        if self.is_whole:
            self.choice.show_sitting(self.model.sitting, self.model.path)

    def _mirror_steps(self) -> None:
        if not self.is_whole:
            return
        for name, what in (("undo", self.model.can_undo), ("redo", self.model.can_redo)):
            action = self.actions_by_name[name]
            action.setEnabled(what is not None)
            action.setText(f"{name.capitalize()} {what}" if what else name.capitalize())

    def _restore(self) -> None:
        kept = settings()
        self.resize(QSize(1280, 800))
        for name, restore in (("geometry", self.restoreGeometry), ("docks", self.restoreState)):
            value = kept.value(name)
            if isinstance(value, QByteArray):
                restore(value)
        self.stages.bar.show_view(self.model.view)
        self.stages.mirror()

    def resizeEvent(self, event) -> None:
        super().resizeEvent(event)
        if fold(self) or not self._docks_are_remembered:
            share_out(self)
        self.stages.set_short(self.height() < SHORT)

    def dragEnterEvent(self, event) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event) -> None:
        for url in event.mimeData().urls():
            if url.isLocalFile():
                self.files.take(Path(url.toLocalFile()))
                return

    def closeEvent(self, event) -> None:
        asking = [self.files.may_leave, self.leaving.may_close]
        if self.day_plan is not None:
            asking.append(self.day_plan.may_close)
        if not all(may() for may in asking):
            event.ignore()
            return
        kept = settings()
        kept.setValue("geometry", self.saveGeometry())
        kept.setValue("docks", self.saveState())
        self.files.remember_last()
        self.hide()
        if self.day_plan is not None:
            self.day_plan.end()
        self.leaving.end()
        self.background.end()
        self.keeper.end()
        self.recovering.end()
        self.tidying.end()
        self.stages.close_stages()
        event.accept()


def _dress(greys: Greys) -> None:
    """Give the whole application these greys."""
    app = QApplication.instance()
    app.setPalette(palette(greys))
    app.setStyleSheet(style(greys))


def make_application() -> QApplication:
    """The application with our greys, made once."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    app.setApplicationName("Sitterlight")
    app.setDesktopFileName("sitterlight")
    app.setStyle("Fusion")
    QIcon.setFallbackSearchPaths([str(ICONS)])
    return app
