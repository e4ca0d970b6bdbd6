"""The day plan: which half hours, what is said of them, and the files."""

from __future__ import annotations

import csv
import itertools
import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from sitterlight.illuminants.sun import SunPosition, sun_position
from sitterlight.shading import day_hours as day_hours_module
from sitterlight.shading.day import FILES, day, day_plan
from sitterlight.shading.day_curves import nice_scale
from sitterlight.shading.day_hours import DayHours, Hour, PlaneHour, at, lit_times
from sitterlight.shading.day_picture import spread
from sitterlight.shading.day_words import (
    blue_sentence,
    facing_sentence,
    sentences,
    steadiest,
    steady_sentence,
    warm_sentence,
)
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import DaylightLight, HeadSetting, Sitting, SkyLight
from sitterlight.shading.sitting_clock import at_place
from sitterlight.shading.sittings import built_in
from sitterlight.shading.targets import plane_rows

DAY = DaylightLight(name="day", latitude=66, longitude=20, when=datetime(2026, 6, 1, 12, tzinfo=UTC), facing=180)
SPHERE = Sitting(title="Short day", head=HeadSetting(mesh="sphere"), lights=(DAY,))
SHORT = date(2026, 11, 28)
NOON = datetime(2026, 9, 10, 9, tzinfo=UTC)


@pytest.fixture(scope="module")
def short_day() -> DayHours:
    return day_plan(SPHERE, SHORT)


@pytest.fixture(scope="module")
def written(tmp_path_factory, short_day):
    folder = tmp_path_factory.mktemp("day")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sitterlight.shading.day.day_plan", lambda *_, **__: short_day)
        return day(SPHERE, SHORT, folder / "out")


def _plane(name="forehead front", note=0.0, lightness=50.0, family="light", hidden=False, side="centre") -> PlaneHour:
    colour = {"Lab": (lightness, 10.0, 15.0), "srgb": "#808080", "munsell": "5YR 5/4"}
    values = {"value": lightness / 10, "chroma": 4.0, "hue": 15.0, "above_white": False}
    return PlaneHour(name, side, hidden, family, **colour, **values, skylight_note=note, greying=0.1, lux=100.0)


def _hour(k: int, planes, lux=10000.0, elevation=30.0, facing=180.0) -> Hour:
    when = NOON + k * timedelta(minutes=30)
    sun = SunPosition(180.0, elevation, elevation)
    return Hour(when, facing, sun, lux, 5500.0, 0.001, 0.7, tuple(planes), np.zeros((10, 8, 3), np.uint8))


def test_half_hours_run_from_dawn_to_dusk_and_no_further():
    times = lit_times(SPHERE, SHORT)
    assert {b - a for a, b in itertools.pairwise(times)} == {timedelta(minutes=30)}
    height = [sun_position(DAY.latitude, DAY.longitude, when).elevation for when in times]
    outside = [times[0] - timedelta(minutes=30), times[-1] + timedelta(minutes=30)]
    assert min(height) >= -6
    assert all(sun_position(DAY.latitude, DAY.longitude, when).elevation < -6 for when in outside)


def test_a_day_at_the_equator_has_its_thirteen_hours_or_so():
    """Twelve hours of sun at the equinox, twice 22 minutes of civil twilight (6° at 15° an hour)."""
    equator = replace(SPHERE, lights=(replace(DAY, latitude=0, longitude=0),))
    assert len(lit_times(equator, date(2026, 3, 20))) in (25, 26)


def test_midsummer_in_the_far_north_is_day_all_round():
    assert len(lit_times(SPHERE, date(2026, 6, 21))) == 48


def test_no_daylight_no_day_and_no_such_plane_are_said_in_one_sentence():
    with pytest.raises(ValueError, match="has no daylight that is on"):
        lit_times(replace(SPHERE, lights=(SkyLight(), replace(DAY, on=False))), SHORT)
    with pytest.raises(ValueError, match="On 2026-12-21 there is no day at latitude 78°"):
        lit_times(replace(SPHERE, lights=(replace(DAY, latitude=78),)), date(2026, 12, 21))
    with pytest.raises(ValueError, match="No plane of this head is named antlers; there are "):
        day_plan(SPHERE, SHORT, planes=["antlers"])


