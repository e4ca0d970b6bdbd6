"""The day plan: the sitting at hand through a day, as curves, sentences and pictures, and the hour taken from it."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from PyQt6.QtCore import QDate, QSignalBlocker, QSize, Qt
from PyQt6.QtWidgets import QDialog, QLabel, QScrollArea, QVBoxLayout, QWidget

from sitterlight.shading.day_hours import COMPASS, DayHours, at
from sitterlight.shading.day_page import place_line
from sitterlight.shading.day_words import sentences
from sitterlight.shading.sitting import DaylightLight, with_light
from sitterlight.shading.sitting_clock import at_place
from sitterlight.viewer import engine
from sitterlight.viewer.closing import may_stop
from sitterlight.viewer.controls import soft
from sitterlight.viewer.day_asking import DayAsking
from sitterlight.viewer.day_chart import DayChart
from sitterlight.viewer.day_leaving import DayLeaving
from sitterlight.viewer.day_readings import daylight_of, same_day_plan
from sitterlight.viewer.day_work import DayWork
from sitterlight.viewer.facings_row import FacingsRow
from sitterlight.viewer.home_city import home_words
from sitterlight.viewer.no_daylight import NoDaylight

ASK = (
    "Choose a day and have it worked out: the head at each step from dawn to dusk, then facing eight ways. "
    "A minute or so."
)
POINT = (
    "Click an hour to give it to the sitting. Point at a curve to read it; arrow keys do both, Return takes the hour."
)
OLD = "The sitting has been changed since this day was worked out."

WHOLE, SENTENCE = (1000, 820), (620, 130)
"""Width and height of the plan, and of the sentence that there is none."""


class DayPanel(QDialog):
    """A window of its own beside the main one; mirrors its model, and changes nothing but hour and facing."""

    def __init__(self, window):
        super().__init__(window)
        self.window_at_hand, self.model = window, window.model
        self.day: DayHours | None = None
        self._date_is_own = False
        self._has_hours = True  # of what is worked out; its facings come after
        self._had_light: bool | None = None
        self.setWindowTitle("Day plan – Sitterlight")
        self.work = DayWork(self)
        self.leaving = DayLeaving(self)
        self.asking = asking = DayAsking(self.leaving.menu)
        self.date, self.city, self.step, self.planes = asking.date, asking.city, asking.step, asking.planes
        self.begin, self.stop, self.progress, self.leave = asking.begin, asking.stop, asking.progress, asking.leave
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 10, 10, 8)
        layout.setSpacing(6)
        self.nothing = NoDaylight(window)
        layout.addWidget(self.nothing)
        layout.addWidget(self._plan(), 1)
        self._connect()
        self.model.on("state", self.mirror)
        self.mirror()

    # ---- what it is made of

    def _plan(self) -> QWidget:
        self.plan = QWidget()
        layout = QVBoxLayout(self.plan)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6)
        layout.addWidget(self.asking)
        self.place = soft(wrap=False)
        layout.addWidget(self.place)
        self.said = QLabel(ASK)
        self.said.setWordWrap(True)
        self.said.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        layout.addWidget(self.said)
        self.chart, self.facings = DayChart(), FacingsRow()
        self.facings.hide()
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 8, 0)
        column.addWidget(self.chart)
        column.addWidget(self.facings)
        column.addStretch(1)
        self.area = QScrollArea()
        self.area.setAccessibleName("the day as curves")
        self.area.setWidget(body)
        self.area.setWidgetResizable(True)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        layout.addWidget(self.area, 1)
        self.reading = soft()
        self.reading.setObjectName("value")
        self.reading.setMinimumHeight(2 * self.fontMetrics().height() + 4)
        self.reading.setAlignment(Qt.AlignmentFlag.AlignTop)
        layout.addWidget(self.reading)
        return self.plan

    def _connect(self) -> None:
        self.date.dateChanged.connect(self._own_date)
        self.city.chosen.connect(self._take_city)
        self.planes.menu().aboutToShow.connect(self._offer_planes)
        self.begin.clicked.connect(self.work_out)
        self.stop.clicked.connect(self._stop)
        self.chart.chosen.connect(self.take_hour)
        self.chart.read.connect(lambda words: self.reading.setText(words or POINT))
        self.facings.chosen.connect(self.take_facing)
        self.facings.compared.connect(self.compare_now)
        self.work.worked.connect(self.show_day)
        self.work.so_far.connect(self.show_so_far)
        for work in (self.work, self.leaving.work):
            work.progressed.connect(lambda share: self.progress.setValue(round(1000 * share)))
        self.leaving.told.connect(self._tell_leaving)
        self.leaving.work.ended.connect(self.mirror)
        self.work.failed.connect(lambda words: self.say(words))
        self.work.stopped.connect(self._stopped)
        self.work.ended.connect(self._ended)

    # ---- mirroring

    def mirror(self) -> None:
        """Show where the sitting at hand stands in the day."""
        light = daylight_of(self.model.sitting)
        if self._had_light is not (light is not None):
            self._had_light = light is not None
            wanted = QSize(*(WHOLE if light is not None else SENTENCE))
            self.resize(wanted.boundedTo(self.screen().availableGeometry().size()))
        self.nothing.setVisible(light is None)
        self.plan.setVisible(light is not None)
        if light is None:
            return
        busy = self.is_busy
        self.asking.mirror(busy, self.day is not None)
        self.city.set_value(light.place or "")
        if not self._date_is_own:
            with QSignalBlocker(self.date):
                self.date.setDate(QDate(light.when.year, light.when.month, light.when.day))
        if self.day is None:
            why = home_words(light.place)
            self.place.setText(f"{light.place}, {why}" if why else "")
            return
        self._mirror_day(light, busy)

    def _mirror_day(self, light: DaylightLight, busy: bool) -> None:
        same = same_day_plan(self.model.sitting, self.day.sitting)
        self.place.setText(place_line(self.day) if same else f"{OLD} {place_line(self.day)}")
        is_its_day = light.when.date() == self.day.on
        self.chart.show_time(light.when.hour + light.when.minute / 60 if is_its_day else None)
        compared = self.day.facings[0].when if self.day.facings else None
        offer = f"{light.when:%H:%M}" if same and is_its_day and not busy and light.when != compared else None
        self.facings.show_sitting(light.facing, offer)

    def show_day(self, day: DayHours) -> None:
        """Show a day that has been worked out."""
        self.day, self._has_hours = day, True
        if self.chart.day is None or self.chart.day.hours is not day.hours:
            self.chart.show_day(day)
        self.facings.show_facings(day.facings)
        self.said.setText("\n".join(sentences(day).values()))
        self.reading.setText(POINT)
        self.mirror()

    def show_so_far(self, day: DayHours) -> None:
        """Show the hours that are there while the others are still worked out."""
        if self.work.is_busy:
            self.said.setText(
                f"{day.on.day} {day.on:%B %Y}, {day.hours[-1].clock}; the last is {day.times[-1]:%H:%M} …"
            )
            self.facings.show_facings(())
            self.chart.show_day(day)

    def say(self, words: str) -> None:
        """One sentence instead of what the day says."""
        self.said.setText(words)

    # ---- doing

    @property
    def is_busy(self) -> bool:
        """Whether a day is worked out or written."""
        return self.work.is_busy or self.leaving.work.is_busy

    def _stop(self) -> None:
        self.stop.setEnabled(False)
        self.work.stop()
        self.leaving.work.stop()

    def _tell_leaving(self, words: str) -> None:
        self.reading.setText(words)
        self.mirror()

    @property
    def chosen_date(self) -> date:
        shown = self.date.date()
        return date(shown.year(), shown.month(), shown.day())

    def _own_date(self) -> None:
        self._date_is_own = True

    def _take_city(self, name: str) -> None:
        """Move the sitting's daylight to a city, at the same hour of its clock; a step that can be undone."""
        light = daylight_of(self.model.sitting)
        moved = at_place(light, name or None)
        changes = {field: getattr(moved, field) for field in ("place", "latitude", "longitude", "when")}
        self.model.settle()
        self.model.change(with_light(self.model.sitting, light.name, **changes), f"place of {light.name}")

    def _plane_names(self) -> list[str]:
        """Names of the head's planes, each once. ValueError where its file has gone, or while it is still lit."""
        head = engine.head_at_once(self.model.sitting, self.window_at_hand.lit)
        return list(dict.fromkeys(plane.name for plane in head.planes))

    def _offer_planes(self) -> None:
        try:
            self.planes.show_planes(self._plane_names())
        except ValueError as error:
            self.model.say(str(error))

    def _stopped(self) -> None:
        """Say again what was said before the work."""
        if self.day is None:
            self.said.setText(ASK)
        else:
            self.show_day(self.day)

    def _ended(self) -> None:
        """Where there is no whole day, show again what was shown before the work."""
        if self.day is None and self.chart.day is not None:
            self.chart.show_day(None)
            self.said.setText(ASK)
        elif self.day is not None and self.chart.day.hours is not self.day.hours:
            self.show_day(self.day)
        self.mirror()

    def work_out(self) -> None:
        """Work out the chosen day of the sitting at hand."""
        step = timedelta(minutes=int(self.step.currentData()))
        self.progress.setValue(0)
        on = self.chosen_date
        self.say(f"Working out {on.day} {on:%B %Y} …")
        self._has_hours = False
        self.work.plan(self.model.sitting, on, self.planes.chosen, step)
        self.mirror()

    def take_hour(self, place: int) -> None:
        """Give the sitting one of the hours; a step that can be undone."""
        self._take(self.chart.day.hours[place].when, None, "hour from the day plan")

    def take_facing(self, place: int) -> None:
        """Turn the sitter toward one of the eight, at the hour at which they were compared."""
        facing = self.day.facings[place]
        self._take(facing.when, facing.facing, f"face {COMPASS[place]}")

    def _take(self, when: datetime, facing: float | None, what: str) -> None:
        self.model.settle()
        self.model.change(at(self.model.sitting, when, facing), what)
        self.mirror()

    def compare_now(self) -> None:
        """Compare the eight facings at the sitting's own hour."""
        light = daylight_of(self.model.sitting)
        if light is not None and self.day is not None:
            self.progress.setValue(0)
            self.work.compare(self.day, light.when)
            self.mirror()

    def end(self) -> None:
        """Stop what goes on; the window is closing."""
        self._stop()
        for work in (self.work, self.leaving.work):
            work.wait()

    def may_close(self) -> bool:
        """Whether the plan may close: a day that is being worked out is asked about, and files that are written."""
        unfinished, lost = "The day is still being written.", "nothing of it will be written"
        if self.work.is_busy and self._has_hours:
            unfinished, lost = "The eight facings have not been compared yet.", "the hours are kept and the facings not"
        elif self.work.is_busy:
            unfinished, lost = "The day has not been worked out yet.", "what there is of it is lost"
        return may_stop(self, unfinished, f"If the window closes now, {lost}.", lambda: self.is_busy)

    def reject(self) -> None:
        """Close, by Escape or by the window's own button, if that may be."""
        if self.may_close():
            self._stop()
            super().reject()
