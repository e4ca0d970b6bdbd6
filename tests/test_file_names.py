"""Names of files in sittings: a folder that is moved or given away still leads to all its files."""

from __future__ import annotations

import json
import os
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from sitterlight.meshes.library import load_head
from sitterlight.shading.file_names import named_from, named_within
from sitterlight.shading.palette_file import read_palette, write_palette
from sitterlight.shading.sitting import (
    EaselSetting,
    LampLight,
    PaletteSetting,
    Sitting,
    SkinSetting,
    SkyLight,
    SurroundSetting,
    with_head,
    with_skin,
)
from sitterlight.shading.sitting_file import as_written, read_sitting, write_sitting
from sitterlight.shading.sitting_references import check_references

ON_POSIX = pytest.mark.skipif(os.name == "nt", reason="links as Unix has them")
CSV = "\n".join(f"{nm},0.{nm}" for nm in range(400, 701, 10))
PAINT = """format = "sitterlight-paint/1"
name = "my red"
[[sample]]
paint = 1
colour = {munsell = "7.5R 4/10"}
[[sample]]
paint = 1
white = 10
colour = {munsell = "5R 7/6"}
"""


def _folder(folder: Path) -> Path:
    """A folder with all kinds of files that a sitting names."""
    (folder / "köpfe ohne Netz").mkdir(parents=True)
    for name in ("肖像 skin.csv", "lamp.csv", "ground.csv", "easel.csv"):
        (folder / name).write_text(CSV, encoding="utf-8")
    (folder / "my red.toml").write_text(PAINT, encoding="utf-8")
    cube = load_head("cube")
    lines = [f"v {x} {y} {z}" for x, y, z in cube.vertices] + [f"f {a} {b} {c}" for a, b, c in cube.faces + 1]
    (folder / "köpfe ohne Netz" / "κύβος.obj").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder


def _sitting(folder: Path) -> Sitting:
    """A sitting that names the files of `_folder` by absolute paths, as the window does that was handed them."""
    tube = str(folder / "my red.toml")
    return Sitting(
        head=replace(Sitting().head, mesh=str(folder / "köpfe ohne Netz" / "κύβος.obj")),
        skin=SkinSetting(ladder=None, reflectance=str(folder / "肖像 skin.csv")),
        lights=(SkyLight(spectrum=str(folder / "lamp.csv")), LampLight(spectrum="A")),
        surround=SurroundSetting(ground=str(folder / "ground.csv"), walls=str(folder / "ground.csv"), clothes="grass"),
        easel=EaselSetting(str(folder / "easel.csv"), "D65"),
        palette=PaletteSetting(("PW6", "PY43", "PB29", tube), base=tube),
    )


def _files_of(sitting: Sitting) -> list[str]:
    easel, palette, ground = sitting.easel, sitting.palette, sitting.surround
    names = [sitting.head.mesh, sitting.skin.reflectance, sitting.lights[0].spectrum, easel.light]
    return [*names, ground.ground, ground.walls, palette.paints[-1], palette.base]


def test_a_folder_that_is_moved_leads_to_its_own_files(tmp_path):
    here, there = _folder(tmp_path / "mein Bild"), tmp_path / "elsewhere" / "für Schüler"
    write_sitting(_sitting(here), here / "Ελένη.toml")
    assert str(tmp_path) not in (here / "Ελένη.toml").read_text(encoding="utf-8")
    there.parent.mkdir()
    shutil.move(here, there)
    moved = read_sitting(there / "Ελένη.toml")
    assert not here.exists()
    check_references(moved)
    assert _files_of(moved) == [
        "köpfe ohne Netz/κύβος.obj", "肖像 skin.csv", "lamp.csv", "easel.csv", "ground.csv", "ground.csv",
        "my red.toml", "my red.toml",
    ]  # fmt: skip
    assert moved.surround.clothes == "grass" and moved.palette.paints[:3] == ("PW6", "PY43", "PB29")
    assert moved == as_written(moved, there / "Ελένη.toml")  # once more changes nothing


def test_what_is_written_reads_back_equal_wherever_it_is_saved(tmp_path):
    here = _folder(tmp_path / "here")
    for path in (
        here / "a.toml",
        tmp_path / "b.toml",
        here / "köpfe ohne Netz" / "c.toml",
        tmp_path / "other" / "d.toml",
    ):
        path.parent.mkdir(exist_ok=True)
        write_sitting(_sitting(here), path)
        found = read_sitting(path)
        assert found == as_written(_sitting(here), path)
        check_references(found)
        for name, meant in zip(_files_of(found), _files_of(_sitting(here)), strict=True):
            assert os.path.samefile(path.parent / name, meant)
            assert Path(name).is_absolute() == (path.parent not in Path(meant).parents)
            assert "\\" not in name


def test_saved_again_elsewhere_and_back_it_names_the_same_files(tmp_path):
    here, there = _folder(tmp_path / "here"), tmp_path / "out" / "deep"
    there.mkdir(parents=True)
    write_sitting(_sitting(here), here / "a.toml")
    write_sitting(read_sitting(here / "a.toml"), there / "b.toml")
    check_references(read_sitting(there / "b.toml"))
    write_sitting(read_sitting(there / "b.toml"), here / "c.toml")
    assert (here / "c.toml").read_bytes() == (here / "a.toml").read_bytes()


@pytest.mark.parametrize("name", ["D65", "auto", "~me", " padded.csv", "bust"])
def test_a_file_called_as_something_built_in_stays_a_file(tmp_path, name):
    for here in (tmp_path, tmp_path / "up"):
        text = named_from(str(tmp_path / name), here, tmp_path)
        assert text == f"./{name}"
    assert named_from(f"../{name}", tmp_path / "sub", tmp_path) == f"./{name}"