def test_nothing_is_written_where_there_is_no_day(tmp_path):
    with pytest.raises(ValueError, match="there is no day"):
        day(replace(SPHERE, lights=(replace(DAY, latitude=78),)), date(2026, 12, 21), tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_an_hour_of_the_plan_is_the_sitting_at_that_hour(short_day):
    hour = short_day.hours[len(short_day.hours) // 2]
    scene = light_scene(at(SPHERE, hour.when))
    assert hour.card_lux == pytest.approx(scene.card_lux, rel=1e-9)
    for plane, row in zip(hour.planes, plane_rows(scene), strict=False):
        assert (plane.name, plane.side, plane.munsell, plane.family) == (row.name, row.side, row.munsell, row.family)
        assert plane.Lab == pytest.approx(row.Lab)
        assert plane.skylight_note == pytest.approx(row.skylight_note)


def test_a_day_is_told_hour_by_hour_and_can_be_stopped(monkeypatch):
    monkeypatch.setattr(day_hours_module, "hour_of", lambda *_: _hour(0, [_plane()]))
    told, shares = [], []
    whole = day_hours_module.day_hours(SPHERE, SHORT, progress=shares.append, told=told.append)
    assert [len(each.hours) for each in told] == list(range(2, len(whole.hours) + 1))
    assert all(each.times == whole.times and len(whole.times) == len(whole.hours) for each in told)
    assert shares == sorted(shares) and shares[-1] == pytest.approx(1)

    def stop(_day):
        raise InterruptedError

    with pytest.raises(InterruptedError):
        day_hours_module.day_hours(SPHERE, SHORT, told=stop)


def test_steps_and_clocks_of_a_day():
    """Summer time begins in the European Union on 29 March 2026 (Directive 2000/84/EC): that day has 23 hours."""
    place = at_place(replace(DAY, when=datetime(2026, 3, 1, 12, tzinfo=UTC)), "Berlin")
    berlin = replace(SPHERE, lights=(place,))
    before, after = (lit_times(berlin, date(2026, 3, day)) for day in (28, 30))
    assert {when.utcoffset() for when in before} == {timedelta(hours=1)}
    assert {when.utcoffset() for when in after} == {timedelta(hours=2)}
    assert after[0].hour == before[0].hour + 1
    hourly = lit_times(berlin, date(2026, 3, 29), timedelta(hours=1))
    assert {(when.minute, when.utcoffset()) for when in hourly} == {(0, timedelta(hours=2))}
    fixed = replace(SPHERE, lights=(replace(place, place=None),))
    assert {when.utcoffset() for when in lit_times(fixed, date(2026, 7, 1))} == {timedelta(hours=1)}
    with pytest.raises(ValueError, match="A step of 7 minutes is none; allowed are 10, 15, 20, 30 and 60"):
        lit_times(berlin, SHORT, timedelta(minutes=7))


def test_facings_turn_the_sitter_and_nothing_else(short_day):
    assert [hour.facing for hour in short_day.facings] == [0, 45, 90, 135, 180, 225, 270, 315]
    assert len({hour.when for hour in short_day.facings}) == 1
    south = short_day.facings[4]
    same = next(hour for hour in short_day.hours if hour.when == south.when)
    assert south.card_lux == pytest.approx(same.card_lux, rel=1e-9)
    toward_sun = max(short_day.facings, key=lambda hour: hour.card_lux)
    assert abs((toward_sun.facing - toward_sun.sun.compass + 180) % 360 - 180) <= 23


def test_every_file_is_written_and_they_agree(written, short_day):
    assert tuple(written) == FILES
    assert all(path.stat().st_size > 500 for path in written.values())
    table = json.loads(written["day.json"].read_text(encoding="utf-8"), parse_constant=lambda word: pytest.fail(word))
    rows = list(csv.DictReader(written["day.csv"].read_text(encoding="utf-8").splitlines()))
    planes = [(hour, plane) for hour in table["hours"] for plane in hour["planes"]]
    assert len(rows) == len(planes) == len(short_day.hours) * len(short_day.hours[0].planes)
    for row, (hour, plane) in zip(rows, planes, strict=True):
        assert (row["time"], row["plane"], row["munsell"]) == (hour["time"], plane["name"], plane["munsell"] or "")
        assert float(row["card_lux"]) == pytest.approx(hour["card_lux"])
    assert table["sentences"] == sentences(short_day)
    assert len(table["facings"]) == 8


def test_steadiest_finds_the_stretch_that_was_planted():
    """Nine half hours drift, five stand still, nine drift again."""
    lightness = [*range(30, 48, 2), *[50] * 5, *range(52, 70, 2)]
    hours = [_hour(k, [_plane(lightness=L), _plane(lightness=L + 5)]) for k, L in enumerate(lightness)]
    found = steadiest(hours, 2)
    assert (found.first, found.last) == (hours[9].when, hours[13].when)
    assert found.delta_e == pytest.approx(0) and found.stops == pytest.approx(0)
    assert "from 13:30 to 15:30 for a sitting of two hours" in steady_sentence(hours)
    assert steadiest(hours[:4], 2) is None
    assert "too short" in steady_sentence(hours[:4])


def test_a_doubling_of_the_light_is_no_steady_light_and_night_is_none():
    still = [_plane()]
    lux = [1000 * 2 ** (k / 4) for k in range(6)] + [9000] * 5
    hours = [_hour(k, still, lux=each) for k, each in enumerate(lux)]
    assert steadiest(hours, 2).first == hours[6].when
    dark = [_hour(k, still, lux=each, elevation=-2 if k > 6 else 5) for k, each in enumerate(lux)]
    assert steadiest(dark, 2).last <= dark[6].when


def test_blue_notes_are_told_where_they_are_seen():
    hours = [
        _hour(k, [_plane(note=note), _plane("cheek side", note=50.0, hidden=True)])
        for k, note in enumerate([0.2, 2.5, 4.0, 2.1, 1.0])
    ]
    said = blue_sentence(hours)
    assert "from 09:30 to 10:30: +4.0 on the forehead front at 10:00" in said
    assert "No plane takes" in blue_sentence(hours[:1])


def test_warm_light_planes_are_told_in_all_their_stretches():
    notes = [-3.0, -2.0, 0.0, -0.5, -1.5, -6.0]
    hours = [_hour(k, [_plane(note=note), _plane("jaw", note=9.0, family="shadow")]) for k, note in enumerate(notes)]
    assert "from 09:00 to 09:30 and from 11:00 to 11:30, warmest at 11:30 (mean note −6.0)" in warm_sentence(hours)
    assert "at no hour" in warm_sentence(hours[2:4])


def test_facings_are_told_by_their_modelling():
    spans = [20, 10, 15, 40, 12, 12, 12, 12]
    facings = [
        _hour(0, [_plane(lightness=50), _plane("cheek side", lightness=50 + span, note=3 + k / 10)], facing=45 * k)
        for k, span in enumerate(spans)
    ]
    said = facing_sentence(facings)
    assert "facing south-east for the strongest modelling (values 5.0 to 9.0)" in said
    assert "north-east for the softest (5.0 to 6.0)" in said
    assert "facing north-west gives the bluest note (+3.7, cheek side)" in said


def test_every_sentence_is_one_sentence(short_day):
    for text in sentences(short_day).values():
        assert text.endswith(".") and text.count(". ") == 0 and "nan" not in text and "None" not in text


def test_the_built_in_sitting_with_a_day_is_one():
    assert len(lit_times(built_in("afternoon-terrace"), date(2026, 10, 10))) > 20


@pytest.mark.parametrize(("count", "most"), [(1, 14), (14, 14), (25, 14), (48, 14), (3, 2)])
def test_pictures_are_spread_evenly(count, most):
    places = spread(count, most)
    assert 1 <= len(places) <= most and places[-1] < count
    assert len({b - a for a, b in itertools.pairwise(places)}) <= 1


@pytest.mark.parametrize("values", [[0.0, 3.7], [-12.0, 4.0, None], [5.0], []])
def test_scales_hold_their_values(values):
    low, high, steps = nice_scale(values, 1.0)
    assert all(low <= value <= high for value in values if value is not None)
    assert 2 <= len(steps) <= 8 and steps[0] == low and steps[-1] == pytest.approx(high)
