"""Odd machines: nothing to write to, other languages and clocks, one core, little memory, missing libraries, no screen.

Each runs the program in a process of its own, as such a machine would.
"""

from __future__ import annotations

import ctypes
import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pytest

from sitterlight.meshes.library import load_head
from sitterlight.shading import embree, rays

pytestmark = pytest.mark.skipif(os.name == "nt", reason="limits and permissions as Unix has them")
ON_LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="as Linux has them")

SITTING = """format = "sitterlight/1"
title = "Ελένη 肖像"

[head]
mesh = "cube"

[[light]]
name = "day"
kind = "daylight"
latitude = 6.5
longitude = 3.4
when = 2026-11-21T16:30:00+01:00

[[light]]
name = "lampe à huile"
kind = "lamp"
spectrum = "лампа.csv"
"""
SPECTRUM = "nm;power\n" + "".join(f"{nm};{nm / 500:.2f}\n".replace(".", ",") for nm in range(380, 781, 10))


NO_PACKAGE = """
import sys
class Refuser:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] == "PACKAGE":
            raise ImportError("no PACKAGE here")
sys.meta_path.insert(0, Refuser())
"""


@pytest.fixture
def folder(tmp_path) -> Path:
    """A folder with spaces and other scripts, and a sitting in it."""
    made = tmp_path / "Ölbild Ελένη 肖像 'x'"
    made.mkdir()
    (made / "mein Bild.toml").write_text(SITTING, encoding="utf-8")
    (made / "лампа.csv").write_text(SPECTRUM, encoding="utf-8")
    return made


def no_opengl(folder: Path) -> str:
    """A folder of libraries, to be looked in first, whose OpenGL is of no use."""
    made = folder / "broken"
    made.mkdir(exist_ok=True)
    for name in ("libGL.so.1", "libEGL.so.1", "libOpenGL.so.0", "libGLX.so.0"):
        (made / name).write_bytes(b"")
    return str(made)


def plain_rights() -> None:
    """Should this be the system's own user: permissions count for it from now on."""
    if os.getuid() == 0 and sys.platform.startswith("linux"):
        for right in (1, 2):
            ctypes.CDLL(None).prctl(24, right, 0, 0, 0)


def started(*words: str, before=None, program: str | None = None, prefix=(), without=(), **variables: str):
    """The program in a process of its own; `program` runs first, in the same process."""
    environment = {key: value for key, value in {**os.environ, **variables}.items() if key not in without}
    start = f"{program or ''}\nimport sys; from sitterlight.viewer.command import main; sys.exit(main(sys.argv[1:]))"
    return subprocess.run(
        [*prefix, sys.executable, "-c", start, *words],
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="surrogateescape",
        env=environment,
        preexec_fn=before,
    )


def planes(done: subprocess.CompletedProcess, out: Path) -> list:
    """The planes of a study that went well."""
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return json.loads((out / "targets.json").read_text(encoding="utf-8"))["planes"]


def studied(folder: Path, name: str, **given) -> list:
    done = started("study", str(folder / "mein Bild.toml"), "--out", str(folder / name), **given)
    return planes(done, folder / name)


def assert_alike(found: list, usual: list) -> None:
    """The same planes and colours, but for the order in which cores add."""
    assert [plane["name"] for plane in found] == [plane["name"] for plane in usual]
    for one, other in zip(found, usual, strict=True):
        assert one["Lab"] == pytest.approx(other["Lab"], abs=1e-3)
        assert one["munsell"] == other["munsell"]
        assert one["targets"][0]["recipe"]["parts"] == other["targets"][0]["recipe"]["parts"]


@pytest.fixture(scope="module")
def usual(tmp_path_factory) -> list:
    """What the study says on this machine as it is."""
    made = tmp_path_factory.mktemp("usual")
    (made / "mein Bild.toml").write_text(SITTING, encoding="utf-8")
    (made / "лампа.csv").write_text(SPECTRUM, encoding="utf-8")
    return studied(made, "out")