def test_what_is_built_in_is_never_renamed():
    for name in ("bust", "A", "6500 K", "PW6", "PR101 transparent", "grass"):
        assert named_from(name, Path("/here"), Path("/there")) == name


@ON_POSIX
def test_a_name_from_home_stays_that_of_the_same_file(tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    assert named_from("~/heads/a.obj", None, tmp_path) == "heads/a.obj"
    assert named_from("~/heads/a.obj", None, tmp_path / "x") == str(tmp_path / "heads/a.obj")


@ON_POSIX
def test_a_folder_known_by_two_names_is_one(tmp_path):
    real = _folder(tmp_path / "real")
    (tmp_path / "link").symlink_to(real)
    assert named_within(real / "lamp.csv", tmp_path / "link") == "lamp.csv"
    assert named_within(tmp_path / "link" / "lamp.csv", real) == "lamp.csv"
    assert named_within(real / "köpfe ohne Netz" / ".." / "lamp.csv", real / "köpfe ohne Netz") is None


@ON_POSIX
def test_links_to_files_are_named_themselves(tmp_path):
    here = _folder(tmp_path / "here")
    (tmp_path / "far.csv").write_text(CSV)
    (here / "linked.csv").symlink_to(tmp_path / "far.csv")
    sitting = with_skin(Sitting(), reflectance=str(here / "linked.csv"))
    write_sitting(sitting, here / "a.toml")
    assert read_sitting(here / "a.toml").skin.reflectance == "linked.csv"


@ON_POSIX
def test_a_link_on_the_way_out_does_not_lead_astray(tmp_path):
    """From a folder that is a link, ".." leads to where the folder lies, not to where the link does."""
    (tmp_path / "far" / "off" / "real").mkdir(parents=True)
    here, link = _folder(tmp_path / "here"), tmp_path / "link"
    link.symlink_to(tmp_path / "far" / "off" / "real")
    write_sitting(with_skin(Sitting(), reflectance="lamp.csv"), here / "a.toml")
    write_sitting(read_sitting(here / "a.toml"), link / "b.toml")
    for folder in (link, link.resolve()):
        assert os.path.samefile(folder / read_sitting(folder / "b.toml").skin.reflectance, here / "lamp.csv")


@ON_POSIX
def test_a_sitting_behind_a_link_finds_its_files_by_both_names(tmp_path):
    here, kept = _folder(tmp_path / "here"), tmp_path / "kept"
    kept.mkdir()
    write_sitting(Sitting(), kept / "real.toml")
    (here / "a.toml").symlink_to(kept / "real.toml")
    write_sitting(_sitting(here), here / "a.toml")
    assert (here / "a.toml").is_symlink()
    for path in (here / "a.toml", kept / "real.toml"):
        check_references(read_sitting(path))
        assert read_sitting(path) == _sitting(here)


def test_a_name_grows_too_long_only_where_it_is_written(tmp_path):
    """A folder may be so deep that its absolute names are too long for a sitting; its own files are named from it."""
    deep = tmp_path / ("a" * 90) / ("b" * 90) / ("c" * 90)
    deep.mkdir(parents=True)
    (deep / "lamp.csv").write_text(CSV)
    write_sitting(Sitting(lights=(SkyLight(spectrum=str(deep / "lamp.csv")),)), deep / "a.toml")
    assert read_sitting(deep / "a.toml").lights[0].spectrum == "lamp.csv"


def test_a_recovery_copy_kept_elsewhere_finds_the_files(tmp_path, monkeypatch):
    pytest.importorskip("PyQt6.QtWidgets")
    from sitterlight.viewer.recovery import Recovery, left_unsaved

    monkeypatch.setenv("SITTERLIGHT_SETTINGS", str(tmp_path / "settings"))
    here = _folder(tmp_path / "here")
    write_sitting(_sitting(here), here / "a.toml")
    saved = read_sitting(here / "a.toml")
    for sitting in (saved, _sitting(here), as_written(saved, tmp_path / "b.toml")):
        recovery = Recovery()
        assert recovery.keep(with_head(sitting, turn=20.0), here / "a.toml", beside=sitting)
        recovery._lock.let_go()  # as at the program's end
        (found,) = left_unsaved()
        for one in (found.sitting, found.beside):
            check_references(one)
            write_sitting(one, here / "again.toml")
            assert _files_of(read_sitting(here / "again.toml")) == _files_of(saved)
        found.throw_away()


def test_a_palette_names_its_tubes_from_its_own_folder(tmp_path):
    here = _folder(tmp_path / "here")
    write_palette(("PW6", str(here / "my red.toml")), None, here / "palette.toml")
    shutil.move(here, tmp_path / "there")
    assert read_palette(tmp_path / "there" / "palette.toml").paints == ("PW6", "my red.toml")


def test_a_study_beside_the_files_of_its_sitting_can_be_moved(tmp_path):
    from sitterlight.shading.study import study

    here = _folder(tmp_path / "here")
    study(replace(_sitting(here), palette=PaletteSetting()), here)
    shutil.move(here, tmp_path / "there")
    found = read_sitting(tmp_path / "there" / "sitting.toml")
    check_references(found)
    table = json.loads((tmp_path / "there" / "targets.json").read_text(encoding="utf-8"))
    assert str(here) not in (tmp_path / "there" / "sitting.toml").read_text(encoding="utf-8")
    assert table["planes"]
