"""What is read from a day at one place, in words: an hour, a plane at that hour, a facing; and whose day it is."""

from __future__ import annotations

from sitterlight.shading.day_hours import COMPASS, Hour, PlaneHour, at, daylight_light
from sitterlight.shading.day_words import seen_planes
from sitterlight.shading.sitting import DaylightLight, Sitting
from sitterlight.viewer.light_facts import cct_words, lux_words


def hour_reading(hour: Hour) -> str:
    """An hour: the card's light, and where the sun stands."""
    height = hour.sun.apparent_elevation
    sun = (
        f"sun {height:.0f}° up in the {COMPASS[round(hour.sun.compass / 45) % 8]}"
        if height > 0
        else f"sun {-height:.0f}° below the horizon"
    )
    share = "" if not hour.sun_share else f", {100 * hour.sun_share:.0f} % of it the sun's"
    return f"{hour.clock}: {lux_words(hour.card_lux)}, {cct_words(hour.cct)} on the white card{share}; {sun}"


def plane_reading(plane: PlaneHour) -> str:
    """A plane at an hour: its notation, family, note and greying."""
    words = [plane.munsell or "above white", f"in the {plane.family}" if plane.family != "halftone" else "halftone"]
    if plane.skylight_note is not None:
        words.append(f"note {_signed(plane.skylight_note, 1)}")
    if plane.greying is not None:
        words.append(f"greying {_signed(plane.greying, 2)}".replace("+", ""))
    return f"{plane.label}: {', '.join(words)}"


def facing_reading(facing: Hour) -> str:
    """A facing: light on the card, values and notes of the seen planes, on three lines."""
    planes = seen_planes(facing)
    values = [plane.Lab[0] / 10 for plane in planes]
    notes = [plane.skylight_note for plane in planes if plane.skylight_note is not None]
    lines = [lux_words(float(f"{facing.card_lux:.2g}"))]
    if values:
        lines.append(f"values {min(values):.0f} to {min(max(values), 10):.0f}")
    if notes:
        lines.append(f"notes {_signed(min(notes), 0)} to {_signed(max(notes), 0)}")
    return "\n".join(lines)


def _signed(value: float, digits: int) -> str:
    text = f"{value:+.{digits}f}".replace("-", "−")
    return "0" if digits == 0 and text in ("+0", "−0") else text


def daylight_of(sitting: Sitting) -> DaylightLight | None:
    """The daylight light that a plan follows, or None."""
    try:
        return daylight_light(sitting)
    except ValueError:
        return None


def same_day_plan(one: Sitting, other: Sitting) -> bool:
    """Whether two sittings differ in nothing but their hour, so that one's plan is the other's."""
    light = daylight_of(other)
    return light is not None and at(one, light.when) == at(other, light.when)