@pytest.mark.parametrize("locale", ["C", "POSIX", "xx_XX.UTF-8", "de_DE.ISO-8859-1", "tr_TR.UTF-8"])
def test_any_locale(folder, locale):
    done = started("check", str(folder / "mein Bild.toml"), LC_ALL=locale, LANG=locale)
    assert done.returncode == 0, done.stderr
    assert "a sitting" in done.stdout


@ON_LINUX
def test_a_system_that_knows_only_ascii_even_in_names(folder, usual):
    """Python may be told to keep to it: names are then handed over byte by byte."""
    narrow = {"LC_ALL": "C", "LANG": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    done = started("check", str(folder / "mein Bild.toml"), **narrow)
    assert done.returncode == 2 and "set LC_ALL to C.UTF-8" in done.stdout  # it names лампа.csv
    assert "\\xd6lbild \\u0395\\u03bb\\u03ad\\u03bd\\u03b7" in done.stderr and "codec" not in done.stderr
    plain = SITTING.replace("лампа.csv", "lamp.csv")
    (folder / "ü.toml").write_text(plain, encoding="utf-8")
    (folder / "lamp.csv").write_text(SPECTRUM, encoding="utf-8")
    done = started("study", str(folder / "ü.toml"), "--out", str(folder / "aus ü"), **narrow)
    assert_alike(planes(done, folder / "aus ü"), usual)
    assert "\\xfc: sitting.toml" in done.stdout
    (folder / "ü.toml").write_text(plain.replace('"cube"', '"ü.obj"'), encoding="utf-8")
    done = started("check", str(folder / "ü.toml"), **narrow)
    assert done.returncode == 2 and "set LC_ALL to C.UTF-8" in done.stdout and "codec" not in done.stdout


def test_a_mesh_named_from_here_is_named_once(monkeypatch, tmp_path):
    from sitterlight.viewer.checking import check_file

    (tmp_path / "none.obj").write_text("v 0 0 0\n")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(ValueError, match=r"^this is not a whole OBJ mesh"):
        check_file(Path("none.obj"))


@pytest.mark.parametrize("name", ["~nobody-known/x.obj", "a\0b.obj"])
def test_a_mesh_whose_name_leads_nowhere(name):
    with pytest.raises(ValueError, match=r"there is no such mesh file\.$"):
        load_head(name)


@ON_LINUX
@pytest.mark.parametrize(("locale", "zone"), [("xx_XX.UTF-8", "Pacific/Kiritimati"), ("POSIX", "Nowhere/Land")])
def test_much_that_is_odd_at_once(folder, usual, locale, zone):
    """A strange locale and clock, one core, no screen, no OpenGL, and nothing installed that the window would need."""
    one = min(os.sched_getaffinity(0))
    found = studied(
        folder,
        "out",
        before=lambda: os.sched_setaffinity(0, {one}),
        program="".join(NO_PACKAGE.replace("PACKAGE", package) for package in ("PyQt6", "pyvista", "pyvistaqt", "vtk")),
        without=["DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"],
        LC_ALL=locale,
        LANG=locale,
        TZ=zone,
        LD_LIBRARY_PATH=no_opengl(folder),
        NUMBA_NUM_THREADS="1",
    )
    assert_alike(found, usual)


@ON_LINUX
@pytest.mark.parametrize("locale", ["C", "nonsense"])
def test_a_path_that_is_no_unicode(tmp_path, usual, locale):
    """As an old disk or archive brings it: names in Latin-1."""
    folder = Path(os.fsdecode(os.fsencode(tmp_path) + b"/\xe9t\xe9"))
    try:
        folder.mkdir()
    except OSError:
        pytest.skip("this disk knows only Unicode")
    (folder / "mein Bild.toml").write_text(SITTING, encoding="utf-8")
    (folder / "лампа.csv").write_text(SPECTRUM, encoding="utf-8")
    assert_alike(studied(folder, "out", LC_ALL=locale, LANG=locale), usual)


def test_without_the_ray_library(monkeypatch):
    """Where embreex has no wheel a search tree of our own answers alike."""
    caster, head = rays.RayCaster, load_head("cube")
    corner = head.vertices.min(axis=0) - 40
    toward = head.vertices[::400] - corner
    usual = caster(head.vertices, head.faces).first_hit(np.broadcast_to(corner, toward.shape), toward)
    for name in ("embreex", "embreex.rtcore_scene", "embreex.mesh_construction"):
        monkeypatch.setitem(sys.modules, name, None)
    monkeypatch.setattr(embree, "library", embree.library.__wrapped__)
    assert embree.library() is None
    found = caster(head.vertices, head.faces).first_hit(np.broadcast_to(corner, toward.shape), toward)
    inside = np.minimum(np.minimum(usual.u, usual.v), 1 - usual.u - usual.v) > 1e-3
    assert (found.face >= 0).sum() > 10
    assert np.array_equal(found.face[inside], usual.face[inside])


def test_a_terminal_that_knows_only_ascii(folder):
    done = started("check", str(folder / "mein Bild.toml"), PYTHONIOENCODING="ascii")
    assert done.returncode == 0, done.stderr
    assert "\\u" in done.stdout
    for what in ("lights", "paints", "sittings"):
        assert started("list", what, PYTHONIOENCODING="ascii").returncode == 0


def test_thin_spaces_are_plain_ones_on_a_terminal():
    """As between the thousands of faces of a mesh, and before K."""
    from sitterlight.viewer.terminal import printable

    assert (
        printable("5\N{THIN SPACE}230\N{NARROW NO-BREAK SPACE}656 at 6500\N{NO-BREAK SPACE}K") == "5 230 656 at 6500 K"
    )
    assert printable("a\nb\x1b[2J") == "a\N{REPLACEMENT CHARACTER}b\N{REPLACEMENT CHARACTER}[2J"


@ON_LINUX
def test_four_gigabytes(folder, usual):
    """Of address space, which is more than of memory; for the bust, with nothing remembered, see test_wheel."""
    import resource

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (4 * 2**30, 4 * 2**30))

    assert_alike(studied(folder, "out", before=limit), usual)


