"""Sun and sky in the sitter's room: facing, shade, the disc, places and requests that make no sense."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from sitterlight.illuminants.daylight import daylight
from sitterlight.illuminants.observer import luminous
from sitterlight.illuminants.places import PLACES
from sitterlight.illuminants.shade import SHADES
from sitterlight.illuminants.sun import (
    SUN_DIAMETER,
    direction,
    room_azimuth,
    softened_diameter,
    sun_position,
    visible_share,
)
from sitterlight.illuminants.weather import WEATHERS

# Near the equator the noon sun of March stands almost overhead, so its bearing tells nothing.
HIGH_SUN = {place.name for place in PLACES if abs(place.latitude) < 20}

MORNING = datetime(2026, 3, 20, 8, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("compass", "facing", "azimuth"),
    [(180, 180, 0), (90, 180, 90), (270, 180, -90), (0, 180, 180), (350, 10, 20), (10, 350, -20), (200, 20, 180)],
)
def test_azimuth_is_facing_minus_compass(compass: float, facing: float, azimuth: float) -> None:
    # Facing south, the east is on the sitter's left, +x.
    assert room_azimuth(compass, facing) == pytest.approx(azimuth)
    assert -180 < room_azimuth(compass, facing) <= 180


def test_turning_the_sitter_turns_sun_and_sky_together() -> None:
    one, other = (daylight(40, 0, MORNING, "clear", facing=facing) for facing in (90, 150))
    assert one.sun.azimuth + 60 == pytest.approx(other.sun.azimuth)
    assert one.sun.compass == other.sun.compass
    places = [(0, 20), (70, 5), (-100, 60)]
    first = one.sky.radiance(np.array([direction(a, e) for a, e in places]))
    turned = other.sky.radiance(np.array([direction(a + 60, e) for a, e in places]))
    assert first == pytest.approx(turned, rel=1e-4)
    # The morning sun is in the east: a sitter who looks there has it in front.
    assert abs(one.sun.azimuth) < 45
    assert one.sun.direction == pytest.approx(direction(one.sun.azimuth, one.sun.elevation))


def test_the_sun_has_its_true_size_and_haze_softens_it() -> None:
    assert daylight(40, 0, MORNING).sun.diameter == pytest.approx(0.53, abs=0.01)
    sizes = [daylight(40, 0, MORNING, weather).sun.diameter for weather in ("clear", "hazy", "dusty", "thin cloud")]
    assert sizes == sorted(set(sizes))
    assert sizes[-1] < 3
    assert softened_diameter(0) == SUN_DIAMETER
    assert softened_diameter(0.01) == pytest.approx(SUN_DIAMETER, rel=0.3)


def test_a_setting_disc_goes_step_by_step() -> None:
    assert visible_share(1) == 1
    assert visible_share(0) == pytest.approx(0.5)
    assert visible_share(-1) == 0
    assert visible_share(0.1) + visible_share(-0.1) == pytest.approx(1)


def test_shade_takes_light_away_and_adds_none() -> None:
    rng = np.random.default_rng(5)
    directions = rng.normal(size=(300, 3))
    plain = daylight(40, 0, MORNING, facing=150)
    for name in SHADES:
        shaded = daylight(40, 0, MORNING, facing=150, shade=name)
        assert np.all(shaded.sky.radiance(directions) <= plain.sky.radiance(directions) + 1e-15)
        assert luminous(shaded.horizontal_irradiance()) <= luminous(plain.horizontal_irradiance())
    assert daylight(40, 0, MORNING, shade="open").sun is None
    noon = MORNING + timedelta(hours=4)
    under_tree = daylight(40, 0, noon, shade="tree").sun
    assert luminous(under_tree.irradiance) == pytest.approx(0.1 * luminous(daylight(40, 0, noon).sun.irradiance))
    assert daylight(40, 0, noon, shade="awning").sun is None
    low = MORNING - timedelta(hours=1)
    assert daylight(40, 0, low, shade="awning").sun is not None
    porch = daylight(40, 0, noon, facing=0, shade="porch")
    assert porch.sun is None
    assert np.all(porch.sky.weights(np.array([[0, 0.5, -1], [0, 1, 0.1]])) == 0)


def test_places_are_on_earth_and_their_zones_exist() -> None:
    assert len({place.name for place in PLACES}) == len(PLACES) >= 30
    for place in PLACES:
        # Noon by the clock is never far from the sun's noon, so a wrong sign or zone would show.
        noon = datetime(2026, 3, 20, 12, 0, tzinfo=ZoneInfo(place.zone))
        position = sun_position(place.latitude, place.longitude, noon)
        assert position.elevation > 0.7 * (90 - abs(place.latitude)), place.name
        toward_equator = 180 if place.latitude > 0 else 0
        assert place.name in HIGH_SUN or abs(room_azimuth(position.compass, toward_equator)) < 60, place.name
        assert place.latitude == round(place.latitude, 1)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"weather": "stormy"}, "weather: 'stormy' is not known; it must be one of clear, hazy"),
        ({"air": "thick"}, "air: 'thick' is not known"),
        ({"shade": "roof"}, "shade: 'roof' is not known"),
        ({"latitude": 91}, "latitude: 91 is out of range"),
        ({"longitude": float("nan")}, "longitude: nan is out of range"),
        ({"facing": float("inf")}, "facing: inf is out of range"),
        ({"altitude": 20000}, "altitude: 20000 is out of range"),
        ({"ground": 1.5}, "ground: 1.5 is out of range"),
        ({"when": datetime(2026, 3, 20, 8, 0)}, "needs its zone"),
        ({"when": datetime(2026, 3, 20, 23, 0, tzinfo=UTC)}, "below the horizon there; daylight is known down to 6°"),
    ],
)
def test_requests_that_make_no_sense_are_explained(change: dict, says: str) -> None:
    with pytest.raises(ValueError, match=says) as caught:
        daylight(**{"latitude": 40, "longitude": 0, "when": MORNING, **change})
    assert "\n" not in str(caught.value)


def test_polar_noon_and_a_high_place() -> None:
    midsummer = datetime(2026, 6, 21, 0, 0, tzinfo=UTC)
    assert daylight(80, 0, midsummer).sun is not None
    noon = MORNING + timedelta(hours=4)
    low, high = (daylight(-15, 0, noon, altitude=altitude) for altitude in (0, 4000))
    assert luminous(high.sun.irradiance) > luminous(low.sun.irradiance)
    assert luminous(high.sky.horizontal_irradiance()) < luminous(low.sky.horizontal_irradiance())


def test_every_weather_names_its_sky() -> None:
    for weather in WEATHERS:
        assert weather in daylight(40, 0, MORNING, weather).sky.name
    assert daylight(40, 0, MORNING, "broken").sun is not None
