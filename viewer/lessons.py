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
    return _over_area(kept, [getattr(row, field) for row in kept])


def _over_area(rows: list[PlaneRow], numbers: list[float]) -> float:
    """Mean of numbers over the seen area of their planes; NaN without planes."""
    return float(np.average(numbers, weights=[row.area_mm2 * row.visible for row in rows])) if rows else float("nan")


def faces_up(row: PlaneRow) -> bool:
    return row.normal[1] > UP


def faces_down(row: PlaneRow) -> bool:
    return row.normal[1] < DOWN


def strongest(rows: list[PlaneRow], field: str) -> PlaneRow:
    """The seen plane in which a number is largest, whatever its sign."""
    return max((row for row in rows if not row.hidden), key=lambda row: abs(getattr(row, field) or 0.0))


def _percent(share: float) -> str:
    return f"{100 * share:.0f}\u00a0%".replace("-", "−")


def _loss(greying: float) -> str:
    """What greying does to a colour, in words."""
    if abs(greying) < 0.005:
        return "loses nothing"
    return f"{'loses' if greying > 0 else 'gains'} {_percent(abs(greying))}"


def _leaning(note: float) -> str:
    return f"{abs(note):.0f} toward {'blue' if note > 0 else 'warm'}"


def _said(row: PlaneRow) -> str:
    return row.name if row.side == "centre" else f"{row.side} {row.name}"


def _warm_and_overcast() -> Lesson:
    garden = replace(built_in("garden-overcast"), title="Overcast sky")
    lamp = LampLight(name="lamp", spectrum="A", azimuth=-40, elevation=35, illuminance=300)
    warm = replace(with_lights(garden, lamp), title="Warm lamp")

    def text(held: Lit, at_hand: Lit) -> str:
        up, up_lamp = mean(held.rows, "greying", faces_up), mean(at_hand.rows, "greying", faces_up)
        sky, one_side = _fall(held), _fall(at_hand)
        return (
            f"One skin. The sky comes from above: of the colour of planes that face up it takes {_percent(up)}, the "
            f"lamp {_percent(up_lamp)}. The lamp comes from one side: from the planes toward it to those turned away "
            f"L* falls by {one_side:.0f}; under the sky the two sides are within {abs(sky):.0f}. The lamp does not "
            "look orange because the eye is used to it; the last lesson takes that away."
        )

    return Lesson("A warm lamp against an overcast sky", "as seen", garden, warm, text)


def _fall(lit: Lit) -> float:
    """How much darker, in L*, the planes turned to the sitter's left are than those turned to the right."""
    seen = [row for row in lit.rows if not row.hidden]
    right, left = ([row for row in seen if side * row.normal[0] > UP] for side in (-1, 1))
    return _over_area(right, [row.Lab[0] for row in right]) - _over_area(left, [row.Lab[0] for row in left])


def _deep_and_fair() -> Lesson:
    sky = replace(built_in("garden-overcast"), title="Skin 1, deepest")
    deep, fair = with_skin(sky, ladder=1), replace(with_skin(sky, ladder=9), title="Skin 9, fairest")

    def text(held: Lit, at_hand: Lit) -> str:
        up = [mean(lit.rows, "greying", faces_up) for lit in (held, at_hand)]
        down = [mean(lit.rows, "greying", faces_down) for lit in (held, at_hand)]
        share = [_sheen(lit) for lit in (held, at_hand)]
        return (
            f"One sky on two skins. In planes that face up the deep skin {_loss(up[0])} of its colour, the fair one "
            f"{_loss(up[1])}; in planes that face down the deep one {_loss(down[0])}, the fair one {_loss(down[1])}. "
            f"Of the light from planes that face up, {_percent(share[0])} is mirrored by the deep skin and "
            f"{_percent(share[1])} by the fair one. Both mirror alike; what differs is how much the body of the skin "
            "sends back beside it."
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
            f"One deep skin in open shade, powdered and oily. In the {_said(plane)} the oily skin "
            f"{_loss(plane.greying or 0)} of its colour, the powdered one {_loss(dry.greying or 0)}. There "
            f"{_percent(share)} of the light from the oily skin is mirrored, and its L* is {plane.Lab[0]:.0f} against "
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
        only = strongest(held.rows, "skylight_note").skylight_note or 0.0
        told = "no plane has one" if abs(only) < 0.5 else f"the strongest is {_leaning(only)}"
        return (
            f"A note needs two colours of light. With the lamp alone {told}; with the window beside it the "
            f"{_said(plane)} goes {_leaning(plane.skylight_note or 0)}. There one mixes {alone.munsell} for the lamp "
            f"alone and {plane.munsell} for both. Click it, and the side of the planes says where its light comes from."
        )

    return Lesson("Where blue notes come from", "skylight notes", lamp, both, text)


def _adaptation() -> Lesson:
    evening = built_in("evening-lamp")
    fresh = replace(with_eye(evening, adaptation=0.3), title="Eye new to the lamp")
    used = replace(with_eye(evening, adaptation=1.0), title="Eye used to the lamp")

    def text(held: Lit, at_hand: Lit) -> str:
        face = [row for row in at_hand.rows if row.region in ("forehead", "cheek", "nose")]
        plane = strongest(face or at_hand.rows, "area_mm2")
        raw = held.rows[at_hand.rows.index(plane)]
        return (
            f"One lamp, one skin, two eyes. An eye only {_percent(held.eye.adaptation)} used to the lamp still sees "
            f"its orange: the {_said(plane)} is {raw.munsell}. To an eye wholly used to it, it is {plane.munsell}. "
            "Decide which of the two you paint before you mix: notes and greying are the same for both, the colours "
            "are not."
        )

    return Lesson("How far the eye is used to the light", "planes", fresh, used, text)