def test_a_home_that_cannot_be_written(folder, usual, tmp_path):
    """No cache, no log and no settings: it takes longer, and is said nowhere, because nothing is lost."""
    home = tmp_path / "home"
    home.mkdir(mode=0o555)
    code = tmp_path / "numba"
    code.mkdir(mode=0o555)
    given = {"HOME": str(home), "NUMBA_CACHE_DIR": str(code)}
    without = [name for name in os.environ if name.startswith(("XDG_", "SITTERLIGHT_"))]
    try:
        assert_alike(studied(folder, "out", before=plain_rights, without=without, **given), usual)
        assert list(home.iterdir()) == []
    finally:
        home.chmod(0o755)
        code.chmod(0o755)


def test_a_missing_library_is_one_sentence_that_names_it(folder):
    refuser = NO_PACKAGE.replace("PACKAGE", "trimesh")
    (folder / "plate.obj").write_text("v 0 0 0\nv 90 0 0\nv 0 90 0\nf 1 2 3\n")
    (folder / "mein Bild.toml").write_text(SITTING.replace('"cube"', '"plate.obj"'), encoding="utf-8")
    words = ("study", str(folder / "mein Bild.toml"), "--out", str(folder / "out"))
    done = started(*words, program=refuser, SITTERLIGHT_CACHE=str(folder / "cache"))
    if done.returncode == 0:
        return
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1 and done.stderr.startswith("sitterlight: error: ")
    assert not (folder / "out").exists()


@ON_LINUX
def test_a_window_without_a_screen_says_what_to_do(folder):
    done = started(str(folder / "mein Bild.toml"), without=["DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"])
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "no screen" in done.stderr and "sitterlight study --out DIR" in done.stderr


@ON_LINUX
def test_a_window_without_opengl_libraries_names_what_to_install(folder):
    without = ["WAYLAND_DISPLAY", "QT_QPA_PLATFORM"]
    done = started(str(folder / "mein Bild.toml"), without=without, DISPLAY=":0", LD_LIBRARY_PATH=no_opengl(folder))
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "apt install" in done.stderr or "no screen answers" in done.stderr
    assert "sitterlight study --out DIR" in done.stderr


