"""Sitting files: strict reading, whole writing, equal round trips, and one sentence for anything else."""

import json
import tomllib
from pathlib import Path

import pytest
from any_sitting import any_sitting
from hypothesis import given, settings
from hypothesis import strategies as st

from sitterlight.shading.sitting import (
    EyeSetting,
    Sitting,
    SkyLight,
    with_head,
    with_light,
    with_skin,
)
from sitterlight.shading.sitting_file import (
    from_dict,
    read_sitting,
    to_dict,
    to_json,
    to_toml,
    write_sitting,
)
from sitterlight.shading.sitting_rules import SittingError
from sitterlight.shading.toml_file import LARGEST_FILE

START = 'format = "sitterlight/1"\n'


@settings(max_examples=100, deadline=None)
@given(any_sitting)
def test_a_sitting_written_reads_back_equal(tmp_path_factory, sitting):
    path = tmp_path_factory.getbasetemp() / "round trip.toml"
    write_sitting(sitting, path)
    assert read_sitting(path) == sitting
    assert from_dict(json.loads(json.dumps(to_json(sitting), allow_nan=False))) == sitting


def test_a_file_from_before_there_was_light_under_the_skin_has_it_on():
    assert from_dict(tomllib.loads(START + "[skin]\nladder = 4\nregions = false")).skin.under_skin is True
    off = from_dict(tomllib.loads(START + "[skin]\nladder = 4\nunder_skin = false"))
    assert off.skin.under_skin is False
    assert "under_skin = false" in to_toml(off)
    assert off != from_dict(tomllib.loads(START + "[skin]\nladder = 4"))


@settings(max_examples=100, deadline=None)
@given(any_sitting)
def test_what_is_written_leaves_no_default_to_guess(sitting):
    text = to_toml(sitting)
    assert to_toml(from_dict(tomllib.loads(text))) == text
    table = to_dict(sitting)
    assert table["format"] == "sitterlight/1"
    assert set(table["eye"]) == {"azimuth", "elevation", "distance", "adaptation", "key", "observer"}


values = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=20)),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(st.text(max_size=12), inner, max_size=4)),
    max_leaves=8,
)
section_names = st.sampled_from(["title", "head", "skin", "light", "surround", "eye", "easel", "palette", "x"])
key_names = st.sampled_from(["mesh", "turn", "ladder", "colour", "amounts", "paints", "ground", "key", "kind", "size"])


@settings(max_examples=100, deadline=None)
@given(st.dictionaries(section_names, st.one_of(values, st.dictionaries(key_names, values, max_size=3))))
def test_any_table_is_a_sitting_or_one_sentence(table):
    try:
        sitting = from_dict({"format": "sitterlight/1", **table})
    except SittingError as error:
        assert_one_sentence(str(error))
    else:
        assert from_dict(to_dict(sitting)) == sitting


@settings(max_examples=100, deadline=2000)
@given(
    st.one_of(
        st.binary(max_size=300), st.text(max_size=200).map(lambda text: (START + text).encode("utf-8", "replace"))
    )
)
def test_any_bytes_are_a_sitting_or_one_sentence(tmp_path_factory, content):
    path = tmp_path_factory.getbasetemp() / "any.toml"
    path.write_bytes(content)
    try:
        read_sitting(path)
    except SittingError as error:
        assert_one_sentence(str(error))
        assert str(error).startswith(str(path))


def assert_one_sentence(text: str) -> None:
    assert text.isprintable(), text
    assert len(text) < 1000


