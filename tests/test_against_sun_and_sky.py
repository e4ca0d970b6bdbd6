"""Sun and sky at a place and an hour, against the published algorithms, models and ranges they lean on."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from functools import cache

import numpy as np
import pvlib
import pytest

from sitterlight.illuminants.clear_sky import AIRS, clear_spectra, spectrl2
from sitterlight.illuminants.daylight import Daylight, daylight
from sitterlight.illuminants.general_sky import relative_luminance
from sitterlight.illuminants.grid import STEP, WAVELENGTHS
from sitterlight.illuminants.observer import luminous, tristimulus
from sitterlight.illuminants.sky import Sky
from sitterlight.illuminants.sun import direction, sun_position
from sitterlight.illuminants.temperature import cct_and_duv
from sitterlight.illuminants.twilight import clear_illuminance
from sitterlight.illuminants.weather import WEATHERS, through_clouds

JUNE = datetime(2026, 6, 21, 12, 0, tzinfo=UTC)


def cct(spectrum: np.ndarray) -> float:
    return cct_and_duv(tristimulus(spectrum))[0]


def finer_total(sky: Sky) -> np.ndarray:
    """Irradiance of level ground by another integration than the one that scales the sky."""
    nodes, shares = np.polynomial.legendre.leggauss(150)
    azimuth = (np.arange(500) + 0.25) * 2 * np.pi / 500
    total = np.zeros(81)
    for sine, share in zip((nodes + 1) / 2, shares / 2, strict=True):
        cosine = np.sqrt(1 - sine**2)
        ring = np.stack([np.sin(azimuth) * cosine, np.full(500, sine), np.cos(azimuth) * cosine], axis=-1)
        total += share * sine * 2 * np.pi * sky.radiance(ring).mean(axis=0)
    return total


@cache
def afternoon(elevation: float) -> datetime:
    """When the sun's geometric elevation is within 0.02 degrees of the one asked for, at 40° north, 0° east."""
    early, late = 0.0, 720.0
    for _ in range(16):
        middle = (early + late) / 2
        when = JUNE + timedelta(minutes=middle)
        higher = sun_position(40, 0, when).elevation > elevation
        early, late = (middle, late) if higher else (early, middle)
    return when


def at_elevation(elevation: float, weather: str = "clear", **settings: object) -> Daylight:
    return daylight(40, 0, afternoon(elevation), weather, **settings)


def test_worked_example_of_the_solar_position_algorithm() -> None:
    # Reda and Andreas 2004, appendix A.5: topocentric zenith 50.11162°, azimuth 194.34024°.
    when = datetime(2003, 10, 17, 12, 30, 30, tzinfo=timezone(timedelta(hours=-7)))
    place = (39.742476, -105.1786, when, 1830.14, 820, 11)
    position = sun_position(*place, delta_t=67)
    assert 90 - position.apparent_elevation == pytest.approx(50.11162, abs=1e-5)
    assert position.compass == pytest.approx(194.34024, abs=1e-5)
    # With pvlib's own estimate of delta T the sun moves by less than 0.0001°.
    assert sun_position(*place).compass == pytest.approx(194.34024, abs=1e-4)
    assert position.apparent_elevation > position.elevation


@pytest.mark.parametrize("air", AIRS)
@pytest.mark.parametrize("elevation", [8, 30, 65])
def test_dome_and_sun_keep_the_totals_of_spectrl2(air: str, elevation: float) -> None:
    # Bird and Riordan 1984, through pvlib.
    light = at_elevation(elevation, "clear", air=air, shade="none")
    wavelengths, direct, diffuse = spectrl2(
        light.position.apparent_elevation, 172, AIRS[air], pressure=1013.25, ground=0.2
    )
    for ours, theirs in ((light.sun.irradiance, direct), (finer_total(light.sky), diffuse)):
        assert ours == pytest.approx(np.interp(WAVELENGTHS, wavelengths, theirs), rel=2e-5)
        visible = (wavelengths >= 380) & (wavelengths <= 780)
        watts = np.trapezoid(theirs[visible], wavelengths[visible])
        assert np.trapezoid(ours, dx=STEP) == pytest.approx(watts, rel=0.005)


