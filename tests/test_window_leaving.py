"""The real window: everything there is to leave with, asked for by its menu and opened by readers that are not ours."""

from __future__ import annotations

import csv
import json
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from window_driver import BALL, PATIENCE, held_in_the_middle, left

from sitterlight.shading.exports import EXPORTS

pytestmark = pytest.mark.screen
pytest.importorskip("PyQt6.QtWidgets")


def _pdf(path: Path) -> None:
    import pypdfium2

    pages = pypdfium2.PdfDocument(path)
    assert len(pages) >= 1
    assert np.ptp(np.asarray(pages[0].render(scale=0.5).to_pil().convert("L"))) > 100


def _png(path: Path) -> None:
    from PIL import Image

    with Image.open(path) as image:
        image.load()
        assert min(image.size) > 50 and np.ptp(np.asarray(image.convert("L"))) > 30


def _svg(path: Path) -> None:
    from PyQt6.QtGui import QImage, QPainter
    from PyQt6.QtSvg import QSvgRenderer

    root = ElementTree.parse(path).getroot()
    assert root.tag.endswith("svg") and len(list(root.iter())) > 5
    renderer = QSvgRenderer(str(path))
    assert renderer.isValid()
    image = QImage(400, 300, QImage.Format.Format_RGB888)
    image.fill(0)
    painter = QPainter(image)
    renderer.render(painter)
    painter.end()
    assert len({image.pixel(x, y) for x in range(0, 400, 7) for y in range(0, 300, 7)}) > 3


def _csv(path: Path) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 8 and all(row["srgb"].startswith("#") for row in rows)


def _json(path: Path) -> None:
    assert len(json.loads(path.read_text(encoding="utf-8"))["planes"]) == 8


def _layers(path: Path) -> None:
    from PIL import Image

    with zipfile.ZipFile(path) as archive:
        assert archive.infolist()[0].filename == "mimetype" and archive.read("mimetype") == b"image/openraster"
        stack = ElementTree.fromstring(archive.read("stack.xml"))
        names = [layer.get("src") for layer in stack.iter("layer")]
        assert len(names) > 8
        for name in [*names, "mergedimage.png"]:
            with archive.open(name) as file, Image.open(file) as image:
                image.load()


def _mesh(path: Path) -> None:
    import trimesh

    loaded = trimesh.load(path, process=False)
    mesh = next(iter(loaded.geometry.values())) if hasattr(loaded, "geometry") else loaded
    assert len(mesh.vertices) > 100
    colours = mesh.visual.vertex_attributes["color"] if path.suffix == ".glb" else mesh.visual.vertex_colors
    assert len(np.unique(colours, axis=0)) > 50


READERS = {
    ".pdf": _pdf,
    ".png": _png,
    ".svg": _svg,
    ".csv": _csv,
    ".json": _json,
    ".ora": _layers,
    ".ply": _mesh,
    ".glb": _mesh,
}


@pytest.mark.parametrize("name", EXPORTS)
def test_leaving_by_the_menu(shown, qtbot, monkeypatch, tmp_path, name):
    from PyQt6.QtWidgets import QFileDialog

    window = shown(BALL)
    kind = EXPORTS[name]
    path = tmp_path / f"left{kind.ending}"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_named: (str(path), ""))
    menu = window.actions_by_name["leave"].menu()
    action = next(action for action in menu.actions() if action.text() == f"{kind.words}…")
    with left(qtbot, window.leaving):
        action.trigger()
    READERS[kind.ending](path)


@pytest.mark.parametrize("name, space", [("picture", "sRGB"), ("picture-p3", "Display P3")])
def test_the_picture_says_its_colour_space(shown, qtbot, tmp_path, name, space):
    from io import BytesIO

    from PIL import Image, ImageCms

    window = shown(BALL)
    with left(qtbot, window.leaving):
        window.leaving.write(name, tmp_path / "a.png")
    with Image.open(tmp_path / "a.png") as image:
        profile = ImageCms.ImageCmsProfile(BytesIO(image.info["icc_profile"]))
    assert space in ImageCms.getProfileDescription(profile)