@ON_LINUX
@pytest.mark.parametrize(
    ("variables", "words"),
    [
        ({"WAYLAND_DISPLAY": "wayland-99"}, "no screen answers at WAYLAND_DISPLAY=wayland-99"),
        (
            {"WAYLAND_DISPLAY": "w-99", "DISPLAY": ":6543"},
            "no screen answers at DISPLAY=:6543 and WAYLAND_DISPLAY=w-99",
        ),
        ({"DISPLAY": "nowhere.invalid:0"}, "no screen answers at DISPLAY=nowhere.invalid:0"),
        ({"WAYLAND_DISPLAY": "wayland-99", "QT_QPA_PLATFORM": "xcb"}, "there is no screen (DISPLAY is not set)"),
        ({"DISPLAY": ":6543", "QT_QPA_PLATFORM": "wayland"}, "there is no screen (WAYLAND_DISPLAY is not set)"),
        ({"DISPLAY": ":6543", "QT_QPA_PLATFORM": "eglfs"}, 'QT_QPA_PLATFORM is "eglfs", on which no window opens'),
    ],
)
def test_a_screen_that_is_named_and_not_there(monkeypatch, variables, words):
    """Qt would end the program; so would a desktop whose variables outlived it."""
    from sitterlight.viewer.screen import why_no_window

    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM", "WAYLAND_SOCKET", "XDG_RUNTIME_DIR"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert why_no_window().startswith(words)


@ON_LINUX
def test_a_wayland_screen_that_answers(monkeypatch, tmp_path):
    from sitterlight.viewer import screen

    for name in ("DISPLAY", "QT_QPA_PLATFORM", "WAYLAND_SOCKET"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("WAYLAND_DISPLAY", "wayland-0")
    monkeypatch.setattr(screen, "QT_NEEDS", {})
    with tempfile.TemporaryDirectory(dir="/tmp") as short, socket.socket(socket.AF_UNIX) as server:
        monkeypatch.setenv("XDG_RUNTIME_DIR", short)
        server.bind(f"{short}/wayland-0")
        server.listen()
        assert screen.why_no_window() is None


@ON_LINUX
@pytest.mark.skipif(shutil.which("Xvfb") is None, reason="needs Xvfb, a screen without OpenGL")
def test_a_screen_without_GLX_opens_all_the_same_or_says_what_to_do(folder, tmp_path):
    reading, writing = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writing), "-screen", "0", "800x600x24", "-nolisten", "tcp", "-extension", "GLX"],
        pass_fds=[writing],
        stderr=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
    )
    os.close(writing)
    try:
        with os.fdopen(reading) as answer:
            display = f":{answer.readline().strip()}"
        environment = {**os.environ, "DISPLAY": display, "QT_QPA_PLATFORM": "xcb"}
        environment.pop("WAYLAND_DISPLAY", None)
        environment |= {"SITTERLIGHT_SETTINGS": str(tmp_path / "settings"), "SITTERLIGHT_CACHE": str(tmp_path / "kept")}
        window = subprocess.Popen(
            [sys.executable, "-m", "sitterlight.viewer", str(folder / "mein Bild.toml")],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            env=environment,
        )
        for _ in range(600):
            is_open = any((tmp_path / "kept").glob("picture-*"))  # it drew its first picture: Mesa draws by EGL
            if is_open or window.poll() is not None:
                break
            time.sleep(0.1)
        if window.poll() is None:
            window.terminate()
            _, error = window.communicate()
            assert is_open and "Traceback" not in error
            return
        _, error = window.communicate()
    finally:
        server.terminate()
        server.wait()
    assert window.returncode == 2, error[-500:]
    assert error.count("sitterlight: error: ") == 1
    assert "sitterlight study --out DIR" in error


