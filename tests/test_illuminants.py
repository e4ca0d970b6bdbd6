"""Spectra by name and from files, the grid, and surfaces that return light."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from sitterlight.illuminants.catalogue import names, spectrum
from sitterlight.illuminants.files import LARGEST_FILE, read_spectrum_csv
from sitterlight.illuminants.grid import STEP, WAVELENGTHS, on_grid
from sitterlight.illuminants.observer import luminous, tristimulus
from sitterlight.illuminants.surfaces import reflectance, surfaces
from sitterlight.illuminants.temperature import cct_and_duv


def test_grid_is_380_to_780_in_steps_of_5() -> None:
    assert WAVELENGTHS.shape == (81,)
    assert (WAVELENGTHS[0], WAVELENGTHS[-1]) == (380, 780)
    assert np.all(np.diff(WAVELENGTHS) == STEP)


def test_on_grid_keeps_a_straight_line_whatever_the_steps() -> None:
    for step in (0.5, 1, 2, 5, 7, 10):
        nm = np.arange(350, 821, step)
        assert on_grid(nm, nm / 100) == pytest.approx(WAVELENGTHS / 100, rel=1e-12)


def test_on_grid_holds_the_ends() -> None:
    values = on_grid(np.array([400.0, 700.0]), np.array([0.2, 0.8]))
    assert values[0] == 0.2
    assert values[-1] == 0.8


def test_a_narrow_line_keeps_its_power_and_its_place() -> None:
    nm = np.arange(380, 781, 0.5)
    line = np.exp(-0.5 * ((nm - 546.1) / 0.6) ** 2)
    coarse = on_grid(nm, line)
    assert coarse.sum() * STEP == pytest.approx(line.sum() * 0.5, rel=1e-3)
    assert (coarse * WAVELENGTHS).sum() / coarse.sum() == pytest.approx(546.1, abs=0.02)


@pytest.mark.parametrize(
    ("nm", "values", "says"),
    [
        ([400, 700], [1], "one value for each wavelength"),
        ([400], [1], "at least two"),
        ([400, 500, 500, 700], [1, 1, 1, 1], "500 nm is given twice"),
        ([400, 600, 500, 700], [1, 1, 1, 1], "must rise, but 500 nm"),
        ([400, 500, 700], [1, -0.1, 1], "at 500 nm is negative"),
        ([400, 500, 700], [1, np.nan, 1], "finite"),
        ([420, 500, 700], [1, 1, 1], "covers 420 to 700 nm"),
        ([400, 500, 690], [1, 1, 1], "must cover at least 400 to 700 nm"),
    ],
)
def test_on_grid_says_what_is_wrong(nm: list, values: list, says: str) -> None:
    with pytest.raises(ValueError, match=says) as caught:
        on_grid(np.array(nm, float), np.array(values, float), "lamp.csv")
    assert str(caught.value).startswith("lamp.csv: ")


def test_every_named_light_is_one_lux_and_described() -> None:
    for name in names():
        light = spectrum(name)
        assert light.power.shape == (81,)
        assert luminous(light.power) == pytest.approx(1, abs=1e-12)
        assert light.power.min() >= 0
        assert light.description
        assert not light.power.flags.writeable


def test_names_do_not_mind_capitals_and_hyphens() -> None:
    assert spectrum("led b1").power == pytest.approx(spectrum("LED-B1").power)
    assert spectrum(" CANDLE ").name == "candle"


@pytest.mark.parametrize(
    ("name", "kelvin"),
    [
        ("halogen", 3000),
        ("candle", 1900),
        ("fire", 1700),
        ("2000 K", 2000),
        ("25000 K", 25000),
        ("household bulb", 2700),
    ],
)
def test_glowing_lamps_have_the_temperature_they_state(name: str, kelvin: float) -> None:
    cct, duv = cct_and_duv(tristimulus(spectrum(name).power))
    assert cct == pytest.approx(kelvin, rel=1e-6)
    assert abs(duv) < 1e-9


def test_kelvin_is_daylight_for_a_sky_and_planckian_for_a_lamp() -> None:
    lamp, sky = spectrum("5000 K"), spectrum("5000 K", role="sky")
    assert cct_and_duv(tristimulus(lamp.power))[1] == pytest.approx(0, abs=1e-9)
    assert cct_and_duv(tristimulus(sky.power))[1] == pytest.approx(0.0032, abs=1e-4)
    assert spectrum("daylight 5000 K").power == pytest.approx(sky.power)
    assert spectrum("Planckian 5000 K", role="sky").power == pytest.approx(lamp.power)


@pytest.mark.parametrize(
    ("name", "role", "says"),
    [
        ("3000 K", "sky", "4000 K to 25000 K"),
        ("30000 K", "sky", "4000 K to 25000 K"),
        ("500 K", "lamp", "1000 K to 25000 K"),
        ("-5 K", "lamp", "1000 K to 25000 K"),
        ("LED-B9", "lamp", "LED-B"),
        ("candel", "lamp", "candle"),
        ("qqqqqq", "lamp", "N K"),
        ("", "lamp", "not a known light"),
        ("missing.csv", "lamp", "cannot be read"),
        ("folder/", "lamp", "name that ends in .csv"),
        ("A", "moon", "role"),
        ("像" * 200, "lamp", "not a known light"),
        ("x" * 3000, "lamp", "too long"),
    ],
)
def test_unknown_lights_are_explained(name: str, role: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        spectrum(name, role=role)


def write(folder: Path, text: str | bytes) -> Path:
    path = folder / "given.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


@pytest.mark.parametrize(
    "text",
    [
        "380,0.5\n580,1\n780,0.25\n",
        "wavelength,power\r\n380,0.5\r\n580,1\r\n780,0.25\r\n",
        "\ufeffnm;value\n380;0,5\n580;1,0\n780;0,25\n",
        "# by hand\n\n380\t0.5\n580\t1\n780\t0.25",
        "380 0.5\n580 1\n780 0.25\n",
        "380 0,5\n580 1\n780 0,25\n",
        "780,0.25\n580,1e0\n380,.5\n",
        '"Wavelength (nm)","Power"\n"380","0.5"\n"580","1"\n"780","0.25"\n',
        "instrument 7\nnm, W\n380, 0.5,\n580, 1,\n780, 0.25,\n",
        "Wellenlänge;Wert\n380;0,5\n580;1\n780;0,25\n".encode("latin-1"),
        "nm,W\n380,0.5\n580,1\n780,0.25\n".encode("utf-16"),
    ],
)
def test_files_in_many_dialects_read_the_same(text: str | bytes, tmp_path: Path) -> None:
    nm, values = read_spectrum_csv(write(tmp_path, text))
    assert nm.tolist() == [380, 580, 780]
    assert values.tolist() == [0.5, 1, 0.25]


@pytest.mark.parametrize("text", ["400,50\n700,20", "nm,R [%]\n400,0.5\n700,0.2\n", "400,50%\n700,20%\n"])
def test_per_cent_is_noticed(text: str, tmp_path: Path) -> None:
    values = read_spectrum_csv(write(tmp_path, text), "reflectance")[1]
    assert values[1] / values[0] == pytest.approx(0.4)
    assert values.max() == pytest.approx(0.005 if "[%]" in text else 0.5)


@pytest.mark.parametrize(
    ("text", "quantity", "says"),
    [
        ("", "power", "is empty"),
        ("# nothing\n\n", "power", "is empty"),
        ("nm,power\n", "power", "at least two"),
        ("380,1\n", "power", "at least two"),
        ("380,1,2\n780,1,2\n", "power", "line 1 has 3 columns"),
        ("380,0,5\n780,0,7\n", "power", "decimal comma"),
        ("380,1\n580,one\n780,1\n", "power", "line 2: the value is not a number"),
        ("380,1\n580,nan\n780,1\n", "power", "line 2: the value is not a number"),
        ("380,1\n580,1e999\n780,1\n", "power", "line 2: the value is not a number"),
        ("380,1\n580,\n780,1\n", "power", "line 2: the value is not a number"),
        ("380,1\n580,1\n580,1\n780,1", "power", "580 nm is given twice"),
        ("380,1\n780,1\n580,1\n", "power", "580 nm is out of it"),
        ("380,1\n580,-1\n780,1\n", "power", "negative"),
        ("380,0\n780,0\n", "power", "zero everywhere"),
        ("0.38,1\n0.78,1\n", "power", "must be in nm"),
        ("380,1.2\n780,1\n", "reflectance", "reaches 1.2"),
        ("380,120\n780,1\n", "reflectance", "reaches 120"),
        ("380,1.7\n780,0.4\n", "reflectance", "reaches 1.7; it must be 0 to 1, or 0 to 100 in per cent with a %"),
        ("nm,R\n380,4.9\n780,0.4\n", "reflectance", "in per cent with a % in the heading"),
        (b"\x89PNG\r\n\x1a\n\0\0", "power", "not a text file"),
        (b"1,1\n" * (LARGEST_FILE // 4 + 1), "power", "too long"),
        ("380,1\n780,1\n", "colour", "quantity"),
    ],
)
def test_bad_files_are_explained(text: str | bytes, quantity: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=says) as caught:
        read_spectrum_csv(write(tmp_path, text), quantity)
    assert "\n" not in str(caught.value)


def test_a_folder_is_no_spectrum(tmp_path: Path) -> None:
    (tmp_path / "folder.csv").mkdir()
    with pytest.raises(ValueError, match=r"cannot be read .*folder"):
        read_spectrum_csv(tmp_path / "folder.csv")


def test_only_names_of_spectra_are_opened_and_no_word_of_a_file_is_repeated(tmp_path: Path) -> None:
    (tmp_path / "passwords").write_text("1,secret\n")
    (tmp_path / "passwords.csv").write_text("1,secret\n")
    for name in ("passwords", "passwords.csv"):
        with pytest.raises(ValueError, match=r"CSV|line 1") as caught:
            read_spectrum_csv(tmp_path / name)
        assert "secret" not in str(caught.value)


@settings(max_examples=200, deadline=None)
@given(text=some.text(some.sampled_from("0123456789.,;\t\n -+eE%#nma\"'"), max_size=60))
def test_any_text_is_read_or_refused_in_one_line(text: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    path = write(tmp_path_factory.getbasetemp(), text)
    for quantity in ("power", "reflectance"):
        try:
            nm, values = read_spectrum_csv(path, quantity)
        except ValueError as error:
            assert "\n" not in str(error)
        else:
            assert np.all(np.diff(nm) > 0)
            assert np.all(values >= 0)
            assert np.isfinite(values).all()


@pytest.mark.parametrize("middle", [450.0, 588.9, 770.0])
@pytest.mark.parametrize("half", [0.01, 0.3, 1.0])
def test_a_line_keeps_its_power_and_place_however_few_points_it_is_given_in(middle: float, half: float) -> None:
    line = on_grid([380, middle - half, middle, middle + half, 780], [0, 0, 1, 0, 0])
    assert line.sum() * 5 == pytest.approx(half)  # the area of a triangle
    assert (line * WAVELENGTHS).sum() / line.sum() == pytest.approx(middle)
    assert (line > 0).sum() <= 3


def test_a_users_lamp_has_no_scale_of_its_own(tmp_path: Path) -> None:
    path = write(tmp_path, "380,1e300\n780,1e300\n")
    light = spectrum("given.csv", folder=tmp_path)
    assert luminous(light.power) == pytest.approx(1)
    assert light.power == pytest.approx(spectrum("E").power)
    assert spectrum(str(path)).power == pytest.approx(light.power)


def test_a_lamp_with_no_visible_power_is_refused(tmp_path: Path) -> None:
    write(tmp_path, "300,1\n310,0\n780,0\n")
    with pytest.raises(ValueError, match="no visible power"):
        spectrum("given.csv", folder=tmp_path)


def test_surfaces_are_reflectances_and_look_like_their_names() -> None:
    for surface in surfaces().values():
        assert surface.reflectance.shape == (81,)
        assert surface.reflectance.min() > 0
        assert surface.reflectance.max() < 1
        assert surface.description
    day = spectrum("D65").power
    luminance = {name: float(luminous(day * each.reflectance)) for name, each in surfaces().items()}
    assert luminance["snow"] > 0.9 > luminance["white wall"] > luminance["sand"] > 0.3
    assert luminance["black cloth"] < luminance["dark wall"] < luminance["asphalt"] < 0.15
    xyz = {name: tristimulus(day * each.reflectance) for name, each in surfaces().items()}
    assert xyz["red cloth"][0] > 1.7 * xyz["red cloth"][1]
    assert xyz["blue cloth"][2] > 2.5 * xyz["blue cloth"][1]
    assert xyz["grass"][0] < 0.95 * xyz["grass"][1]


def test_reflectance_takes_numbers_names_and_files(tmp_path: Path) -> None:
    assert reflectance(0.2) == pytest.approx(np.full(81, 0.2))
    assert reflectance("0.2") == pytest.approx(np.full(81, 0.2))
    assert reflectance(0) == pytest.approx(np.zeros(81))
    assert reflectance("Dry-Grass") == pytest.approx(surfaces()["dry grass"].reflectance)
    write(tmp_path, "400,10\n700,50\n")
    assert reflectance("given.csv", tmp_path)[[0, -1]] == pytest.approx([0.1, 0.5])


@pytest.mark.parametrize("surface", [-0.1, 1.5, np.nan, True, None, [0.2], "gras", "", "nowhere.csv"])
def test_bad_surfaces_are_explained(surface: object) -> None:
    with pytest.raises(ValueError, match=r"grass|0 to 1|cannot be read") as caught:
        reflectance(surface, what="surround.ground")
    assert "\n" not in str(caught.value)


def test_the_common_path_does_not_import_heavy_libraries() -> None:
    program = (
        "import sys; from sitterlight.illuminants import sky, surfaces; sky.make_sky('open shade');"
        "print([name for name in ('colour', 'pvlib', 'pandas', 'PyQt6') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