def test_leaving_while_looking_from_elsewhere_stands_there_first(shown, qtbot, tmp_path):
    from sitterlight.shading.frame import Gaze

    window = shown(BALL)
    window.model.look_from(Gaze(30.0, 0.0, 1500.0))
    with left(qtbot, window.leaving):
        window.leaving.write("data", tmp_path / "a.json")
    assert window.model.state.gaze is None and window.model.sitting.eye.azimuth == 30.0
    assert json.loads((tmp_path / "a.json").read_text(encoding="utf-8"))["sitting"]["eye"]["azimuth"] == 30


def test_a_place_that_cannot_be_written_is_a_sentence(shown, qtbot, tmp_path):
    window = shown(BALL)
    with qtbot.waitSignal(window.leaving.failed, timeout=PATIENCE):
        window.leaving.write("table", tmp_path / "no such folder" / "a.csv")
    assert "Nothing was written" in window.stages.words.text()
    qtbot.waitUntil(lambda: not window.leaving.is_busy)


def test_printing_puts_every_page_on_paper(shown, qtbot, monkeypatch, tmp_path):
    import pypdfium2

    from sitterlight.viewer import printing

    paper = tmp_path / "printed.pdf"

    class Dialog:
        """Chooses a file for a printer and accepts."""

        DialogCode = printing.QPrintDialog.DialogCode

        def __init__(self, printer, _parent):
            printer.setOutputFileName(str(paper))

        def setWindowTitle(self, _title):
            pass

        def deleteLater(self):
            pass

        def exec(self):
            return self.DialogCode.Accepted

    monkeypatch.setattr(printing, "QPrintDialog", Dialog)
    window = shown(BALL)
    window.actions_by_name["print"].trigger()
    qtbot.waitUntil(lambda: paper.exists() and not window.leaving.is_busy, timeout=PATIENCE)
    qtbot.wait(50)
    assert window.status.currentMessage() == f"The plane sheet has gone into {paper}."
    pages = pypdfium2.PdfDocument(paper)
    assert len(pages) >= 2
    for page in pages:
        grey = np.asarray(page.render(scale=0.5).to_pil().convert("L"))
        assert np.ptp(grey) > 100 and (grey < 128).sum() > 200
    assert [path.name for path in tmp_path.iterdir()] == ["printed.pdf"]


def test_what_a_printer_has_begun_is_not_stopped_here_and_said_so(shown, qtbot, monkeypatch):
    """A real printer is stood in for: pages go to it, and it takes its time."""
    from threading import Event, Timer

    from PyQt6.QtCore import QTimer
    from PyQt6.QtWidgets import QApplication

    from sitterlight.viewer import printing

    class Printer:
        def outputFileName(self):
            return ""

        def printerName(self):
            return "by the door"

    begun, go_on = Event(), Event()
    monkeypatch.setattr(printing, "ask_printer", lambda _window: Printer())
    monkeypatch.setattr(printing, "printing", lambda *_given: lambda _progress: (begun.set(), go_on.wait(30)))
    window = shown(BALL)
    leaving, line = window.leaving, window.status.writing

    def answer() -> None:
        box = QApplication.activeModalWidget()
        assert "at the printer" in box.informativeText() and "written" not in box.informativeText()
        assert "Stop and close" not in [button.text() for button in box.buttons()]
        next(button for button in box.buttons() if button.text() == "Go on").click()

    leaving._print([b""])
    try:
        qtbot.waitUntil(begun.is_set)
        assert line.isVisible() and not line.stop.isEnabled() and "at the printer" in line.stop.toolTip()
        leaving.ask("sheet")
        assert "It can be stopped here" not in window.status.currentMessage()
        QTimer.singleShot(50, answer)
        assert not leaving.may_close()
        assert line.words.text() == "Printing the plane sheet"
        Timer(0.1, go_on.set).start()  # the window's own timers stand still while it waits
        leaving.work.stop()
        leaving.end()
    finally:
        go_on.set()
    qtbot.waitUntil(lambda: not line.isVisible())
    assert window.status.currentMessage() == "The plane sheet has gone to the printer by the door."


