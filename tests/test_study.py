"""A study from end to end: all files or none, the same each time, no screen, pictures that tell the truth."""

import json
import subprocess
import sys
from io import BytesIO

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from scipy import ndimage

from sitterlight.shading import rays
from sitterlight.shading.day import write_day
from sitterlight.shading.sitting import LampLight, Sitting, SkyLight, with_lights
from sitterlight.shading.sitting_file import read_sitting
from sitterlight.shading.study import (
    FILES,
    LIGHT_SHARE,
    PIECES_SHARE,
    SIZE,
    file_contents,
    study,
    study_of,
    write_study,
)

SITTING = with_lights(
    Sitting(title="Lamp and sky"),
    SkyLight(sky="open shade", illuminance=400.0),
    LampLight(name="lamp", illuminance=500.0),
)


@pytest.fixture(scope="module")
def found():
    return study_of(SITTING)


@pytest.fixture(scope="module")
def contents(found, tmp_path_factory):
    return file_contents(found, tmp_path_factory.mktemp("study"))


def picture(content: bytes) -> Image.Image:
    image = Image.open(BytesIO(content))
    image.load()
    return image


def test_every_file_is_written_the_same_each_time_and_reads_back(contents, tmp_path):
    """Old files are replaced and others left."""
    out, shares = tmp_path / "a" / "b", []
    out.mkdir(parents=True)
    (out / "head.png").write_text("old")
    (out / "letter.txt").write_text("mine")
    written = study(SITTING, out, shares.append)
    assert shares == sorted(shares) and shares[-1] == 1.0
    pieces = [share for share in shares if LIGHT_SHARE < share < LIGHT_SHARE + (1 - LIGHT_SHARE) * PIECES_SHARE]
    assert len(pieces) > 10  # of the picture's rays as well
    assert tuple(written) == FILES
    assert {path.name for path in out.iterdir()} == {*FILES, "letter.txt"}
    assert (out / "letter.txt").read_text() == "mine"
    assert {name for name in FILES if written[name].read_bytes() != contents[name]} == set()
    assert read_sitting(written["sitting.toml"]) == SITTING
    assert json.loads(written["targets.json"].read_text("utf-8"))["sitting"]["title"] == "Lamp and sky"


def test_pictures_are_srgb_and_of_their_size(contents):
    head, notes, sheet = (picture(contents[name]) for name in ("head.png", "notes.png", "sheet.png"))
    assert head.size == SIZE
    assert notes.width > 3 * SIZE[0] / 2
    assert max(sheet.size) == pytest.approx(1800, abs=2)
    for image in (head, notes, sheet):
        assert image.mode == "RGB"
        assert image.info["srgb"] == 0
        assert image.info["Title"] == "Lamp and sky"


def test_the_sheet_has_the_mixing_plan_as_its_second_page(found, contents):
    document = pypdfium2.PdfDocument(contents["sheet.pdf"])
    assert len(document) == 2
    words = document[1].get_textpage().get_text_bounded()
    assert "Squeeze out, by volume" in words and "Strings:" in words and "safety sheet" in words
    assert f"{100 * found.plan.piles[0].share_of_area:.0f} % of the area" in words


def test_the_strings_of_another_plane_cost_nothing_else(found):
    number = next(k for k, row in enumerate(found.rows) if row.name == "cheek front" and not row.hidden)
    plan, other = found.plan, found.about(number)
    assert other.mixed is found.mixed and other.plan is plan
    told = [mark.text for mark in other.plan_page.marks if getattr(mark, "text", "").startswith("Strings:")]
    assert told and "cheek front" in told[0]
    assert found.plan_page is not other.plan_page


def test_a_plane_that_the_head_has_not_is_as_good_as_none(found):
    """As one chosen on another head: a robot printed so."""
    assert found.about(len(found.rows)).plan_page == found.about(None).plan_page