@pytest.mark.parametrize("weather", WEATHERS)
@pytest.mark.parametrize("elevation", [60, 20, 3, -0.5, -5.9])
def test_every_dome_has_the_luminance_of_its_type_and_no_negative_light(weather: str, elevation: float) -> None:
    light = at_elevation(elevation, weather, facing=100)
    rng = np.random.default_rng(3)
    directions = rng.normal(size=(500, 3))
    directions[:, 1] = np.abs(directions[:, 1])
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    radiance = light.sky.radiance(directions)
    assert radiance.min() >= 0
    azimuth = (100 - light.position.compass + 180) % 360 - 180
    sun = direction(azimuth, max(light.position.apparent_elevation, 0))
    expected = relative_luminance(WEATHERS[weather].sky_type, directions, sun)
    ratio = luminous(radiance) / expected
    assert ratio == pytest.approx(np.full(500, ratio[0]), rel=1e-6)
    assert luminous(finer_total(light.sky)) == pytest.approx(luminous(light.sky.horizontal_irradiance()), rel=1e-4)


def test_colour_follows_brightness_as_chain_and_others_found() -> None:
    # Chain, Dumortier and Fontoynont 1999: mired = −132.1 + 59.77 log10 L for clear skies.
    light = at_elevation(45)
    across = light.sun.azimuth + 90
    radiance = light.sky.radiance(np.array([direction(across, e) for e in (3, 15, 30, 50, 70, 90)]))
    mired = 1e6 / np.array([cct(each) for each in radiance])
    slope = np.polyfit(np.log10(luminous(radiance)), mired, 1)[0]
    assert slope == pytest.approx(59.77, rel=0.03)


def test_clear_sky_colours_are_in_the_measured_range() -> None:
    # Hernández-Andrés, Romero and Lee 2001 (J. Opt. Soc. Am. A 18, 412-420): clear skies from 3800 K to infinity.
    for elevation in (10, 25, 45):
        light = at_elevation(elevation)
        away = light.sun.azimuth + 180
        darkest, zenith = light.sky.radiance(np.array([direction(away, 90 - elevation), [0, 1, 0]]))
        horizon = light.sky.radiance(np.array([direction(light.sun.azimuth + 90, 1)]))[0]
        assert cct(darkest) > 15000
        assert cct(zenith) > cct(horizon) > 9000
        assert 3800 < cct(light.sky.radiance(light.sun.direction[None])[0]) < 11000


def test_global_daylight_is_near_the_typical_5700_kelvin() -> None:
    # Hernández-Andrés and others 2001 (J. Opt. Soc. Am. A 18, 1325-1335): 5700 K best typifies 2600 spectra of
    # sun and sky together, all weathers.
    for weather in WEATHERS:
        for elevation in (15, 30, 60):
            assert 5400 < cct(at_elevation(elevation, weather).horizontal_irradiance()) < 6500


def test_overcast_is_bluer_than_sun_and_sky_together() -> None:
    # Lee and Hernández-Andrés 2005 (Appl. Opt. 44, 5712): overcasts make daylight bluer.
    for elevation in (15, 30, 60):
        clear, overcast = (at_elevation(elevation, weather) for weather in ("clear", "overcast"))
        assert 200 < cct(overcast.horizontal_irradiance()) - cct(clear.horizontal_irradiance()) < 1500
        assert overcast.sun is None


def test_low_sun_is_orange_because_of_the_air() -> None:
    # Noon sun 5000 to 5600 K; near the horizon 2000 to 3000 K (common practice, no source; with one further below).
    noon, low = at_elevation(60).sun, at_elevation(3).sun
    assert 5000 < cct(noon.irradiance) < 5600
    assert 2000 < cct(low.irradiance) < 3000
    assert luminous(noon.irradiance) == pytest.approx(1e5, rel=0.15)
    warmth = [cct(at_elevation(e).sun.irradiance) for e in (60, 40, 20, 10, 5, 2)]
    assert warmth == sorted(warmth, reverse=True)


def test_the_sun_at_air_mass_1_5_is_that_of_the_standard() -> None:
    # ASTM G173-03, direct normal and circumsolar (air mass 1.5, sun 41.8° high), as pvlib tabulates it.
    table = pvlib.spectrum.get_reference_spectra()
    standard = np.interp(WAVELENGTHS, table.index, table["direct"])
    ours = at_elevation(41.8).sun.irradiance
    assert cct(ours) == pytest.approx(cct(standard), abs=150)
    assert luminous(ours) == pytest.approx(luminous(standard), rel=0.03)