def _begin(window, what: str, tmp_path: Path) -> None:
    leaving = window.leaving
    begin = {
        "layers": lambda: leaving.write("layers", tmp_path / "a.ora"),
        "sheet": lambda: leaving.write("sheet", tmp_path / "old.pdf"),
        "folder": lambda: leaving.write_folder(tmp_path / "study"),
        "old folder": lambda: leaving.write_folder(tmp_path),
        "print": leaving.print_sheet,
    }
    begin[what]()


@pytest.mark.parametrize(
    ("what", "share"), [("layers", 0.35), ("sheet", 1.0), ("folder", 0.9), ("old folder", 1.0), ("print", 1.0)]
)
def test_what_is_stopped_in_the_middle_leaves_nothing(shown, qtbot, monkeypatch, tmp_path, what, share):
    from sitterlight.viewer import printing

    monkeypatch.setattr(printing, "ask_printer", lambda _window: pytest.fail("nothing is left to print"))
    window = shown(BALL)
    line = window.status.writing
    assert not line.isVisible()
    for name in ("old.pdf", "sheet.pdf"):
        (tmp_path / name).write_text("old")
    stopped = qtbot.waitSignal(window.leaving.stopped, timeout=PATIENCE)
    with held_in_the_middle(window.leaving.work, share) as held, stopped:
        _begin(window, what, tmp_path)
        qtbot.waitUntil(held.is_reached, timeout=PATIENCE)
        qtbot.waitUntil(lambda: line.progress.value() >= 1000 * share, timeout=PATIENCE)
        assert line.isVisible() and line.words.text()
        assert abs(int(line.share.text().removesuffix("%")) - line.progress.value() / 10) <= 1
        line.stop.click()
        assert line.words.text() == "Stopping …" and not line.stop.isEnabled()
        held.go_on()
    qtbot.waitUntil(lambda: not line.isVisible(), timeout=PATIENCE)
    assert window.status.currentMessage().startswith("Stopped: nothing was ")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["old.pdf", "sheet.pdf"]
    assert {path.read_text() for path in tmp_path.iterdir()} == {"old"}


def test_a_second_export_waits_its_turn_and_a_closing_window_asks(shown, qtbot, monkeypatch, tmp_path):
    from PyQt6.QtCore import QTimer
    from PyQt6.QtWidgets import QApplication, QFileDialog

    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args, **_named: pytest.fail("asked in vain"))
    window = shown(BALL)

    def answer(words: str) -> None:
        box = QApplication.activeModalWidget()
        assert "Writing a.ora" in box.text()
        next(button for button in box.buttons() if button.text() == words).click()

    with held_in_the_middle(window.leaving.work, 0.2) as held:
        window.leaving.write("layers", tmp_path / "a.ora")
        qtbot.waitUntil(held.is_reached, timeout=PATIENCE)
        window.leaving.ask("sheet")
        assert "Writing a.ora has not ended yet" in window.status.currentMessage()
        for words, may in (("Go on", False), ("Stop and close", True)):
            QTimer.singleShot(50, lambda words=words: answer(words))
            assert window.leaving.may_close() is may
        window.leaving.work.stop()
        held.go_on()
        window.leaving.end()
    assert window.leaving.may_close() and list(tmp_path.iterdir()) == []
    qtbot.waitUntil(lambda: not window.status.writing.isVisible(), timeout=PATIENCE)


def test_a_whole_study_is_written_from_the_window(shown, qtbot, monkeypatch, tmp_path):
    from PyQt6.QtWidgets import QFileDialog

    from sitterlight.shading.sitting_file import read_sitting
    from sitterlight.shading.study import FILES

    window = shown(BALL)
    qtbot.waitUntil(lambda: not window.leaving.is_busy, timeout=PATIENCE)  # with what was left before
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_args, **_named: str(tmp_path / "study"))
    actions = window.actions_by_name["leave"].menu().actions()
    with left(qtbot, window.leaving):
        next(action for action in actions if action.text() == "The whole study, into a folder…").trigger()
    assert sorted(path.name for path in (tmp_path / "study").iterdir()) == sorted(FILES)
    assert read_sitting(tmp_path / "study" / "sitting.toml") == BALL
