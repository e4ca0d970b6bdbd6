"""Beside the planes: why the chosen one looks as it does, its strings, and the mixing plan of the whole head."""

from __future__ import annotations

from PyQt6.QtCore import pyqtSignal
from PyQt6.QtWidgets import QTabWidget

from sitterlight.shading.targets import PlaneRow, Seen, Target
from sitterlight.viewer.controls import scrolling
from sitterlight.viewer.engine import Lit
from sitterlight.viewer.plan_panel import PlanPanel
from sitterlight.viewer.strings_panel import StringsPanel
from sitterlight.viewer.why_panel import WhyPanel

ROOMS = ("why", "strings", "plan")


class PlaneRooms(QTabWidget):
    """Three pages, of which the shown one is kept up to date. `asked(number)` for a plane of the plan."""

    asked = pyqtSignal(int)

    def __init__(self, why: WhyPanel):
        super().__init__()
        self.setDocumentMode(True)
        self.setAccessibleName("about the chosen plane")
        self.why, self.strings, self.plan = why, StringsPanel(), PlanPanel()
        for page, title in ((why, "Why"), (self.strings, "Strings"), (self.plan, "Mixing plan")):
            self.addTab(scrolling(page, name=f"what is said under {title}"), title)
        self.tabBar().setAccessibleName("about the chosen plane")
        self._lit: Lit | None = None
        self._plane: tuple[PlaneRow, Target] | None = None
        self._why: tuple[Lit, PlaneRow, Seen | None] | None = None
        self._shown: tuple | None = None
        self._read_of: tuple[str, str] | None = None  # name and side of the plane whose why is read
        self.plan.asked.connect(self._ask)
        self.currentChanged.connect(lambda _page: self._mirror())

    def show_room(self, name: str) -> None:
        """Show one of ROOMS."""
        self.setCurrentIndex(ROOMS.index(name))

    def read_from_the_top(self) -> None:
        """Show the beginning of the why."""
        self.widget(ROOMS.index("why")).verticalScrollBar().setValue(0)

    def take_mixed(self, lit: Lit) -> None:
        """Take the recipes of a lit head, to be shown with what is chosen next."""
        self._lit = lit

    def show_planned(self, lit: Lit) -> None:
        """The mixing plan of a lit head is known."""
        if lit is self._lit:
            self._shown = None
            self._mirror()

    def show_plane(self, lit: Lit, row: PlaneRow, seen: Seen | None = None) -> None:
        """Show a plane of a lit head, or one stroke of it; its strings once the head has its recipes."""
        self._why = (lit, row, seen)
        stroke = seen if isinstance(seen, Target) else max(row.targets, key=lambda t: t.share_of_area)
        self._plane = (row, stroke)
        self._mirror()

    def show_nothing(self) -> None:
        """No plane is chosen."""
        self._why = self._plane = None
        self._mirror()

    def show_failed(self, place: str, sentence: str) -> None:
        """There are no recipes for the sitting at hand, and why; `place` is the stage that asked."""
        if place == "first":
            self._lit = self._shown = None
            self.strings.show_nothing(sentence)
            self.plan.show_nothing(sentence)

    def _mirror(self) -> None:
        room = ROOMS[self.currentIndex()]
        if room == "why":
            self._shown = None
            self.why.show_plane(*self._why) if self._why is not None else self.why.show_nothing()
            plane = None if self._why is None else (self._why[1].name, self._why[1].side)
            if plane != self._read_of:
                self._read_of = plane
                self.read_from_the_top()
            return
        shown = (room, self._lit, self._plane)
        if self._shown is not None and all(a is b or a == b for a, b in zip(shown, self._shown, strict=True)):
            return
        self._shown = shown
        if room == "plan" and self._lit is not None:
            if self._lit.has("plan"):
                self.plan.show_plan(self._lit.plan, self._lit.sitting)
        elif room == "strings":
            if self._lit is None or self._plane is None or not self._is_of_lit():
                self.strings.show_nothing()
            else:
                self.strings.show_plane(self._lit.mixed, *self._plane)

    def _ask(self, stroke: str) -> None:
        """Ask for the plane that a stroke of the plan belongs to."""
        for number, row in enumerate(self._lit.rows):
            name = row.name if row.side == "centre" else f"{row.name} {row.side}"
            if stroke == name or stroke.startswith(f"{name} ("):
                self.asked.emit(number)
                return

    def _is_of_lit(self) -> bool:
        """Whether the chosen stroke is one of the head that the recipes are of; between two lightings it is not."""
        return any(target.Lab == self._plane[1].Lab for _, target, _ in self._lit.mixed.strokes)
