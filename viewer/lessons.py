"""Prepared comparisons for the student, without Qt: two ordinary sittings and a few sentences about them.

Every figure in a text is taken from the two lit heads when the lesson is shown; none is typed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from sitterlight.shading.sitting import LampLight, Sitting, with_eye, with_lights, with_skin
from sitterlight.shading.sittings import built_in
from sitterlight.shading.targets import PlaneRow
from sitterlight.viewer.engine import Lit

UP, DOWN = 0.35, -0.35


@dataclass(frozen=True)
class Lesson:
    """`held` stands on the left, `sitting` on the right, both seen in `view`; `text(held, at hand)` tells of them."""

    title: str
    view: str
    held: Sitting
    sitting: Sitting
    text: Callable[[Lit, Lit], str]


def lessons() -> tuple[Lesson, ...]:
    """All lessons in the order they are offered."""
    return (_warm_and_overcast(), _deep_and_fair(), _matte_and_oily(), _two_lights(), _adaptation())


def mean(rows: list[PlaneRow], field: str, where: Callable[[PlaneRow], bool] = lambda row: True) -> float:
    """Mean over the seen area of the planes for which `where` holds; NaN where there is none."""
    kept = [row for row in rows if not row.hidden and where(row) and getattr(row, field) is not None]
    if not kept:
        return float("nan")
    weights = np.array([row.area_mm2 * row.visible for row in kept])
    return float(np.average([getattr(row, field) for row in kept], weights=weights))


def faces_up(row: PlaneRow) -> bool:
    return row.normal[1] > UP


def faces_down(row: PlaneRow) -> bool:
    return row.normal[1] < DOWN


def strongest(rows: list[PlaneRow], field: str) -> PlaneRow:
    """The seen plane in which a number is largest, whatever its sign."""
    return max((row for row in rows if not row.hidden), key=lambda row: abs(getattr(row, field) or 0.0))


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %".replace("-", "−")


def _signed(note: float) -> str:
    return "none" if abs(note) < 0.5 else f"{abs(note):.0f} toward {'blue' if note > 0 else 'warm'}"


def _said(row: PlaneRow) -> str:
    return row.name if row.side == "centre" else f"{row.side} {row.name}"


def _warm_and_overcast() -> Lesson:
    garden = replace(built_in("garden-overcast"), title="Overcast sky")
    lamp = LampLight(name="lamp", spectrum="A", azimuth=-40, elevation=35, illuminance=300)
    warm = replace(with_lights(garden, lamp), title="Warm lamp")

    def text(held: Lit, at_hand: Lit) -> str:
        up, up_lamp = mean(held.rows, "greying", faces_up), mean(at_hand.rows, "greying", faces_up)
        parts = [_spread(lit) for lit in (held, at_hand)]
        return (
            f"The same skin. The sky lights what faces up and takes {_percent(up)} of its colour there, against "
            f"{_percent(up_lamp)} under the lamp. The lamp comes from one side: from light to shadow its planes run "
            f"over {parts[1]:.0f} steps of L*, under the sky over {parts[0]:.0f}."
        )

    return Lesson("A warm lamp against an overcast sky", "as seen", garden, warm, text)


def _spread(lit: Lit) -> float:
    lightness = [row.Lab[0] for row in lit.rows if not row.hidden]
    return float(np.ptp(lightness))


def _deep_and_fair() -> Lesson:
    sky = replace(built_in("garden-overcast"), title="Skin 1, deepest")
    deep, fair = with_skin(sky, ladder=1), replace(with_skin(sky, ladder=9), title="Skin 9, fairest")

    def text(held: Lit, at_hand: Lit) -> str:
        up = [mean(lit.rows, "greying", faces_up) for lit in (held, at_hand)]
        down = [mean(lit.rows, "greying", faces_down) for lit in (held, at_hand)]
        share = [_sheen(lit) for lit in (held, at_hand)]
        return (
            f"One sky on two skins. In planes that face up the deep skin loses {_percent(up[0])} of its colour, the "
            f"fair one {_percent(up[1])}; in planes that face down {_percent(down[0])} and {_percent(down[1])}. Of the "
            f"light from the planes that face up, sheen is {_percent(share[0])} on the deep skin and "
            f"{_percent(share[1])} on the fair one: the mirror is the same, the body that answers it is not."
        )

    return Lesson("The same sky on deep and on fair skin", "greying", deep, fair, text)


def _sheen(lit: Lit) -> float:
    kept = [row for row in lit.rows if not row.hidden and faces_up(row) and row.shares["sheen"] is not None]
    weights = np.array([row.area_mm2 * row.visible * row.XYZ[1] for row in kept])
    return float(np.average([row.shares["sheen"] for row in kept], weights=weights)) if kept else float("nan")


def _matte_and_oily() -> Lesson:
    shade = with_skin(built_in("open-shade"), ladder=1)
    matte = replace(with_skin(shade, oil=0.0), title="Powdered")
    oily = replace(with_skin(shade, oil=2.0, roughness=0.25), title="Oily")

    def text(held: Lit, at_hand: Lit) -> str:
        plane = strongest(at_hand.rows, "greying")
        dry = held.rows[at_hand.rows.index(plane)]
        share = plane.shares["sheen"] or 0.0
        return (
            f"Open shade on one deep skin. In the {_said(plane)} the oily skin has lost "
            f"{_percent(plane.greying or 0)} of its colour and the powdered one {_percent(dry.greying or 0)}; "
            f"{_percent(share)} of the light from the oily one is mirrored, and its L* is {plane.Lab[0]:.0f} against "
            f"{dry.Lab[0]:.0f}. What greys deep skin is sheen."
        )

    return Lesson("Powdered against oily skin", "as seen", matte, oily, text)


def _two_lights() -> Lesson:
    both = built_in("lamp-and-dusk")
    lamp = replace(with_lights(both, *(light for light in both.lights if light.kind == "lamp")), title="The lamp alone")
    both = replace(both, title="Lamp and window")

    def text(held: Lit, at_hand: Lit) -> str:
        plane = strongest(at_hand.rows, "skylight_note")
        alone = held.rows[at_hand.rows.index(plane)]
        return (
            "A note needs two colours of light. With the lamp alone the strongest is "
            f"{_signed(strongest(held.rows, 'skylight_note').skylight_note or 0)}; with the window beside it the "
            f"{_said(plane)} goes {_signed(plane.skylight_note or 0)}. There one mixes {alone.munsell} for the lamp "
            f"alone and {plane.munsell} for both."
        )

    return Lesson("Where blue notes come from", "skylight notes", lamp, both, text)


def _adaptation() -> Lesson:
    evening = built_in("evening-lamp")
    fresh = replace(with_eye(evening, adaptation=0.3), title="Eye that sees the lamp's colour")
    used = replace(with_eye(evening, adaptation=1.0), title="Eye used to the lamp")

    def text(held: Lit, at_hand: Lit) -> str:
        face = [row for row in at_hand.rows if row.region in ("forehead", "cheek", "nose")]
        plane = strongest(face or at_hand.rows, "area_mm2")
        raw = held.rows[at_hand.rows.index(plane)]
        return (
            f"One lamp, one skin, two eyes. An eye {_percent(held.eye.adaptation)} used to the lamp sees the "
            f"{_said(plane)} as {raw.munsell}; one wholly used to it sees {plane.munsell}. Decide which of the two "
            "you paint before you mix: notes and greying are the same for both, the colours are not."
        )

    return Lesson("How far the eye is used to the light", "planes", fresh, used, text)
