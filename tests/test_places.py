"""Listed cities: their names, their clocks, and a daylight that sits in one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from sitterlight.illuminants.places import PLACES, by_its_clock, place_named
from sitterlight.illuminants.sun import sun_position
from sitterlight.illuminants.zones import city_of_zone
from sitterlight.shading.sitting import DaylightLight, LampLight, Sitting
from sitterlight.shading.sitting_clock import at_place
from sitterlight.shading.sitting_file import from_dict, read_sitting, to_dict, write_sitting
from sitterlight.shading.sitting_rules import SittingError

START = {"format": "sitterlight/1"}


def _light(**keys):
    return from_dict(START | {"light": [{"kind": "daylight", **keys}]}).lights[0]


def test_every_listed_city_is_found_on_its_own_clock_and_in_daylight_at_its_noon():
    """At noon of the clock the sun is within three hours of its highest, wherever clocks are set sensibly."""
    for place in PLACES:
        assert place_named(place.name.upper()) is place
        noon = by_its_clock(datetime(2026, 3, 20, 12), place.zone)
        compass = sun_position(place.latitude, place.longitude, noon).compass
        highest = 180.0 if place.latitude > 0 else 0.0
        if abs(place.latitude) > 15:
            assert abs((compass - highest + 180) % 360 - 180) < 75, place.name


def test_names_need_neither_accents_nor_capitals():
    assert place_named("bogota").name == "Bogotá" and place_named(" REYKJAVIK ").name == "Reykjavík"
    with pytest.raises(ValueError, match="near it: Lima"):
        place_named("Limaa")


def test_clocks_follow_summer_time():
    """European Union, Directive 2000/84/EC: summer time from the last Sunday of March to that of October, 1 h UTC."""
    hours = [by_its_clock(datetime(2026, month, 1, 12), "Europe/Berlin").utcoffset() for month in (1, 7)]
    assert hours == [timedelta(hours=1), timedelta(hours=2)]
    before, after = (datetime(2026, 3, 29, 1, tzinfo=UTC) + timedelta(minutes=m) for m in (-1, 0))
    assert by_its_clock(before, "Europe/Berlin").hour == 1 and by_its_clock(after, "Europe/Berlin").hour == 3
    left_out = by_its_clock(datetime(2026, 3, 29, 2, 30), "Europe/Berlin")
    assert (left_out.hour, left_out.minute, left_out.utcoffset()) == (3, 30, timedelta(hours=2))


def test_a_city_stands_for_latitude_longitude_and_clock():
    light = _light(place="lagos", when="2026-11-21T16:30:00")
    assert (light.place, light.latitude, light.longitude) == ("Lagos", 6.5, 3.4)
    assert light.when == datetime(2026, 11, 21, 16, 30, tzinfo=timezone(timedelta(hours=1)))
    assert _light(place="Tokyo").when.hour == 9


def test_a_moment_told_by_another_clock_is_the_same_moment():
    light = _light(place="London", when="2026-07-01T10:00:00+02:00")
    assert light.when == datetime(2026, 7, 1, 8, tzinfo=UTC) and light.when.hour == 9


def test_a_sitting_in_a_city_is_written_with_all_it_means_and_read_back_equal(tmp_path):
    light = at_place(DaylightLight(when=datetime(2026, 7, 1, 10, tzinfo=UTC)), "New York")
    assert light.when.hour == 10 and light.when.utcoffset() == timedelta(hours=-4)
    sitting = Sitting(lights=(light,))
    table = to_dict(sitting)["light"][0]
    assert (table["place"], table["latitude"], table["longitude"]) == ("New York", 40.7, -74.0)
    write_sitting(sitting, tmp_path / "city.toml")
    assert read_sitting(tmp_path / "city.toml") == sitting


def test_leaving_a_city_keeps_where_it_is():
    light = at_place(at_place(DaylightLight(), "Cairo"), None)
    assert (light.place, light.latitude, light.longitude) == (None, 30.0, 31.2)
    assert replace(light, latitude=40).latitude == 40


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"place": "Atlantis"}, 'light.1.: place "Atlantis" is not listed; .*or give latitude and longitude'),
        ({"place": "London", "latitude": 6.5}, "place is London, which lies at latitude 51.5, longitude -0.1, but"),
        ({"place": 3}, "light.1..place is 3; allowed is the name of a listed city"),
        ({"when": "2026-07-01T10:00:00"}, "a time without offset needs a place"),
    ],
)
def test_what_is_wrong_with_a_place_is_said(keys, said):
    with pytest.raises(SittingError, match=said):
        _light(**keys)


def test_every_zone_is_in_the_time_zone_database():
    assert all(ZoneInfo(place.zone).key == place.zone for place in PLACES)


def test_other_lights_have_no_place():
    with pytest.raises(SittingError, match="place is not a key of a light of kind lamp"):
        from_dict(START | {"light": [{"kind": "lamp", "place": "Lagos"}]})
    assert LampLight().shape is None


@pytest.mark.parametrize(
    ("zone", "city"),
    [
        ("Europe/Oslo", "Oslo"),
        ("Asia/Calcutta", "Delhi"),  # an older name of Asia/Kolkata
        ("US/Eastern", "New York"),  # likewise of America/New_York
        ("Europe/Amsterdam", "Paris"),  # London is nearer, but its clock is another
        ("Europe/Helsinki", "Saint Petersburg"),  # Cairo has the clock, but another sun
        ("Africa/Casablanca", "Madrid"),
        ("Atlantic/Madeira", "London"),  # Dakar is nearer, and has the clock in winter only
        ("America/Antigua", "Kingston"),  # New York has the clock in summer only
        ("America/Toronto", "New York"),
    ],
)
def test_a_zone_has_its_city_or_the_nearest_listed(zone, city):
    """Expected cities by the map, from memory."""
    assert city_of_zone(zone).name == city


@pytest.mark.parametrize("zone", ["UTC", "Etc/GMT+5", "", "Nowhere/Else", "../../etc/passwd", "Local time zone"])
def test_a_zone_that_lies_nowhere_has_no_city(zone):
    assert city_of_zone(zone) is None


def test_every_place_of_the_database_has_a_city_within_reach():
    """Of all zones with a place of their own; the farthest lie in the middle of the oceans."""
    from zoneinfo import available_timezones

    found = [city_of_zone(zone) for zone in sorted(available_timezones()) if "/" in zone][::8]
    assert sum(city is not None for city in found) > 40
