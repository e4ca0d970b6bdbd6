"""Odd machines: nothing to write to, other languages and clocks, one core, missing libraries, letters unknown.

Each runs the program in a process of its own, as such a machine would.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import numpy as np
import pytest
from odd_machines import (
    NO_PACKAGE,
    ON_LINUX,
    SITTING,
    SPECTRUM,
    assert_alike,
    no_opengl,
    odd_folder,
    plain_rights,
    planes,
    started,
    studied,
    written_into,
)

from sitterlight.meshes.library import load_head
from sitterlight.shading import embree, rays

pytestmark = pytest.mark.skipif(os.name == "nt", reason="limits and permissions as Unix has them")


folder = pytest.fixture(odd_folder)


@pytest.fixture(scope="module")
def usual(tmp_path_factory) -> list:
    """What the study says on this machine as it is."""
    return studied(written_into(tmp_path_factory.mktemp("usual")), "out")


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
