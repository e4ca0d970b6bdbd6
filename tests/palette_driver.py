"""The window in which tests mix: a ball with a palette, waited for until it has its recipes."""

from __future__ import annotations

from dataclasses import replace

from sitterlight.shading.sitting import HeadSetting, LampLight, PaletteSetting, Sitting, SkinSetting

BALL = Sitting(
    title="A ball",
    head=HeadSetting(mesh="sphere"),
    skin=SkinSetting(ladder=3),
    lights=(LampLight(name="lamp", spectrum="D65", azimuth=-40, elevation=40, illuminance=800),),
    palette=PaletteSetting(("PW6", "PY43", "PR101 transparent", "PBr7 burnt umber", "PB29", "PBk9")),
)
WITH_BLACK = replace(BALL, palette=PaletteSetting(("PW6", "PY43", "PR101 transparent", "PBk9")))
PATIENCE = 60_000


def has_recipes(window) -> bool:
    from sitterlight.viewer import turns

    lit, rows = window.lit, window.table.rows
    if (
        turns.are_waiting()
        or window.background.is_busy
        or lit is None
        or lit.sitting != window.model.sitting
        or not rows
    ):
        return False
    return window.rooms._lit is lit and rows[0].targets[0].recipe is not None


def recipes(window) -> list:
    return [target.recipe for row in window.table.rows for target in row.targets]


def paints(window) -> set[str]:
    return {part["paint"] for recipe in recipes(window) for part in recipe["parts"]}


class Mixed:
    """Shows a sitting, or waits for the one at hand, until it has its recipes."""

    def __init__(self, window, qtbot):
        self.window, self.qtbot = window, qtbot

    def __call__(self, sitting: Sitting | None = None):
        """The window with its recipes."""
        if sitting is not None:
            self.window.model.open(sitting)
        self.qtbot.waitUntil(lambda: has_recipes(self.window), timeout=PATIENCE)
        return self.window
