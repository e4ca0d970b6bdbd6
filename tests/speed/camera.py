"""A camera move with sheen, exact: against one change of skin."""

from __future__ import annotations

from .lit import codes_of, eye_of, four_lights, fresh_gazes, fresh_skins
from .race import Ratio, race


def camera_race(rounds: int = 12) -> Ratio:
    """From a place never looked from before to display bytes, as exact as at rest."""
    sitting = four_lights()
    eye, skins, gazes = eye_of(sitting), fresh_skins(sitting), fresh_gazes()
    rivals = {
        "ours": lambda: codes_of(sitting, eye, next(gazes)),
        "skin": lambda: codes_of(next(skins), eye),
    }
    best = race(rivals, rounds)
    return Ratio(
        "camera_vs_skin",
        "a camera move with sheen, exact, against one change of skin",
        best["ours"],
        best["skin"],
        30,
        False,
        "four lights, three bounces, to bytes",
    )
