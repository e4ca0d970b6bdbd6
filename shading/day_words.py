"""What a day's numbers say to a painter, one plain sentence each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import combinations

import numpy as np

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.day_hours import COMPASS, DayHours, Hour, PlaneHour
from sitterlight.shading.sheet_facts import LEAST_NOTE, lux

STOP_COUNTS = 5.0
"""How many units of ΔE00 a stop of the card's light counts for, where steadiness is judged; our own choice."""

_NEAR_STRONGEST = 0.5


@dataclass(frozen=True)
class Steady:
    """A stretch from `first` to `last`: mean over the planes of the largest ΔE00 between two of its half hours, and
    the card's light from least to most in stops."""

    first: datetime
    last: datetime
    delta_e: float
    stops: float

    @property
    def middle(self) -> datetime:
        """The half hour nearest its middle."""
        steps = round((self.last - self.first) / timedelta(minutes=30))
        return self.first + (steps // 2) * timedelta(minutes=30)


def sentences(day: DayHours) -> dict[str, str]:
    """The sentences of a day by what they tell: "light", "blue", "warm", "steady", "facing"."""
    said = {
        "light": light_sentence(day.hours),
        "blue": blue_sentence(day.hours),
        "warm": warm_sentence(day.hours),
        "steady": steady_sentence(day.hours),
    }
    return said | ({"facing": facing_sentence(day.facings)} if day.facings else {})


def light_sentence(hours: Sequence[Hour]) -> str:
    """From when to when there is light, and how it runs."""
    most = max(hours, key=lambda hour: hour.card_lux)
    tempered = [hour for hour in hours if hour.cct is not None]
    text = (
        f"There is light to see by from {hours[0].clock} to {hours[-1].clock}; "
        f"the white card has most at {most.clock}, {lux(most.card_lux)}"
    )
    if not tempered:
        return f"{text}."
    warm, cool = min(tempered, key=lambda hour: hour.cct), max(tempered, key=lambda hour: hour.cct)
    return (
        f"{text}; its light is warmest at {warm.clock} ({_kelvin(warm)}) and coolest at {cool.clock} ({_kelvin(cool)})."
    )


def blue_sentence(hours: Sequence[Hour]) -> str:
    """When the strongest note of sky blue on any seen plane is near its strongest of the day."""
    strongest = [_strongest(hour) for hour in hours]
    values = np.array([-np.inf if plane is None else plane.skylight_note for plane in strongest])
    top = int(values.argmax())
    if values[top] < LEAST_NOTE:
        return f"No plane takes a note of sky blue as strong as {LEAST_NOTE:g} on this day."
    first, last = _stretch(values >= _NEAR_STRONGEST * values[top], top)
    when = _span(hours, first, last)
    if first == last:
        return f"Blue notes are strongest {when}: {_signed(values[top])} on the {_spoken(strongest[top])}."
    return (
        f"Blue notes are strongest {when}: {_signed(values[top])} "
        f"on the {_spoken(strongest[top])} at {hours[top].clock}, at least half as strong all that time."
    )


def warm_sentence(hours: Sequence[Hour]) -> str:
    """When the seen planes in the light lean to warm, on the mean of their notes."""
    notes = np.array([_light_note(hour) for hour in hours])
    warm = notes <= -LEAST_NOTE
    if not warm.any():
        return f"The light planes lean to warm at no hour: their mean note is never −{LEAST_NOTE:g} or beyond."
    stretches = _stretches(warm)
    told = " and ".join(_span(hours, *stretch) for stretch in stretches)
    deepest = int(np.where(warm, notes, 0).argmin())
    return (
        f"The light planes stay warm {told}, warmest at {hours[deepest].clock} (mean note {_signed(notes[deepest])})."
    )


def steady_sentence(hours: Sequence[Hour]) -> str:
    """Where two and three hours of sitting find the light steadiest."""
    found = [(length, steadiest(hours, length)) for length in (2, 3)]
    told = [
        f"from {steady.first:%H:%M} to {steady.last:%H:%M} for a sitting of {('two', 'three')[length - 2]} hours "
        f"(the planes shift by ΔE {steady.delta_e:.1f}, the light by {_stops(steady.stops)})"
        for length, steady in found
        if steady is not None
    ]
    if not told:
        return "The day is too short for a sitting of two hours in one light."
    return f"The light is steadiest {', and '.join(told)}."


def facing_sentence(facings: Sequence[Hour]) -> str:
    """Which way to seat the sitter: where modelling is strongest and softest, blue strongest, light warmest."""
    span = {k: _value_span(hour) for k, hour in enumerate(facings)}
    most, least = max(span, key=lambda k: span[k][1] - span[k][0]), min(span, key=lambda k: span[k][1] - span[k][0])
    blue = max(range(len(facings)), key=lambda k: _note(_strongest(facings[k])))
    said = (
        f"At {facings[0].clock} seat the sitter facing {COMPASS[most]} for the strongest modelling "
        f"(values {_values(span[most])}) and {COMPASS[least]} for the softest ({_values(span[least])})"
    )
    plane = _strongest(facings[blue])
    if plane is None or plane.skylight_note < LEAST_NOTE:
        return f"{said}; no facing gives a note of sky blue as strong as {LEAST_NOTE:g}."
    return f"{said}; facing {COMPASS[blue]} gives the bluest note ({_signed(plane.skylight_note)}, {_spoken(plane)})."


def steadiest(hours: Sequence[Hour], length: int) -> Steady | None:
    """The stretch of `length` hours with the sun up in which seen planes and light change least; None if too short."""
    if len(hours) < 2:
        return None
    count = round(timedelta(hours=length) / (hours[1].when - hours[0].when))
    up = [hour.sun.apparent_elevation > 0 for hour in hours]
    starts = [k for k in range(len(hours) - count) if all(up[k : k + count + 1])]
    whole = [k for k in starts if hours[k + count].when - hours[k].when == timedelta(hours=length)]
    found = [_change(hours[k : k + count + 1]) for k in whole]
    return min(found, key=lambda each: each.delta_e + STOP_COUNTS * each.stops, default=None)


def facing_time(day: DayHours) -> datetime:
    """The middle of the steadiest two hours; on a shorter day, when there is most light."""
    steady = steadiest(day.hours, 2)
    return max(day.hours, key=lambda hour: hour.card_lux).when if steady is None else steady.middle


def _change(hours: Sequence[Hour]) -> Steady:
    Lab = np.array([[plane.Lab for plane in hour.planes] for hour in hours])
    seen = np.array([not plane.hidden for plane in hours[0].planes])
    Lab = Lab[:, seen] if seen.any() else Lab
    pairs = [delta_E00(Lab[a], Lab[b]) for a, b in combinations(range(len(hours)), 2)]
    light = np.array([hour.card_lux for hour in hours])
    stops = float(np.log2(light.max() / light.min()))
    return Steady(hours[0].when, hours[-1].when, float(np.max(pairs, axis=0).mean()), stops)


def seen_planes(hour: Hour) -> list[PlaneHour]:
    """The planes that the eye sees."""
    return [plane for plane in hour.planes if not plane.hidden]


def _strongest(hour: Hour) -> PlaneHour | None:
    """The seen plane with the strongest note of blue."""
    noted = [plane for plane in seen_planes(hour) if plane.skylight_note is not None]
    return max(noted, key=lambda plane: plane.skylight_note, default=None)


def _spoken(plane: PlaneHour) -> str:
    """The plane within a sentence."""
    return plane.name if plane.side == "centre" else f"{plane.side} {plane.name}"


def _note(plane: PlaneHour | None) -> float:
    return -np.inf if plane is None else plane.skylight_note


def _light_note(hour: Hour) -> float:
    """Mean note of the seen planes in the light; 0 where there are none."""
    notes = [p.skylight_note for p in seen_planes(hour) if p.family == "light" and p.skylight_note is not None]
    return float(np.mean(notes)) if notes else 0.0


def _value_span(hour: Hour) -> tuple[float, float]:
    lightness = [plane.Lab[0] / 10 for plane in seen_planes(hour)] or [0.0]
    return min(lightness), max(lightness)


def _values(span: tuple[float, float]) -> str:
    return f"{span[0]:.1f} to {min(span[1], 10):.1f}"


def _stretch(inside: np.ndarray, place: int) -> tuple[int, int]:
    """The unbroken run of True around `place`, first and last."""
    first = last = place
    while first > 0 and inside[first - 1]:
        first -= 1
    while last + 1 < len(inside) and inside[last + 1]:
        last += 1
    return first, last


def _stretches(inside: np.ndarray) -> list[tuple[int, int]]:
    """All unbroken runs of True, first and last."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _span(hours: Sequence[Hour], first: int, last: int) -> str:
    if first == last:
        return f"at {hours[first].clock}"
    return f"from {hours[first].clock} to {hours[last].clock}"


def _signed(value: float) -> str:
    return f"{value:+.1f}".replace("-", "−")


def _stops(stops: float) -> str:
    return "less than a tenth of a stop" if stops < 0.1 else f"{stops:.1f} stop{'s' if stops >= 1.05 else ''}"


def _kelvin(hour: Hour) -> str:
    kelvin = round(hour.cct, -1 if hour.cct < 10000 else -2)
    figures = f"{kelvin:,.0f}".replace(",", "\u202f") if kelvin >= 10000 else f"{kelvin:.0f}"
    return f"{figures}\u00a0K"
