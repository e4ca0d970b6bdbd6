"""A picture kept from another time is the picture that lighting gives, and of nothing but what it is asked for."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import fields, is_dataclass, replace
from datetime import datetime

import numpy as np
import pytest
from window_driver import BALL

from sitterlight.shading import cache
from sitterlight.shading.frame import Gaze
from sitterlight.shading.legend_words import legend
from sitterlight.shading.sitting import DaylightLight, SkinColour, SkinSetting, WindowLight
from sitterlight.viewer import kept_picture, picture_key
from sitterlight.viewer.camera import framing
from sitterlight.viewer.kept_picture import keep_picture, recall_picture

SIZE = (500, 600)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("SITTERLIGHT_CACHE", str(tmp_path / "pictures"))
    return tmp_path / "pictures"


@pytest.fixture(scope="module")
def lit():
    from sitterlight.viewer import engine

    return engine.light(BALL)


def keep(lit):
    from sitterlight.viewer.appearance import appearance

    keep_picture(lit, appearance(lit, "as seen"))


def test_it_is_the_picture_that_lighting_gives(folder, lit):
    from sitterlight.viewer import engine
    from sitterlight.viewer.appearance import as_seen

    assert recall_picture(BALL) is None
    keep(lit)
    kept = recall_picture(BALL)
    engine._known.clear()
    anew = engine.light(BALL)
    assert anew is not lit
    assert np.array_equal(kept.looks.of_vertex, as_seen(anew, 5, True).of_vertex)
    assert kept.looks.legend == as_seen(anew, 5, True).legend
    assert np.array_equal(kept.rotation, anew.scene.rotation) and kept.gaze == anew.gaze
    assert np.array_equal(kept.head.display.vertices, anew.head.display.vertices.astype(np.float32))
    assert np.array_equal(kept.head.display.faces, anew.head.display.faces) and kept.head.key == anew.head.key


def test_setting_up_leaves_the_picture_that_the_window_opens_with(folder):
    from sitterlight.viewer.first_light import first_light

    first_light(BALL)
    assert recall_picture(BALL) is not None


def test_it_is_framed_alike(folder):
    from sitterlight.meshes.library import load_head
    from sitterlight.viewer.kept_picture import KeptHead, KeptMesh

    head, gaze, turn = load_head(), Gaze(20.0, 5.0, 1500.0), np.eye(3)
    weights = np.zeros_like(head.region_weights)
    for name in kept_picture._FRAMING:
        column = kept_picture.REGIONS.index(name)
        weights[:, column] = head.region_weights[:, column]
    kept = KeptHead(
        head.key,
        head.shape_key,
        head.vertices,
        weights,
        KeptMesh(head.display.vertices, head.display.faces),
        head.faces,
    )
    assert framing(kept, gaze, turn, SIZE) == framing(head, gaze, turn, SIZE)


def test_every_key_of_the_sitting_decides():
    told = replace(BALL, lights=(*BALL.lights, WindowLight(), DaylightLight()))
    keys = [picture_key.picture_key(told)]
    changed = [one for one in _changed(told) if one != told]
    keys += [picture_key.picture_key(one) for one in changed]
    assert len(changed) > 70 and None not in keys and len(set(keys)) == len(keys)
    seen = {
        picture_key.picture_key(told, *rest) for rest in ((Gaze(1, 2, 3),), (None, "planes"), (None, "as seen", False))
    }
    assert len(seen | {keys[0]}) == 4


def _changed(value):
    """The value with each of its fields, and of theirs, changed in turn."""
    for field in fields(value):
        old = getattr(value, field.name)
        if field.name == "folder":
            continue
        if is_dataclass(old):
            other = _changed(old)
        elif field.name == "lights":
            other = [(*old[:n], new, *old[n + 1 :]) for n, light in enumerate(old) for new in _changed(light)]
        else:
            other = [_other(field.name, old)]
        for new in other:
            yield replace(value, **{field.name: new})


def _other(name: str, old):
    by_name = {"place": "London", "colour": SkinColour(srgb="#112233"), "reflectance": "measured", "distance": 900.0}
    if name in by_name:
        return by_name[name]
    if isinstance(old, bool):
        return not old
    if isinstance(old, datetime):
        return old.replace(minute=7)
    if isinstance(old, tuple):
        return (*old, ("one", 1.0))
    return f"{old} other" if isinstance(old, str) else 7 if old is None else old + 1


def test_what_its_files_hold_decides(tmp_path):
    told = replace(BALL, skin=SkinSetting(ladder=None, reflectance="skin.csv"), folder=tmp_path)
    assert picture_key.picture_key(told) is None
    (tmp_path / "skin.csv").write_text("380,0.2\n780,0.4\n")
    first = picture_key.picture_key(told)
    assert first is not None and picture_key.picture_key(replace(told, folder=tmp_path / "..")) != first
    (tmp_path / "skin.csv").write_text("380,0.2\n780,0.5\n")
    assert picture_key.picture_key(told) not in (None, first)


def test_another_program_finds_none(folder, lit, tmp_path, monkeypatch):
    keep(lit)
    assert recall_picture(BALL) is not None
    for room in picture_key._ROOMS:
        (tmp_path / "program" / room).mkdir(parents=True)
    source = tmp_path / "program" / "shading" / "one.py"
    source.write_text("a = 1")
    monkeypatch.setattr(picture_key, "__file__", str(tmp_path / "program" / "viewer" / "picture_key.py"))
    work = picture_key.program_key.__wrapped__
    first = work()
    assert work() == first
    os.utime(source, ns=(1, 1))
    assert work() != first
    (tmp_path / "libraries" / "numpy").mkdir(parents=True)
    with monkeypatch.context() as other:
        other.setattr(picture_key.np, "__file__", str(tmp_path / "libraries" / "numpy" / "__init__.py"))
        before = work()
        os.utime(tmp_path / "libraries", ns=(1, 1))
        assert work() != before
    monkeypatch.setattr(picture_key, "program_key", work)
    assert recall_picture(BALL) is None
    monkeypatch.setattr(picture_key, "__file__", str(tmp_path / "nowhere" / "viewer" / "picture_key.py"))
    assert recall_picture(BALL) is None


def test_a_broken_one_is_not_believed(folder, lit):
    keep(lit)
    (file,) = folder.glob("picture-*.npz")
    whole = file.read_bytes()
    file.write_bytes(whole[:-200] + bytes([whole[-200] ^ 1]) + whole[-199:])
    assert recall_picture(BALL) is None
    other = replace(BALL, title="another")
    (folder / f"picture-{picture_key.picture_key(other)}.npz").write_bytes(whole)
    assert recall_picture(other) is None
    name = f"picture-{picture_key.picture_key(BALL)}"
    arrays = {"key": np.array(picture_key.picture_key(BALL)), "codes": np.zeros((4, 4), np.uint8)}
    cache.remember(name, arrays)
    assert recall_picture(BALL) is None


def test_what_does_not_fit_together_is_not_believed_and_made_anew(folder, lit):
    keep(lit)
    name = f"picture-{picture_key.picture_key(BALL)}"
    whole, seen = cache.recall(name), recall_picture(BALL).looks.of_vertex
    wrong = (
        ("faces", whole["faces"] + 1),  # the last corner lies outside
        ("codes", whole["codes"][:-1]),
        ("codes", whole["codes"][:, :3]),
        ("rotation", np.eye(2)),
        ("vertices", whole["vertices"][:, :2]),
        ("regions", whole["regions"][:-1]),
    )
    for part, values in wrong:
        cache.remember(name, {**whole, part: values})
        assert recall_picture(BALL) is None, part
    keep(lit)
    assert np.array_equal(recall_picture(BALL).looks.of_vertex, seen)
    cache.remember(name, {**whole, "codes": 255 - whole["codes"]})  # as where a file changed while it was lit
    keep(lit)
    assert np.array_equal(recall_picture(BALL).looks.of_vertex, seen)


def test_without_a_folder_nothing_is_kept(lit, monkeypatch):
    monkeypatch.setenv("SITTERLIGHT_CACHE", "")
    keep(lit)
    assert recall_picture(BALL) is None


def test_nothing_is_kept_once_the_keeper_has_ended(qapp, lit, monkeypatch):
    from types import SimpleNamespace

    from PyQt6.QtCore import QObject, pyqtSignal

    from sitterlight.viewer import picture_keeper
    from sitterlight.viewer.model import Model

    class Background(QObject):
        idle = pyqtSignal()

    class Window(QObject):
        model, background, value_count, lit = Model(BALL), Background(), 5, None

    written = []
    monkeypatch.setattr(picture_keeper, "keep_picture", lambda one, _looks: written.append(one))
    monkeypatch.setattr(picture_keeper, "remembered", lambda *_asked: SimpleNamespace())
    window = Window()
    keeper = picture_keeper.PictureKeeper(window)
    window.lit = lit
    keeper.end()
    assert written == [lit]
    window.lit = replace(lit)
    keeper.keep()
    assert written == [lit]


def test_only_what_would_be_shown_is_kept_and_not_too_much(folder, lit, monkeypatch):
    from sitterlight.viewer.looks import Appearance

    looks = Appearance(legend("as seen"), of_vertex=np.zeros((len(lit.head.display.vertices), 4), np.uint8))
    for other in (replace(lit, exact=False), replace(lit, gaze=Gaze(9.0, 9.0, 900.0))):
        keep_picture(other, looks)
    assert not folder.exists() or not list(folder.iterdir())
    monkeypatch.setattr(kept_picture, "MOST_KEPT", 2)
    for number in range(4):
        keep_picture(replace(lit, sitting=replace(BALL, title=f"{number}")), looks)
        for age, file in enumerate(sorted(folder.glob("*.npz"), key=lambda one: -one.stat().st_mtime)):
            os.utime(file, (1e9 - age, 1e9 - age))
    assert len(list(folder.glob("picture-*.npz"))) == 2
    assert recall_picture(replace(BALL, title="3")) is not None and recall_picture(replace(BALL, title="0")) is None


def test_nothing_that_calculates_is_loaded_for_it():
    code = (
        "import sys; import sitterlight.viewer.window, sitterlight.viewer.kept_picture, sitterlight.viewer.main_window,"
        " sitterlight.viewer.model, sitterlight.viewer.about, sitterlight.viewer.graphics; "
        "print([name for name in ('numba', 'scipy', 'PIL', 'pvlib', 'trimesh', 'pyvista', 'matplotlib', 'embreex') "
        "if name in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"