@pytest.mark.parametrize("elevation", [2, 3, 5, 10, 20])
def test_the_low_sun_is_as_warm_as_an_optical_depth_makes_it(elevation: float) -> None:
    # Preetham, Shirley and Smits 1999, appendix on sunlight: exp(−0.008735 λ^−4.08 m) for air, exp(−β λ^−α m) for haze,
    # m = 1 / (sin e + 0.15 (e + 3.885)^−1.253) after Kasten 1965; above the air the sun of ASTM G173-03, in it our own
    # clear haze. Ozone is left out, which takes orange, so ours must be a little cooler, and by no more than an eighth.
    table = pvlib.spectrum.get_reference_spectra()
    above = np.interp(WAVELENGTHS, table.index, table["extraterrestrial"])
    micrometres, air = WAVELENGTHS / 1000, AIRS["clear"]
    haze = air.turbidity * (0.5 / micrometres) ** air.exponent
    mass = 1 / (np.sin(np.radians(elevation)) + 0.15 * (elevation + 3.885) ** -1.253)
    expected = cct(above * np.exp(-(0.008735 * micrometres**-4.08 + haze) * mass))
    assert expected < cct(at_elevation(elevation).sun.irradiance) < 1.125 * expected


def test_cloud_amounts_of_kasten_and_czeplak() -> None:
    # Kasten and Czeplak 1980: global is 1 − 0.75 N^3.4 of the clear sky's; overcast 0.25, all of it diffuse. The light
    # between cloud and air adds up to a tenth on top.
    direct, diffuse = clear_spectra(40, 172, AIRS["clear"])
    sine = np.sin(np.radians(40))
    before = luminous(direct) * sine + luminous(diffuse)
    for weather, expected in (("broken cloud", 1 - 0.75 * 0.5**3.4), ("overcast", 0.25)):
        sun, sky, _ = through_clouds(WEATHERS[weather], direct, diffuse, 40)
        after = luminous(sun) * sine + luminous(sky)
        assert expected <= after / before < 1.1 * expected
    assert luminous(through_clouds(WEATHERS["overcast"], direct, diffuse, 40)[0]) == 0
    for weather in ("clear", "hazy", "dusty"):
        sun, sky, blue = through_clouds(WEATHERS[weather], direct, diffuse, 40)
        assert sun == pytest.approx(direct, rel=1e-12)
        assert sky == pytest.approx(diffuse, rel=1e-12)
        assert blue == 1


def test_clouds_whiten_the_sky_and_never_add_light() -> None:
    for elevation in (15, 30, 60):
        lights = {weather: at_elevation(elevation, weather) for weather in WEATHERS}
        clear, thin = lights["clear"], lights["thin cloud"]
        white = cct(thin.sky.horizontal_irradiance())
        blue = cct(clear.sky.horizontal_irradiance())
        assert white < cct(lights["broken cloud"].sky.horizontal_irradiance()) < blue
        for weather in ("thin cloud", "broken cloud", "overcast"):
            assert luminous(lights[weather].horizontal_irradiance()) < luminous(clear.horizontal_irradiance())
        assert luminous(thin.sun.irradiance) < luminous(clear.sun.irradiance)


def test_illuminance_of_twilight() -> None:
    # Glossary of Meteorology (American Meteorological Society): clear civil twilight from 585-410 lux to 3.5-2 lux.
    assert 410 < clear_illuminance(-0.85) < 585
    assert 2 < clear_illuminance(-6) < 3.5
    # Circular 171's pieces meet.
    for edge in (20, 5, -0.8, -5):
        assert clear_illuminance(edge - 1e-6) == pytest.approx(clear_illuminance(edge + 1e-6), rel=0.03)
    for elevation in (-1, -3, -5.9):
        lux = luminous(at_elevation(elevation).horizontal_irradiance())
        assert lux == pytest.approx(clear_illuminance(elevation), rel=0.03)
    with pytest.raises(ValueError, match="-12 to 90"):
        clear_illuminance(-13)


def test_twilight_is_blue_and_warm_toward_the_sun() -> None:
    # Hulburt 1953; Lee, Meyer and Hoeppe 2011: clear civil twilight is distinctly blue, chiefly by ozone.
    colours = [cct(at_elevation(e).sky.horizontal_irradiance()) for e in (0, -2, -4, -5.9)]
    assert colours == sorted(colours)
    assert colours[0] > 9000
    light = at_elevation(-3)
    azimuth = 180 - light.position.compass
    toward, away = light.sky.radiance(np.array([direction(azimuth, 2), direction(azimuth + 180, 2)]))
    assert cct(toward) < 5000 < cct(away)
    assert luminous(toward) > luminous(away)


def test_light_changes_smoothly_as_the_sun_sets() -> None:
    for weather in WEATHERS:
        elevations = np.arange(8, -6, -0.5)
        levels = [luminous(at_elevation(e, weather).horizontal_irradiance()) for e in elevations]
        steps = np.diff(np.log10(levels))
        assert steps.max() < 0, weather
        assert steps.min() > -0.35, weather
