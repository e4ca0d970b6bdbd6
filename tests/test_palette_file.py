"""Palettes as files: written, read back, moved with their measured tubes, refused in one sentence."""

import pytest

from sitterlight.shading.paint_words import matches, tube_words
from sitterlight.shading.paints import PaintError, paint, paints
from sitterlight.shading.palette_file import PALETTES, is_palette, read_palette, tubes_named, write_palette
from sitterlight.viewer.checking import check_file
from sitterlight.viewer.command import main

TUBE = """format = "sitterlight-paint/1"
name = "red of my own"
pigment = "PR102"
[[sample]]
paint = 1
colour = {munsell = "10R 4/6"}
[[sample]]
paint = 1
white = 9
colour = {munsell = "2.5YR 7/4"}
"""


@pytest.mark.parametrize("title", PALETTES)
def test_palettes_to_begin_with(title):
    tubes = paints(PALETTES[title])
    assert any(one.is_white for one in tubes) and len(tubes) >= 4
    if title == "nothing marked toxic":
        assert not any(one.caution for one in tubes)


def test_written_and_read_back(tmp_path):
    path = tmp_path / "outdoors.toml"
    write_palette(PALETTES["four tubes"], None, path)
    found = read_palette(path)
    assert (found.title, found.paints, found.folder) == ("outdoors", PALETTES["four tubes"], tmp_path)
    assert is_palette(path)
    assert check_file(path).startswith('a palette, "outdoors", of 4 tubes: titanium white PW6')


def test_own_tubes_go_along(tmp_path):
    (tmp_path / "tubes").mkdir()
    (tmp_path / "palettes").mkdir()
    (tmp_path / "tubes" / "red.toml").write_text(TUBE, encoding="utf-8")
    path = tmp_path / "palettes" / "mine.toml"
    write_palette(("PW6", "red.toml"), tmp_path / "tubes", path)
    assert read_palette(path).paints == ("PW6", "../tubes/red.toml")
    named = tubes_named([str(path), "PB29"])
    assert named[0] == "PW6" and named[-1] == "PB29"
    assert paint(named[1]).id == "PR102 red of my own"
    assert not is_palette(tmp_path / "tubes" / "red.toml")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "is empty"),
        ('format = "sitterlight-palette/2"\npaints = ["PW6"]', "newer Sitterlight.*sitterlight-palette/1"),
        ('format = "palette/2"\npaints = ["PW6"]', 'it must be "sitterlight-palette/1"'),
        ('format = "sitterlight-palette/1"\npaints = ["//host/share/red.toml"]', "on this computer"),
        ('format = "sitterlight-palette/1"\npaints = ["https://host/red.toml"]', "on this computer"),
        ('format = "sitterlight-palette/1"\npaints = []', "1 to 200"),
        ('format = "sitterlight-palette/1"\npaints = [1]', "1 to 200"),
        ('format = "sitterlight-palette/1"\npaints = ["PBr7"]', "PBr7 burnt umber"),
        ('format = "sitterlight-palette/1"\npaints = ["PW6", "titanium white"]', "twice"),
        ('format = "sitterlight-palette/1"\npaints = ["PW6"]\ncolour = 1', "colour"),
        ('format = "sitterlight-palette/1"\npaints = ["PW6"]\ntitle = 7', "title"),
    ],
)
def test_a_bad_palette_is_refused_in_one_sentence(tmp_path, text, told):
    path = tmp_path / "bad.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(PaintError, match=told) as caught:
        read_palette(path)
    assert str(caught.value).startswith(str(path)) and "\n" not in str(caught.value)


def test_the_shell_takes_a_palettes_file(tmp_path, capsys):
    path = tmp_path / "mine.toml"
    write_palette(("PW6", "PY43", "PR101 transparent", "PB29"), None, path)
    assert main(["mix", "5YR 4/4", "--palette", str(path)]) == 0
    by_file = capsys.readouterr().out
    assert main(["mix", "5YR 4/4", "--palette", "PW6,PY43,PR101 transparent,PB29"]) == 0
    assert capsys.readouterr().out == by_file


def test_words_about_tubes(tmp_path):
    assert "contains lead" in tube_words("PW1")
    assert "measured in drops" in tube_words("PV23")
    assert "may be a third stronger or weaker" in tube_words("PY43")
    path = tmp_path / "red.toml"
    path.write_text(TUBE, encoding="utf-8")
    assert "fairly sure" in tube_words("red.toml", tmp_path)


@pytest.mark.parametrize("words", ["umber", "burnt pbr7", "PBr7", "earth umber", "manganese"])
def test_a_search_finds_burnt_umber(words):
    assert matches(paint("PBr7 burnt umber"), words)
    assert not matches(paint("PB29"), words)
