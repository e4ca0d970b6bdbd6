"""The window: the head in the middle, sitter, lights and eye on its left, planes and their why on its right."""

from __future__ import annotations

import sys
from pathlib import Path

from PyQt6.QtCore import QByteArray, QSize
from PyQt6.QtWidgets import (
    QApplication,
    QLayout,
    QMainWindow,
)

from sitterlight.shading.sitting import Sitting
from sitterlight.viewer.actions import make_actions
from sitterlight.viewer.appearance import Appearance, remembered
from sitterlight.viewer.background import Answer, Background, Request
from sitterlight.viewer.docks import add_docks, fold, share_out
from sitterlight.viewer.engine import Lit
from sitterlight.viewer.eye_panel import EyePanel
from sitterlight.viewer.files import Files
from sitterlight.viewer.greys import SURROUNDS, palette, style
from sitterlight.viewer.head_panel import HeadPanel
from sitterlight.viewer.leaving import Leaving
from sitterlight.viewer.light_panel import LightPanel
from sitterlight.viewer.memory import settings
from sitterlight.viewer.model import Model
from sitterlight.viewer.palette_panel import PalettePanel
from sitterlight.viewer.plane_rooms import PlaneRooms
from sitterlight.viewer.planes_table import PlanesTable
from sitterlight.viewer.pointer import pointer_words
from sitterlight.viewer.recovering import Recovering
from sitterlight.viewer.sitter_panel import SitterPanel
from sitterlight.viewer.stages import Stages
from sitterlight.viewer.status_line import StatusLine
from sitterlight.viewer.why_panel import WhyPanel

LEAST_SIZE = (600, 360)
"""Of the window, in pixels before scaling: a little less than 1280 × 800 at twofold scaling."""

SHORT = 620
"""Height of a window under which the legend makes room for the head."""