def error_of(text: str, tmp_path: Path) -> str:
    path = tmp_path / "wrong.toml"
    path.write_text(START + text, encoding="utf-8")
    with pytest.raises(SittingError) as caught:
        read_sitting(path)
    return str(caught.value).removeprefix(f"{path}: ")


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("[skin]\nladde = 3", ["skin.ladde", '"ladder"']),
        ("[skin]\nladder = 10", ["skin.ladder", "10", "from 1 to 9"]),
        ("[skin]\nladder = true", ["skin.ladder", "true", "whole number"]),
        ("[skin]\nladder = 2.0", ["skin.ladder", "2.0"]),
        ("[skin]\nladder = 2\ncolour = {srgb = '#8a5a3c'}", ["ladder and colour", "one of"]),
        ("[skin]\ncolour = {srgb = 'brown'}", ["skin.colour.srgb", '"brown"']),
        ("[skin]\ncolour = {srgb = '#8a5a3c', light = 'A'}", ["skin.colour", "srgb and light"]),
        ("[skin]\ncolour = {Lab = [42, 12]}", ["skin.colour.Lab", "three numbers"]),
        ("[skin]\ncolour = {Lab = [142, 12, 9]}", ["skin.colour.Lab[0]", "142", "0 to 100"]),
        ("[skin]\namounts = {melani = 1}", ["skin.amounts.melani", '"melanin"']),
        ("[skin]\namounts = {oxygenation = 1.2}", ["skin.amounts.oxygenation", "1.2", "0 to 1"]),
        ("[skin]\nsheen_included = true", ["skin.sheen_included", "skin.reflectance"]),
        ("[skin]\nunder_skin = 1", ["skin.under_skin", "1", "true or false"]),
        ("[head]\nturn = '25'", ["head.turn", '"25"', "-180 to 180"]),
        ("[head]\nunit = 'cm'", ["head.unit", '"bust"']),
        ("[head]\nmesh = 'a.obj'\nup = '-z'", ["head.front", '"+z"', "head.up"]),
        ("[[light]]\nkind = 'lmap'", ["light[1].kind", '"lmap"', '"lamp"']),
        ("[[light]]\nname = 'x'\nkind = 'lamp'\nazimuth = 400", ['light[1] "x".azimuth', "400", "-180 to 180"]),
        ("[[light]]\nname = 'x'\nazimuth = 4", ['light[1] "x".azimuth', "kind sky"]),
        ("[[light]]\nilluminance = -1", ["light[1].illuminance", "-1"]),
        ("[[light]]\nilluminance = nan", ["light[1].illuminance", "nan"]),
        ("[[light]]\nilluminance = inf", ["light[1].illuminance", "inf"]),
        ("[[light]]\nsky = 17", ["light[1].sky", "17", "1 to 16"]),
        ("[[light]]\nkind = 'lamp'\nsize = 3\ndistance = 500", ["size and distance"]),
        ("[[light]]\nkind = 'lamp'\ndistance = 500", ["distance without diameter"]),
        ("[[light]]\nkind = 'lamp'\ndistance = 500\ndiameter = 990", ["diameter", "990", "500"]),
        ("[[light]]\nkind = 'daylight'\nwhen = 2026-11-21T16:30:00", ["light[1].when", "offset"]),
        ("[[light]]\nkind = 'daylight'\nwhen = 2026-11-21", ["light[1].when", "offset"]),
        ("[[light]]\nname = 'Sheen'", ["light[1].name", "Sheen"]),
        ("[[light]]\nname = 'ground'", ["light[1].name", "ground"]),
        ("[[light]]\n[[light]]", ["light[2].name", "ambiguous", "light[1]"]),
        ("[[light]]\nname='a'\nkind='daylight'\n[[light]]\nname='A sky'", ["light[2].name", "ambiguous"]),
        ("[light]\nname = 'x'", ["light", "[[light]]"]),
        ("light = 3", ["light is 3", "[[light]]"]),
        ("[surround]\nground = 1.5", ["surround.ground", "1.5", "0 to 1"]),
        ("[eye]\nkey = 'bright'", ["eye.key", '"bright"', '"as lit"']),
        ("[eye]\nobserver = 3", ["eye.observer", "3", "2, 10"]),
        ("[palette]\npaints = ['PW6', 'PW6']", ["palette.paints[1]", '"PW6"']),
        ("[palette]\npaints = []", ["palette.paints", "[]"]),
        ("[palette]\nmost = 5", ["palette.most", "5", "from 1 to 4"]),
        ("[palette]\nfew_paints = 1", ["palette.few_paints", "1", "true or false"]),
        ("[palette]\nbase = 'PB27'", ["palette.base", '"PB27"', '"auto"', "one of palette.paints"]),
        ("[palette]\nbase = 'PBr7 burnt umbra'", ["palette.base", 'did you mean "PBr7 burnt umber"']),
        ("[palete]", ["palete", '"palette"']),
        ("title = 'a\\u0007b'".replace("'", '"'), ["title", "line breaks"]),
        ("title = [[[", ["not TOML"]),
        ("title = x", ["not TOML", "line 2"]),
        ("title = " + "[" * 5000, ["too deep"]),
        ("title = " + "9" * 5000, ["too long"]),
        ("a" + ".a" * 50_000 + " = 1", ["more than 20 parts"]),
        ("'!'" + " . '!'" * 15_000 + " = 1", ["more than 20 parts"]),
        ("x = {" + "a = {" * 20_000, ["too deep"]),
        ("[[light]]\n" * 10_000, ["10000 entries"]),
        ("title = 0x" + "f" * 50000, ["title", "enormous"]),
    ],
)
def test_errors_name_the_key_the_value_and_what_is_allowed(text, parts, tmp_path):
    sentence = error_of(text, tmp_path)
    assert_one_sentence(sentence)
    for part in parts:
        assert part in sentence


