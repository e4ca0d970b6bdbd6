"""What a day plan is asked by: the day, the city, the step and the planes; the last two are remembered."""

from __future__ import annotations

from PyQt6.QtCore import QDate
from PyQt6.QtWidgets import QDateEdit, QHBoxLayout, QMenu, QProgressBar, QPushButton, QWidget

from sitterlight.shading.day_hours import PLANES, STEP, STEPS
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.light_offers import PLACES_OFFERED
from sitterlight.viewer.memory import settings
from sitterlight.viewer.plane_choice import PlaneChoice

MOST_REMEMBERED = 60
"""Planes."""


class DayAsking(QWidget):
    """A row of controls; buttons to begin, to stop and to leave with something, and how far the work is."""

    def __init__(self, leave: QMenu):
        super().__init__()
        self.date = QDateEdit()
        self.date.setDisplayFormat("d MMMM yyyy")
        self.date.setCalendarPopup(True)
        self.date.setDateRange(QDate(1950, 1, 1), QDate(2099, 12, 31))
        self.date.setAccessibleName("day")
        self.city = Choice("place", PLACES_OFFERED, worded=True)
        self.city.setMinimumContentsLength(18)
        self.city.setToolTip("where the sitter sits; also among the light's own controls")
        self.step = Choice("step", [(str(n), f"every {n} minutes") for n in STEPS], worded=True)
        self.step.setMinimumContentsLength(15)
        self.step.setToolTip("from one time of the day to the next")
        self.planes = PlaneChoice(remembered_planes())
        self.step.set_value(remembered_step())
        self.begin, self.stop = QPushButton("Work out the day"), QPushButton("Stop")
        self.begin.setDefault(True)
        self.progress = QProgressBar()
        self.progress.setRange(0, 1000)
        self.progress.setTextVisible(False)
        self.progress.setFixedWidth(150)
        self.progress.setAccessibleName("how far the work is")
        self.leave = QPushButton("Leave with…")
        self.leave.setMenu(leave)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for widget in (self.date, self.city, self.step, self.planes, self.begin, self.progress, self.stop):
            row.addWidget(widget)
        row.addStretch(1)
        row.addWidget(self.leave)
        self.step.chosen.connect(lambda minutes: settings().setValue("day_step", minutes))
        self.planes.changed.connect(self._remember_planes)

    def mirror(self, busy: bool, can_leave: bool) -> None:
        """Show what can be done while something goes on, and while nothing does."""
        for widget, shown in ((self.begin, not busy), (self.progress, busy), (self.stop, busy)):
            widget.setVisible(shown)
        if not busy:
            self.stop.setEnabled(True)
        for widget in (self.date, self.city, self.step, self.planes):
            widget.setEnabled(not busy)
        self.leave.setEnabled(can_leave and not busy)

    def _remember_planes(self) -> None:
        """Keep what is ticked, and of other heads what was ticked there."""
        offered = {self.planes.list.item(k).text() for k in range(self.planes.list.count())}
        elsewhere = [name for name in remembered_planes() if name not in offered]
        settings().setValue("day_planes", [*self.planes.chosen, *elsewhere][:MOST_REMEMBERED])


def remembered_step() -> int:
    """Minutes from one time to the next, as they were chosen last."""
    kept = settings().value("day_step", "")
    return int(kept) if kept in map(str, STEPS) else round(STEP.total_seconds() / 60)


def remembered_planes() -> list[str]:
    """Names of the planes to follow, as they were chosen last; some may be another head's."""
    return list(settings().value("day_planes", [])) or list(PLANES)
