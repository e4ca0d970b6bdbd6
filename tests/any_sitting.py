"""Any sitting that a file may hold, for property tests: every kind of light, skin and head, within the rules."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

from hypothesis import strategies as st

from sitterlight.shading.sitting import (
    DaylightLight,
    EaselSetting,
    EyeSetting,
    HeadSetting,
    LampLight,
    PaletteSetting,
    Sitting,
    SkinColour,
    SkinSetting,
    SkyLight,
    SurroundSetting,
    WindowLight,
)
from sitterlight.shading.skin import LIMITS


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


printable = st.characters(exclude_categories=("C", "Z"), exclude_characters='"')
words = st.text(printable, min_size=1, max_size=20)
spectra = st.sampled_from(["auto", "6500 K", "D65", "A", "LED-B1", "my light.csv", "../spectra/sky.csv"])
skies = st.one_of(st.sampled_from(["overcast", "uniform", "open shade"]), st.integers(1, 16))
azimuths, elevations, lux = numbers(-180, 180), numbers(-90, 90), numbers(0, 1e6)
suns = {"sun_azimuth": azimuths, "sun_elevation": numbers(0, 90)}
moments = st.datetimes(
    datetime(1950, 1, 2),
    datetime(2099, 12, 30),
    timezones=st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes))),
)
sky_lights = st.builds(SkyLight, sky=skies, spectrum=spectra, illuminance=lux, on=st.booleans(), **suns)
distant_lamps = st.builds(
    LampLight, spectrum=spectra, azimuth=azimuths, elevation=elevations, size=numbers(0.05, 170), illuminance=lux
)
near_lamps = st.builds(
    LampLight, size=st.none(), distance=numbers(200, 1e6), diameter=numbers(1, 300), on=st.booleans()
)
daylights = st.builds(
    DaylightLight,
    latitude=numbers(-90, 90),
    longitude=azimuths,
    when=moments,
    weather=st.sampled_from(["clear", "overcast", "broken cloud"]),
    facing=numbers(0, 360),
)
windows = st.builds(
    WindowLight, azimuth=azimuths, distance=numbers(200, 1e5), width=numbers(10, 1e5), sky=skies, **suns
)


@st.composite
def several_lights(draw: st.DrawFn) -> tuple:
    lights = draw(st.lists(st.one_of(sky_lights, distant_lamps, near_lamps, daylights, windows), max_size=5))
    return tuple(with_name(light, f"{draw(words)} {place}") for place, light in enumerate(lights))


def with_name(light, name: str):
    return type(light)(**{**vars(light), "name": name})


surfaces = st.one_of(numbers(0, 1), st.sampled_from(["grass", "own ground.csv"]))
skins = st.one_of(
    st.builds(SkinSetting, ladder=st.integers(1, 9), roughness=numbers(0.05, 1), oil=numbers(0, 5)),
    st.builds(
        SkinSetting,
        ladder=st.none(),
        amounts=st.tuples(*(st.tuples(st.just(name), numbers(*limits)) for name, limits in LIMITS.items())),
    ),
    st.builds(SkinSetting, ladder=st.none(), reflectance=st.just("a/skin.csv"), sheen_included=st.booleans()),
    st.builds(
        SkinSetting,
        ladder=st.none(),
        colour=st.one_of(
            st.builds(SkinColour, Lab=st.tuples(numbers(0, 100), numbers(-99, 99), numbers(-99, 99))),
            st.builds(SkinColour, srgb=st.from_regex(r"\A#[0-9a-f]{6}\Z")),
        ),
        regions=st.booleans(),
        under_skin=st.booleans(),
    ),
)
heads = st.one_of(
    st.builds(HeadSetting, turn=azimuths, tilt=elevations, lean=elevations),
    st.builds(HeadSetting, mesh=st.just("my head.obj"), unit=st.sampled_from(["mm", "cm", "m", "in"])),
)
eyes = st.builds(
    EyeSetting,
    azimuth=azimuths,
    elevation=elevations,
    distance=numbers(300, 1e5),
    adaptation=st.one_of(st.just("auto"), numbers(0, 1)),
    key=st.one_of(st.sampled_from(["as lit", "compressed"]), numbers(1, 10)),
    observer=st.sampled_from([2, 10]),
)


@st.composite
def palettes(draw):
    paints = tuple(draw(st.lists(words, min_size=1, max_size=6, unique=True)))
    return PaletteSetting(
        paints,
        most=draw(st.integers(1, 4)),
        few_paints=draw(st.booleans()),
        base=draw(st.sampled_from(("none", "auto", *paints))),
        transparent_darks=draw(st.booleans()),
        no_black=draw(st.booleans()),
    )


any_sitting = st.builds(
    Sitting,
    title=words,
    head=heads,
    skin=skins,
    lights=several_lights(),
    surround=st.builds(SurroundSetting, ground=surfaces, walls=surfaces, clothes=surfaces),
    eye=eyes,
    easel=st.builds(EaselSetting, light=spectra, second_light=spectra),
    palette=palettes(),
)