@ON_LINUX
@pytest.mark.parametrize(
    ("own", "held", "gigabytes"),
    [
        ("4:memory:/user/ours\n1:cpu:/\n", {"memory/user/ours/memory.limit_in_bytes": 2e9}, 2.0),
        ("4:cpu,memory:/user/ours\n", {"memory/user/memory.limit_in_bytes": 1.5e9}, 1.5),
        ("0::/user.slice/ours\n", {"user.slice/ours/memory.max": "max", "user.slice/memory.max": 3e9}, 3.0),
        ("0::/user.slice/a:b\n", {"user.slice/a:b/memory.high": 1e9}, 1.0),
        ("4:memory:/docker/0123\n", {"memory/memory.limit_in_bytes": 2e9}, 2.0),
        ("0::/../outside\n", {"memory.max": 2e9}, 2.0),
        ("4:memory:/ours\n0::/\n", {"memory/ours/memory.limit_in_bytes": 2**63 - 4096, "memory.max": "max"}, None),
        ("nonsense\n\n7:\n0::/a\n", {"a/memory.max": "much"}, None),
    ],
)
def test_memory_that_a_control_group_leaves(monkeypatch, tmp_path, own, held, gigabytes):
    """Both versions (cgroups(7) of Linux), the group's own bound and those above it; in a container the name of the
    group may be the one outside."""
    from sitterlight.meshes import machine

    (tmp_path / "own").write_text(own)
    for name, value in held.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(f"{value}\n" if isinstance(value, str) else f"{value:.0f}\n")
    monkeypatch.setattr(machine, "OWN_GROUPS", tmp_path / "own")
    monkeypatch.setattr(machine, "HELD_BY_GROUPS", tmp_path)
    monkeypatch.setattr(os, "sysconf", lambda _name: 1e5)  # a machine of 10 GB
    assert machine.machine_memory() == (gigabytes or 10.0) * 1e9


@ON_LINUX
def test_no_word_of_control_groups(monkeypatch, tmp_path):
    from sitterlight.meshes import machine

    monkeypatch.setattr(machine, "OWN_GROUPS", tmp_path / "none")
    assert 1e8 < machine.machine_memory() < 1e15
    assert 0 < machine.memory_left() <= machine.machine_memory()


@ON_LINUX
def test_memory_that_is_left(monkeypatch, tmp_path):
    """What the group may hold less what it holds, copies of files not counted, or what the machine has left."""
    from sitterlight.meshes import machine

    for name, text in (
        ("own", "0::/a/ours\n"),
        ("a/ours/memory.max", "3000000000\n"),
        ("a/ours/memory.current", "1500000000\n"),
        ("a/ours/memory.stat", "anon 1\ninactive_file 500000000\n"),
        ("a/memory.max", "max\n"),
        ("a/memory.current", "9000000000\n"),
        ("meminfo", "MemTotal: 9 kB\nMemAvailable:   5000000 kB\n"),
    ):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    monkeypatch.setattr(machine, "OWN_GROUPS", tmp_path / "own")
    monkeypatch.setattr(machine, "HELD_BY_GROUPS", tmp_path)
    monkeypatch.setattr(machine, "MACHINE", tmp_path / "meminfo")
    assert machine.memory_left() == 2e9
    (tmp_path / "meminfo").write_text("MemAvailable: 1000 kB\n")
    assert machine.memory_left() == 1_024_000
    (tmp_path / "a/ours/memory.max").write_text("1000000\n")
    assert machine.memory_left() == 0


def test_a_mesh_for_which_there_is_no_memory_is_refused_before_it_is_read(monkeypatch, tmp_path):
    from sitterlight.meshes import mesh_file

    cube, path = load_head("cube"), tmp_path / "scan.obj"
    lines = [f"v {x} {y} {z}" for x, y, z in cube.vertices] + [f"f {a} {b} {c}" for a, b, c in cube.faces + 1]
    path.write_text("\n".join(lines) + "\n")
    monkeypatch.setattr(mesh_file, "memory_left", lambda: 2e8)
    assert len(mesh_file.read_mesh(path).faces) == len(cube.faces)  # too small to be asked about
    monkeypatch.setattr(mesh_file, "LITTLE_FILE", 1000)
    with pytest.raises(ValueError, match=r"scan\.obj: reading .* takes about 0\.4 GB of memory, and 0\.2 GB are left"):
        mesh_file.read_mesh(path)