class Window(QMainWindow):
    """Mirrors a `Model`; every control changes the model and nothing else."""

    def __init__(self, model: Model):
        super().__init__()
        self.model = model
        self.lit: Lit | None = None
        self._counted_lit: Lit | None = None  # whose rows the table shows, a little behind
        self.value_count, self.mark = 5, True
        self.day_plan = None
        self.background = Background(self)
        self.stages = Stages(model)
        self.setCentralWidget(self.stages)
        self.sitter, self.lights, self.eye = SitterPanel(model), LightPanel(model), EyePanel(model)
        self.table, self.why = PlanesTable(), WhyPanel()
        self.paints, self.rooms = PalettePanel(model, self.say), PlaneRooms(self.why)
        self.files, self.leaving, self.planes_of_head = Files(self), Leaving(self), HeadPanel(model)
        self.recovering = Recovering(self)
        self._docks_are_remembered = settings().contains("docks")
        self.layout().setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)
        self.setMinimumSize(*LEAST_SIZE)
        add_docks(self)
        self.status = StatusLine()
        self.setStatusBar(self.status)
        self.actions_by_name = make_actions(self)
        self._connect()
        self.setAcceptDrops(True)
        self._restore()
        self.mirror_file()
        self._ask()

    def _connect(self) -> None:
        model, first = self.model, self.stages.first
        model.on("state", self._changed)
        model.on("chosen", self._show_chosen)
        model.on("view", self._show_view)
        model.on("file", self.mirror_file)
        model.on("said", lambda: self.stages.say(model.said))
        self.background.glimpsed.connect(self.stages.show_glimpse)
        self.background.answered.connect(self._answered)
        self.background.counted.connect(self._counted)
        self.background.weighed.connect(self._weighed)
        self.background.mixed.connect(self._mixed)
        self.background.looked.connect(self._show_view)
        self.background.compared.connect(self.stages.show_difference)
        self.background.failed.connect(self._failed)
        self.background.failed.connect(self.rooms.show_failed)
        self.background.progressed.connect(self.status.show_progress)
        self.background.idle.connect(lambda: self.status.show_progress(None))
        self.status.stopped.connect(self.background.stop)
        for stage in self.stages.all:
            stage.gazed.connect(lambda gaze: model.look_from(gaze))
            stage.rested.connect(model.settle)
            stage.picked.connect(lambda plane: model.choose(None if plane < 0 else plane))
        first.pointed.connect(lambda face, weights: self._point(self.lit, face, weights))
        self.stages.second.pointed.connect(lambda face, weights: self._point(self.stages.second.lit, face, weights))
        self.stages.bar.chosen.connect(model.show)
        self.stages.bar.counted.connect(self.set_value_count)
        self.stages.compared.connect(self.background.compare)
        self.table.chosen.connect(self._table_chosen)
        self.why.copied.connect(lambda text: self.say(f"Copied: {text}"))
        self.rooms.asked.connect(model.choose)
        self.choice.chosen.connect(self.files.open_built_in)
        self.sitter.mesh_asked.connect(self.files.take_mesh)
        self.leaving.written.connect(lambda _path: self.stages.notice.first_steps.take("leave"))
        self.lights.editor.planned.connect(self.show_day_plan)

    # ---- lighting

    def _request(self, place: str, sitting: Sitting) -> Request:
        return Request(place, sitting, self.model.state.looks_from, self.model.view, self.value_count, self.mark)

    def _ask(self) -> None:
        """Have the state lit."""
        state = self.model.state
        self.background.ask(self._request("first", state.sitting))
        if state.held is not None:
            self.background.ask(self._request("second", state.held))
        else:
            self.background.forget("second")

    def _changed(self) -> None:
        self.stages.mirror()
        for action in ("undo", "redo"):
            self._mirror_step(action)
        self.mirror_file()
        self._ask()

    def _answered(self, answer: Answer) -> None:
        if answer.request.place == "second":
            if self.model.state.held is not None:
                self.stages.show_second(answer.lit, self._looks(answer))
            return
        self.lit = answer.lit
        gaze = None if self.stages.first.is_dragged else self.model.state.looks_from
        self.stages.show_first(answer.lit, self._looks(answer), gaze)
        self.lights.show_lit(answer.lit)
        self.eye.show_lit(answer.lit)
        told = self.planes_of_head.show_head(answer.lit.head, answer.lit.exact)
        if not answer.lit.exact:
            told = f"First picture: nothing blocks the light yet. Casting rays … {told}".strip()
        self.stages.say(told)

    def _looks(self, answer: Answer) -> Appearance:
        """The answer's appearance, or that of the view chosen meanwhile, which comes later where it isn't ready."""
        return self._appearance(answer.lit) or answer.appearance

    def _counted(self, lit: Lit) -> None:
        self.stages.lesson.tell(self.stages.second.lit, self.lit)
        if lit is self.lit:
            self._counted_lit = lit
            self.table.show_rows(lit.rows)
            self._show_chosen()

    def _weighed(self, lit: Lit) -> None:
        if lit is self.lit:
            self.lights.show_mix(lit.light_mix)
            self._show_chosen()

    def _mixed(self, lit: Lit) -> None:
        if lit is self.lit:
            self._counted_lit = lit
            self.table.show_rows(lit.mixed_rows)
            self.rooms.show_mixed(lit)
            self._show_chosen()

    def _appearance(self, lit: Lit) -> Appearance | None:
        """How a lit head looks in the chosen view; None where that has first to be worked out, which begins."""
        wanted = (self.model.view, self.value_count, self.mark)
        looks = remembered(lit, *wanted)
        if looks is None:
            self.background.look(lit, *wanted)
        return looks

    def _show_view(self, only: Lit | None = None) -> None:
        """Show the chosen view on both stages, or where this lit head is."""
        self.stages.bar.show_view(self.model.view)
        self.stages.notice.mirror()
        for stage in (self.stages.first, self.stages.second):
            if stage.lit is not None and (only is None or stage.lit is only):
                looks = self._appearance(stage.lit)
                if looks is not None:
                    self.stages.show_looks(stage, looks)

    def set_value_count(self, count: int) -> None:
        """Part the head into this many values."""
        self.value_count = count
        self._show_view()

    def set_mark(self, mark: bool) -> None:
        """Mark, or not, what lies above white or outside the screen."""
        self.mark = mark
        self._show_view()

    def _failed(self, place: str, sentence: str) -> None:
        self.stages.say(sentence)
        self.status.show_progress(None)

    # ---- planes

    def _show_chosen(self) -> None:
        chosen = self.model.chosen
        self.table.choose(chosen)
        for stage in self.stages.all:
            stage.mark_plane(chosen)
        if chosen is None or not self._has_row(chosen):
            self.rooms.show_nothing()
            return
        current = self.table.current
        stroke = current[1] if current is not None and current[0] == chosen else None
        self.rooms.show_plane(self._counted_lit, self.table.rows[chosen], stroke)

    def _has_row(self, number: int) -> bool:
        """Whether the table's row of a plane is of the lit head: another one's rows come a little after it."""
        if (
            self.lit is None
            or self._counted_lit is None
            or number >= min(len(self.table.rows), len(self.lit.head.planes))
        ):
            return False
        row, plane = self.table.rows[number], self.lit.head.planes[number]
        return (row.name, row.side) == (plane.name, plane.side)

    def _table_chosen(self, number: int) -> None:
        if number < 0 or not self._has_row(number):
            return
        if number == self.model.chosen:
            self.rooms.show_plane(self._counted_lit, self.table.rows[number], self.table.current[1])
        self.model.choose(number)
        if self.table.current:
            self.rooms.show_plane(self._counted_lit, self.table.rows[number], self.table.current[1])

    def _point(self, lit: Lit | None, face: int, weights) -> None:
        self.status.reading.setText("" if lit is None or face < 0 else pointer_words(lit, face, weights))

    # ---- the window itself

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

    def set_surround(self, name: str) -> None:
        """One of greys.SURROUNDS for the whole application."""
        greys = SURROUNDS[name]
        app = QApplication.instance()
        app.setPalette(palette(greys))
        app.setStyleSheet(style(greys))
        self.stages.set_surround(greys.stage)
        settings().setValue("surround", name)
        if name in self.actions_by_name:
            self.actions_by_name[name].setChecked(True)

    def mirror_file(self) -> None:
        """The title of the window: the sitting, and whether it has been changed."""
        self.setWindowTitle(f"{self.model.sitting.title}[*] – Sitterlight")
        self.setWindowModified(self.model.changed)
        self.choice.show_sitting(self.model.sitting, self.model.path)

    def _mirror_step(self, name: str) -> None:
        what = self.model.can_undo if name == "undo" else self.model.can_redo
        action = self.actions_by_name[name]
        action.setEnabled(what is not None)
        action.setText(f"{name.capitalize()} {what}" if what else name.capitalize())

    def _restore(self) -> None:
        kept = settings()
        self.set_surround(kept.value("surround", "middle") if kept.value("surround") in SURROUNDS else "middle")
        self.resize(QSize(1280, 800))
        for name, restore in (("geometry", self.restoreGeometry), ("docks", self.restoreState)):
            value = kept.value(name)
            if isinstance(value, QByteArray):
                restore(value)
        for action in ("undo", "redo"):
            self._mirror_step(action)
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
        if not self.files.may_leave() or not self.leaving.may_close():
            event.ignore()
            return
        kept = settings()
        kept.setValue("geometry", self.saveGeometry())
        kept.setValue("docks", self.saveState())
        self.files.remember_last()
        if self.day_plan is not None:
            self.day_plan.end()
        self.leaving.end()
        self.background.end()
        self.recovering.end()
        self.stages.close_stages()
        event.accept()


def make_application() -> QApplication:
    """The application with our greys, made once."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    app.setApplicationName("Sitterlight")
    app.setDesktopFileName("sitterlight")
    app.setStyle("Fusion")
    return app
