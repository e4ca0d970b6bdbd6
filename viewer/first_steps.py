"""First steps: one quiet line that says what can be done next, until each has been done once. Without Qt."""

from __future__ import annotations

from collections.abc import Callable

from sitterlight.viewer.model import Model

STEPS = {
    "light": "Light the head: drag the lamp on the round map at the left, or choose a sitting above it.",
    "notes": "Find the blue notes: choose Skylight notes above the head.",
    "why": "Learn why: click a blue place and read beside it. None? Choose Open shade, upper left.",
    "leave": "Leave with something: Plane sheet… writes each plane's colour and recipe on a page.",
}
"""What there is to do, in this order."""


class FirstSteps:
    """Watches a model. `told()` is called when another step is next; `done` holds what has been done."""

    def __init__(self, model: Model, done: set[str] = frozenset(), told: Callable[[], None] = lambda: None):
        self.model, self.done, self.told = model, set(done) & set(STEPS), told
        self._lights = model.sitting.lights
        model.on("state", self._watch)
        model.on("view", self._watch)
        model.on("chosen", self._watch)

    @property
    def words(self) -> str:
        """The next step, or nothing when all have been taken."""
        for number, (name, words) in enumerate(STEPS.items(), 1):
            if name not in self.done:
                return f"{number} of {len(STEPS)}   {words}"
        return ""

    def take(self, *names: str) -> None:
        """These steps have been taken."""
        if not set(names) <= self.done:
            self.done |= set(names)
            self.told()

    def skip(self) -> None:
        """No more of this."""
        self.take(*STEPS)

    def again(self) -> None:
        """From the first step on."""
        self.done = set()
        self._lights = self.model.sitting.lights
        self.told()

    def _watch(self) -> None:
        taken = set()
        if self.model.sitting.lights != self._lights:
            taken.add("light")
        if self.model.view == "skylight notes":
            taken.add("notes")
        if self.model.chosen is not None and self.model.view == "skylight notes":
            taken.add("why")
        self.take(*taken)
