"""The sitting as a value: defaults, changes, names, and the built-in ones."""

from dataclasses import FrozenInstanceError, fields, replace
from pathlib import Path

import pytest

from sitterlight.shading import sitting_keys
from sitterlight.shading.file_names import looks_like_path
from sitterlight.shading.sitting import (
    LIGHT_KINDS,
    DaylightLight,
    EaselSetting,
    EyeSetting,
    HeadSetting,
    LampLight,
    PaletteSetting,
    Sitting,
    SkyLight,
    SurroundSetting,
    light_named,
    result_names,
    with_eye,
    with_head,
    with_light,
    with_lights,
    with_skin,
    with_surround,
)
from sitterlight.shading.sitting_file import to_toml
from sitterlight.shading.sitting_references import check_references
from sitterlight.shading.sittings import DEFAULT, built_in, built_in_names

TWO = Sitting(lights=(SkyLight(), LampLight(name="reading lamp")))


def test_a_sitting_is_immutable_and_hashable():
    with pytest.raises(FrozenInstanceError):
        TWO.title = "other"
    assert hash(TWO) == hash(replace(TWO))
    assert replace(TWO, title="other") != TWO


def test_the_folder_is_no_part_of_what_a_sitting_says():
    assert replace(TWO, folder=Path("/somewhere")) == TWO
    assert hash(replace(TWO, folder=Path("/somewhere"))) == hash(TWO)


def test_defaults_that_the_design_states():
    bare = Sitting()
    assert bare.surround == SurroundSetting(ground=0.2, walls=0, clothes=0.2)
    assert bare.eye.distance == 1500
    assert bare.eye.adaptation == "auto"
    assert bare.eye.key == "as lit"
    assert bare.eye.observer == 2
    assert (bare.easel.light, bare.easel.second_light) == ("D50", "A")


def test_with_light_changes_the_named_light_alone():
    changed = with_light(TWO, "reading lamp", azimuth=10)
    assert changed.lights == (SkyLight(), LampLight(name="reading lamp", azimuth=10))
    assert light_named(changed, "sky") is TWO.lights[0]
    with pytest.raises(KeyError):
        with_light(TWO, "moon", on=False)


def test_a_new_source_of_the_skin_replaces_the_old():
    coloured = with_skin(TWO, reflectance="mine.csv")
    assert (coloured.skin.ladder, coloured.skin.reflectance) == (None, "mine.csv")
    back = with_skin(coloured, ladder=7, oil=0.5)
    assert (back.skin.ladder, back.skin.reflectance, back.skin.oil) == (7, None, 0.5)
    assert with_skin(TWO, oil=0).skin.ladder == TWO.skin.ladder


def test_other_changes_leave_the_rest():
    changed = with_surround(with_eye(with_head(TWO, turn=5), azimuth=6), ground="snow")
    assert (changed.head.turn, changed.eye.azimuth, changed.surround.ground) == (5, 6, "snow")
    assert changed.lights == TWO.lights
    assert with_lights(TWO).lights == ()


def test_a_daylight_light_shows_as_sun_and_sky():
    assert result_names(DaylightLight(name="afternoon")) == ("afternoon sun", "afternoon sky")
    assert result_names(SkyLight()) == ("sky",)


@pytest.mark.parametrize("text", ["mine.csv", "a/b", "A\\b", "head.OBJ", "skin.TXT"])
def test_paths_are_told_from_names(text):
    assert looks_like_path(text)


@pytest.mark.parametrize("text", ["bust", "6500 K", "D65", "LED-B1", "PR101 transparent", "dry grass"])
def test_names_are_told_from_paths(text):
    assert not looks_like_path(text)


def test_every_field_has_a_rule_and_every_rule_a_field():
    sections = {
        HeadSetting: sitting_keys.HEAD,
        SurroundSetting: sitting_keys.SURROUND,
        EyeSetting: sitting_keys.EYE,
        EaselSetting: sitting_keys.EASEL,
        PaletteSetting: sitting_keys.PALETTE,
    } | {kind: sitting_keys.LIGHTS[name] for name, kind in LIGHT_KINDS.items()}
    for setting, rules in sections.items():
        assert {field.name for field in fields(setting)} == set(rules), setting


def test_there_are_at_least_eight_built_in_sittings_and_a_default():
    assert len(built_in_names()) >= 8
    assert built_in_names()[0] == DEFAULT
    titles = [built_in(name).title for name in built_in_names()]
    assert len(set(titles)) == len(titles)


def test_the_default_is_a_deep_skin_under_an_overcast_sky():
    sitting = built_in()
    assert sitting.skin.ladder == 2
    assert [(light.kind, light.sky) for light in sitting.lights] == [("sky", "overcast")]


@pytest.mark.parametrize("name", built_in_names())
def test_built_in_sittings_are_whole(name):
    sitting = built_in(name)
    assert sitting.folder is None
    assert to_toml(sitting)
    check_references(sitting)


def test_an_unknown_built_in_name_is_answered_with_a_near_one():
    with pytest.raises(ValueError, match='did you mean "garden-overcast"'):
        built_in("garden-overcst")


def test_a_reference_that_leads_nowhere_is_named_by_its_key():
    wrong = with_light(TWO, "reading lamp", spectrum="LED-B77")
    with pytest.raises(ValueError, match=r'^light\[2\] "reading lamp"\.spectrum: .*LED-B77'):
        check_references(wrong)
    with pytest.raises(ValueError, match=r"^surround\.ground: .*gras"):
        check_references(with_surround(TWO, ground="gras"))
    with pytest.raises(ValueError, match=r"^head\.mesh: .*bost"):
        check_references(with_head(TWO, mesh="bost"))
    with pytest.raises(ValueError, match=r"^palette\.paints: .*PX1"):
        check_references(replace(TWO, palette=PaletteSetting(("PX1",))))
    with pytest.raises(ValueError, match=r"^skin: .*absent\.csv"):
        check_references(with_skin(TWO, reflectance="absent.csv"))
