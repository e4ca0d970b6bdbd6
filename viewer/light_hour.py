"""Place, date and hour, and clock of a daylight light, as rows of a form."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta, timezone

from PyQt6.QtCore import QDate, QDateTime, QSignalBlocker, Qt, QTime
from PyQt6.QtWidgets import QDateTimeEdit, QFormLayout

from sitterlight.shading.sitting import DaylightLight
from sitterlight.shading.sitting_clock import at_place, clock_time
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import add_row, soft
from sitterlight.viewer.home_city import home_words
from sitterlight.viewer.light_offers import HINTS, PLACES_OFFERED
from sitterlight.viewer.numbers import NumberBox


class HourRows:
    """Adds its rows to a form. `change(what, key, **changes)` changes the light, `settle` ends a step of undo."""

    def __init__(self, form: QFormLayout, light: DaylightLight, change: Callable, settle: Callable[[], None]):
        self.light, self._change, self._settle = light, change, settle
        self.place_box = Choice("place", PLACES_OFFERED, worded=True)
        self.place_box.chosen.connect(self._take_place)
        add_row(form, "place", self.place_box, HINTS["place"])
        self.home = soft()
        form.addRow("", self.home)
        self.hour_box = self._hour_box()
        add_row(form, "date and hour", self.hour_box, HINTS["hour"])
        self.offset_box: NumberBox | None = None
        self.clock = soft(wrap=False)
        if light.place is None:
            self.offset_box = self._offset_box()
            add_row(form, "clock", self.offset_box, HINTS["clock"])
        else:
            form.addRow("", self.clock)

    def fill(self, light: DaylightLight) -> None:
        """Show a light."""
        self.light = light
        self.place_box.set_value(light.place or "")
        why = home_words(light.place)
        self.home.setText(why)
        self.home.setVisible(bool(why))
        shown = light.when
        with QSignalBlocker(self.hour_box):
            self.hour_box.setDateTime(
                QDateTime(
                    QDate(shown.year, shown.month, shown.day),
                    QTime(shown.hour, shown.minute, shown.second),
                    Qt.TimeSpec.UTC,
                )
            )
        if self.offset_box is not None:
            self.offset_box.set_value(light.when.utcoffset().total_seconds() / 3600)
        else:
            self.clock.setText(f"by the clock there, {offset_words(light.when)}")

    def _take_place(self, text: str) -> None:
        moved = at_place(self.light, text or None)
        changes = {name: getattr(moved, name) for name in ("place", "latitude", "longitude", "when")}
        self._change("place", **changes)

    def _hour_box(self) -> QDateTimeEdit:
        box = QDateTimeEdit()
        box.setDisplayFormat("yyyy-MM-dd HH:mm")
        box.setAccessibleName("date and hour, as the clock there shows")
        box.setCalendarPopup(True)
        box.setDateRange(QDate(1950, 1, 1), QDate(2099, 12, 31))  # as a sitting may hold
        box.setTimeSpec(Qt.TimeSpec.UTC)  # of the place's clock, not of this machine's with its own missing hours
        box.dateTimeChanged.connect(self._take_hour)
        return box

    def _take_hour(self) -> None:
        shown = self.hour_box.dateTime().toPyDateTime().replace(tzinfo=None)
        self._change("hour", "hour", when=clock_time(self.light, shown))

    def _offset_box(self) -> NumberBox:
        """Hours that the clock is ahead of UTC, where no place is known that decides it."""
        box = NumberBox("hours ahead of UTC", -12, 14, " h from UTC", 0.25)

        def take(hours: float) -> None:
            zone = timezone(timedelta(minutes=round(60 * hours)))
            self._change("clock", "box.offset", when=self.light.when.replace(tzinfo=zone))

        box.changed.connect(take)
        box.editingFinished.connect(self._settle)
        return box


def offset_words(when: datetime) -> str:
    """A clock's offset, such as UTC+5:30."""
    minutes = round(when.utcoffset().total_seconds() / 60)
    return f"UTC{'+' if minutes >= 0 else '−'}{abs(minutes) // 60}:{abs(minutes) % 60:02d}"