def test_the_table_carries_the_mixing_plan_and_other_mixes(contents):
    table = json.loads(contents["targets.json"])
    plan = table["mixing_plan"]
    assert sum(pile["share_of_area"] for pile in plan["piles"]) == pytest.approx(1.0)
    assert sum(paint["share"] for paint in plan["paints"]) == pytest.approx(1.0)
    assert {paint["paint"] for paint in plan["paints"]} <= set(table["sitting"]["palette"]["paints"])
    for plane in table["planes"]:
        for target in plane["targets"]:
            assert all({"parts", "delta_e", "Lab"} == set(other) for other in target["recipe"]["alternatives"])
    assert "alternatives" not in contents["targets.csv"].decode()


def test_the_ground_is_neutral_and_the_head_is_lit(contents):
    head = np.asarray(picture(contents["head.png"]))
    assert (head[:80] == 0x79).all()
    middle = head[400:900, 400:900].astype(int)
    assert np.ptp(middle[..., 0]) > 60
    assert (middle[..., 0] > middle[..., 2]).mean() > 0.8


def test_planes_have_the_colour_of_the_table(found):
    film, display = found.film, found.scene.head.display
    plane = np.where(film.centre_face >= 0, np.asarray(display.plane_of_face)[film.centre_face], -2)
    inside = (ndimage.minimum_filter(plane, 5) == ndimage.maximum_filter(plane, 5)) & (plane >= 0)
    wanted = np.array([list(bytes.fromhex(row.srgb[1:])) for row in found.rows])[plane[inside]]
    off = np.abs(found.planes_picture[inside].astype(int) - wanted).max(axis=1)
    assert (off <= 2).mean() > 0.999


def test_the_mean_of_a_plane_in_the_picture_is_its_row(found):
    film, display = found.film, found.scene.head.display
    plane = np.asarray(display.plane_of_face)[film.face]
    light = np.einsum("sc,sck->sk", film.weights, found.seen[film.corners])
    share = film.weights.sum(axis=1)
    number = next(k for k, row in enumerate(found.rows) if row.name == "forehead front")
    mean = light[plane == number].sum(axis=0) / share[plane == number].sum()
    codes = np.rint(255 * np.where(mean > 0.0031308, 1.055 * mean ** (1 / 2.4) - 0.055, 12.92 * mean))
    assert np.abs(codes - list(bytes.fromhex(found.rows[number].srgb[1:]))).max() < 8  # pixels weigh by what faces us


def test_notes_of_blue_and_warm_are_in_the_map(found):
    assert found.notes.told.max() > 1
    assert found.notes.told.min() < -1
    assert found.note_picture.reshape(-1, 3).std(axis=0).min() > 5


def test_the_sheet_names_the_planes_and_lights(found, contents):
    document = pypdfium2.PdfDocument(contents["sheet.pdf"])
    text = " ".join(document[0].get_textpage().get_text_range().split())
    document.close()
    assert "Lamp and sky" in text
    for row in found.rows:
        assert row.name[1:] in text
    for light in found.scene.light_info:
        assert f"{light['name']}: " in text


def test_a_failure_writes_nothing_and_leaves_what_was(tmp_path):
    dark = with_lights(Sitting(), LampLight(on=False))
    with pytest.raises(ValueError, match="light"):
        study(dark, tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("room", "write"), [("study", write_study), ("day", write_day)])
def test_a_study_or_day_stopped_at_the_last_moment_leaves_nothing(room, write, tmp_path, monkeypatch):
    def stop(share):
        if share == 1.0:
            raise InterruptedError

    monkeypatch.setattr(f"sitterlight.shading.{room}.file_contents", lambda *_: {"a": b"1", "b": b"2"})
    with pytest.raises(InterruptedError):
        write(None, tmp_path / "out", stop)
    assert list(tmp_path.iterdir()) == []


def test_a_second_study_casts_only_the_rays_of_its_picture(found):
    before = rays.cast_count
    again = study_of(SITTING)
    assert rays.cast_count == before
    assert again.head_picture.shape == (SIZE[1], SIZE[0], 3)
    assert rays.cast_count > before


def test_no_window_and_no_graphics_are_imported():
    unwanted = {"PyQt6", "vtk", "vtkmodules", "pyvista", "pyvistaqt", "matplotlib", "colour"}
    code = f"import sys; import sitterlight.shading.study; print(sorted({unwanted} & set(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