@pytest.mark.parametrize(
    ("content", "part"),
    [
        (b"", "is empty"),
        (b"\xef\xbb\xbf\n", "is empty"),
        (b"title = 'x'", "format is missing"),
        (b'format = "sitterlight/2"', "newer Sitterlight"),
        (b'format = "other/1"', 'allowed is "sitterlight/1"'),
        (b"format = 1", 'allowed is "sitterlight/1"'),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "not UTF-8 text (byte 1, line 1)"),
        ("format = 'sitterlight/1'\ntitle = 'Gärten'".encode("latin-1"), "line 2"),
        (b"#" * (LARGEST_FILE + 1), "larger than"),
    ],
)
def test_files_that_are_no_sittings(content, part, tmp_path):
    path = tmp_path / "wrong.toml"
    path.write_bytes(content)
    with pytest.raises(SittingError) as caught:
        read_sitting(path)
    assert part in str(caught.value)
    assert_one_sentence(str(caught.value))


def test_files_that_are_not_there_or_are_folders(tmp_path):
    with pytest.raises(SittingError, match="cannot be read"):
        read_sitting(tmp_path / "absent.toml")
    with pytest.raises(SittingError, match="cannot be read"):
        read_sitting(tmp_path)


def test_format_alone_is_a_sitting_and_a_mark_at_its_start_does_no_harm(tmp_path):
    path = tmp_path / "bare.toml"
    path.write_bytes(b"\xef\xbb\xbf" + START.encode())
    assert read_sitting(path) == Sitting()
    assert read_sitting(path).folder == tmp_path


def test_no_light_at_all_is_allowed_when_said():
    assert from_dict({"format": "sitterlight/1", "light": []}).lights == ()
    assert from_dict({"format": "sitterlight/1"}).lights == (SkyLight(),)


def test_amounts_left_out_are_those_of_the_middle_of_the_ladder():
    from sitterlight.shading.ladder import ladder_amounts

    sitting = from_dict({"format": "sitterlight/1", "skin": {"amounts": {"melanin": 0.5}}})
    assert sitting.skin.ladder is None
    assert dict(sitting.skin.amounts) == ladder_amounts(5).as_dict() | {"melanin": 0.5}


def test_paths_lead_to_the_same_files_from_another_folder(tmp_path):
    here, there = tmp_path / "here", tmp_path / "out" / "deep"
    here.mkdir()
    there.mkdir(parents=True)
    sitting = with_skin(with_head(Sitting(), mesh="heads/mine.obj"), reflectance="skin.csv")
    sitting = with_light(sitting, "sky", spectrum="../sky.csv")
    write_sitting(sitting, here / "a.toml")
    write_sitting(read_sitting(here / "a.toml"), there / "b.toml")
    moved = read_sitting(there / "b.toml")
    assert (there / moved.skin.reflectance).resolve() == (here / "skin.csv").resolve()
    assert (there / moved.head.mesh).resolve() == (here / "heads/mine.obj").resolve()
    assert (there / moved.lights[0].spectrum).resolve() == (tmp_path / "sky.csv").resolve()
    assert read_sitting(here / "a.toml") == sitting


def test_what_cannot_be_read_again_is_not_written(tmp_path):
    path = tmp_path / "kept.toml"
    write_sitting(Sitting(), path)
    before = path.read_bytes()
    with pytest.raises(SittingError, match=r"eye\.distance"):
        write_sitting(Sitting(eye=EyeSetting(distance=-1)), path)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]
