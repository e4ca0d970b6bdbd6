"""The command line: what it answers, and that everything wrong is one line, exit code 2 and nothing written."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sitting_file import write_sitting
from sitterlight.shading.sittings import built_in, built_in_names
from sitterlight.viewer import command, screen
from sitterlight.viewer.command import find_sitting, main

SPECTRUM = "nm,power\n" + "".join(f"{nm},{nm / 500}\n" for nm in range(380, 781, 10))


def refused(capsys: pytest.CaptureFixture, *words: str) -> str:
    """The sentence of a refused request."""
    assert main(words) == 2
    error = capsys.readouterr().err
    assert error.startswith("sitterlight: error: ")
    assert error.count("\n") == 1
    assert error.endswith("\n")
    assert "Traceback" not in error
    return error


DAY = ["afternoon-terrace", "--date", "2026-10-10", "--out", "x"]


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (["study"], "--out"),
        (["study", "--out"], "--out"),
        (["study", "--out", ""], "--out is empty"),
        (["study", "gardenovercast", "--out", "x"], 'did you mean "garden-overcast"'),
        (["study", "absent.toml", "--out", "x"], "absent.toml"),
        (["list"], "what"),
        (["list", "moons"], "moons"),
        (["check"], "FILE"),
        (["stdy"], 'did you mean "study"'),
        (["--nonsense"], "--nonsense"),
        (["day", "garden-overcast", "--date", "yesterday", "--out", "x"], "--date"),
        (["day", "garden-overcast", "--out", "x"], "--date"),
        (["day", *DAY, "--step", "7"], "--step is '7'; allowed are 10, 15, 20, 30, 60 minutes"),
        (["day", *DAY, "--at", "noon"], "--at is 'noon'; allowed is an hour such as 15:30"),
        (["day", *DAY, "--planes", "antlers"], "No plane of this head is named antlers; there are "),
        (["day", "garden-overcast", "--date", "2026-11-21", "--out", "x"], "has no daylight that is on"),
        (["mix", "5YR 4/4"], "--palette"),
        (["mix", "5YR 4/4", "--palette", ","], "--palette names no paint"),
    ],
)
def test_bad_requests_are_one_line(capsys, tmp_path, monkeypatch, words, part):
    monkeypatch.chdir(tmp_path)
    assert part in refused(capsys, *words)
    assert list(tmp_path.iterdir()) == []


def test_a_bad_sitting_writes_nothing(capsys, tmp_path):
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('format = "sitterlight/1"\n[[light]]\nspectrum = "6500 Q"\n')
    out = tmp_path / "out"
    assert "6500 Q" in refused(capsys, "study", str(wrong), "--out", str(out))
    assert list(tmp_path.iterdir()) == [wrong]


def test_a_file_in_place_of_the_folder_is_refused_before_any_work(capsys, tmp_path):
    (tmp_path / "out").write_text("mine")
    assert "is a file" in refused(capsys, "study", "--out", str(tmp_path / "out"))
    assert "does not allow it" in refused(capsys, "study", "--out", str(tmp_path / "out" / "deeper"))
    assert (tmp_path / "out").read_text() == "mine"


def test_faults_of_our_own_are_one_line_too(capsys, monkeypatch):
    def fault(given):
        raise ZeroDivisionError("division\nby zero")

    monkeypatch.setitem(command.RUN, "list", fault)
    assert "ZeroDivisionError: division by zero" in refused(capsys, "list", "lights")
    monkeypatch.setenv("SITTERLIGHT_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        main(["list", "lights"])


def test_version_and_help_need_no_command(capsys):
    for word in ("--version", "--help"):
        with pytest.raises(SystemExit) as ended:
            main([word])
        assert ended.value.code == 0
        assert "sitterlight" in capsys.readouterr().out


def test_a_sitting_is_a_file_or_a_built_in_name(tmp_path):
    assert find_sitting(None) == built_in()
    assert find_sitting("by-candle") == built_in("by-candle")
    write_sitting(Sitting(title="mine"), tmp_path / "mine.toml")
    assert find_sitting(str(tmp_path / "mine.toml")).title == "mine"


@pytest.mark.parametrize("what", command.LISTS)
def test_lists_are_tables_and_json(capsys, what):
    assert main(["list", what]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert main(["list", what, "--json"]) == 0
    entries = json.loads(capsys.readouterr().out)
    assert entries
    assert len({entry["name"] for entry in entries}) == len(entries)
    for entry, line in zip(entries, lines[1:], strict=False):
        assert line.startswith(entry["name"])


def test_lights_in_json_are_what_the_design_says(capsys):
    main(["list", "lights", "--json"])
    lights = {light["name"]: light for light in json.loads(capsys.readouterr().out)}
    assert lights["D65"]["xy"] == pytest.approx([0.31272, 0.32903], abs=2e-4)  # CIE 15:2018, table T.3
    assert lights["A"]["cct"] == pytest.approx(2856, abs=2)  # CIE 15:2018
    assert abs(lights["A"]["duv"]) < 2e-4
    assert lights["A"]["spectrum"]["wavelength"] == list(range(380, 781, 5))
    assert len(lights["A"]["spectrum"]["value"]) == 81
    far_from_white = [light for light in lights.values() if abs(light["duv"]) > 0.05]
    assert all(light["cct"] is None for light in far_from_white)


def test_skins_in_json_are_what_the_design_says(capsys):
    main(["list", "skins", "--json"])
    skins = json.loads(capsys.readouterr().out)
    assert [skin["ladder"] for skin in skins] == list(range(1, 10))
    lightness = [skin["Lab"][0] for skin in skins]
    assert lightness == sorted(lightness)
    for skin in skins:
        assert skin["albedo"]["wavelength"] == list(range(380, 781, 10))
        assert len(skin["albedo"]["value"]) == 41
        assert all(0 < value < 1 for value in skin["albedo"]["value"])
        assert {"melanin", "blood", "oxygenation", "carotene", "scattering"} <= set(skin["amounts"])
        assert -90 <= skin["ITA"] <= 90


def test_check_says_what_each_file_is(capsys, tmp_path):
    write_sitting(built_in(), tmp_path / "garden.toml")
    (tmp_path / "light.csv").write_text(SPECTRUM)
    (tmp_path / "plate.obj").write_text("v 0 0 0\nv 90 0 0\nv 0 90 0\nv 90 90 0\nf 1 2 3\nf 2 4 3\n")
    files = [str(tmp_path / name) for name in ("garden.toml", "light.csv", "plate.obj")]
    assert main(["check", *files]) == 0
    answer = capsys.readouterr()
    assert answer.err == ""
    lines = answer.out.splitlines()
    assert [line.split(": ")[0] for line in lines] == files
    for line, part in zip(lines, ["a sitting", "a spectrum", "a mesh"], strict=True):
        assert part in line


def test_check_goes_on_after_a_wrong_file_and_ends_with_2(capsys, tmp_path):
    (tmp_path / "light.csv").write_text(SPECTRUM)
    (tmp_path / "bad.csv").write_text("380,1\n380,2\n780,1\n")
    (tmp_path / "bad.toml").write_text('format = "sitterlight/1"\n[surround]\nground = "gras"\n')
    (tmp_path / "picture.gif").write_bytes(b"GIF89a")
    names = ["bad.csv", "bad.toml", "picture.gif", "absent.toml", "light.csv", "."]
    assert main(["check", *(str(tmp_path / name) for name in names)]) == 2
    answer = capsys.readouterr()
    lines = answer.out.splitlines()
    assert len(lines) == len(names)
    for line, part in zip(lines, ["380", "gras", ".gif", "no such file", "a spectrum", "folder"], strict=True):
        assert part in line
    assert answer.err.startswith("sitterlight: error: 5 of 6 files")
    assert answer.err.count("\n") == 1


def test_check_of_one_wrong_file_gives_its_sentence(capsys, tmp_path):
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('format = "sitterlight/1"\n[eye]\nobserver = 3\n')
    sentence = refused(capsys, "check", str(wrong))
    assert sentence.startswith(f"sitterlight: error: {wrong}: eye.observer is 3")


@pytest.mark.parametrize("name", built_in_names())
def test_check_accepts_what_is_written(capsys, tmp_path, name):
    write_sitting(built_in(name), tmp_path / "copy.toml")
    assert main(["check", str(tmp_path / "copy.toml")]) == 0


def started(*words: str, **variables: str) -> subprocess.CompletedProcess:
    """The program in a process of its own; a variable set to nothing is taken away."""
    environment = {key: value for key, value in {**os.environ, **variables}.items() if value}
    return subprocess.run(
        [sys.executable, "-m", "sitterlight.viewer", *words], capture_output=True, text=True, env=environment
    )


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="other systems always have a screen")
def test_without_a_screen_the_window_is_refused_and_study_named():
    for words in ((), ("by-candle",)):
        done = started(*words, DISPLAY="", WAYLAND_DISPLAY="", QT_QPA_PLATFORM="")
        assert done.returncode == 2
        assert done.stderr.count("\n") == 1
        assert "no screen" in done.stderr
        assert "sitterlight study --out DIR" in done.stderr


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="asks an X server")
def test_a_screen_that_does_not_answer_is_told_apart(monkeypatch):
    monkeypatch.delenv("QT_QPA_PLATFORM", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.setattr(screen, "find_library", lambda name: {"xcb": "libxcb.so.1"}.get(name, name))
    monkeypatch.setenv("DISPLAY", ":97531")
    assert "no screen answers at DISPLAY=:97531" in screen.why_no_window()
    monkeypatch.setattr(screen, "find_library", lambda name: None)
    assert "apt install libxcb-cursor0" in screen.why_no_window()


def test_quick_commands_import_nothing_heavy():
    heavy = ("PyQt6", "pyvista", "vtk", "trimesh", "numba", "colour", "mitsuba", "matplotlib", "pandas", "reportlab")
    program = (
        "import sys; from sitterlight.viewer.command import main; code = main(sys.argv[1:]); "
        f"print([name for name in {heavy} if name in sys.modules], file=sys.stderr); sys.exit(code)"
    )
    for what in ("skins", "sittings", "lights"):
        done = subprocess.run([sys.executable, "-c", program, "list", what], capture_output=True, text=True, check=True)
        assert done.stderr.strip() == "[]", what


def test_reading_half_of_a_list_is_no_error(tmp_path):
    command_line = f'"{sys.executable}" -m sitterlight.viewer list lights --json | head -c 10'
    done = subprocess.run(["sh", "-c", command_line], capture_output=True, text=True)
    assert done.stderr == ""


def test_paths_with_spaces_and_other_scripts(capsys, tmp_path):
    folder = tmp_path / "Ölbild Ελένη 肖像"
    folder.mkdir()
    write_sitting(built_in(), folder / "mein Bild.toml")
    assert main(["check", str(folder / "mein Bild.toml")]) == 0
    assert Path(folder).name in capsys.readouterr().out


def test_mix_answers_in_words_and_json(capsys):
    palette = "PW6, PY43, PR101 transparent, PB29"
    assert main(["mix", "5YR 4/4", "--palette", palette]) == 0
    assert "PR101" in capsys.readouterr().out
    assert main(["mix", "Lab 42 12 20", "--palette", palette, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["delta_e"] < 3
    assert all(part["parts"] > 0 for part in answer["parts"])


def test_mix_refuses_what_it_cannot_read(capsys):
    assert "beige" in refused(capsys, "mix", "beige", "--palette", "PW6")
    assert "PR101 transparent" in refused(capsys, "mix", "#8a5a3c", "--palette", "PW6,PR101")


def test_check_knows_a_paint_of_ones_own(capsys, tmp_path):
    colour = "{Lab = [36, 26, 24]}"
    head = f'format = "sitterlight-paint/1"\nname = "red earth"\n[[sample]]\npaint = 1\nwhite = 0\ncolour = {colour}\n'
    (tmp_path / "red.toml").write_text(head)
    (tmp_path / "bad.toml").write_text(head.replace("paint = 1", "paint = -1"))
    assert main(["check", str(tmp_path / "red.toml")]) == 0
    assert "red earth" in capsys.readouterr().out
    assert "paint" in refused(capsys, "check", str(tmp_path / "bad.toml"))
