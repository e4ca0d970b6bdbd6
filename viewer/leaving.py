"""Leaving with something: the menu of exports, written in the background by the same code as `study`; and printing."""

from __future__ import annotations

import threading
from pathlib import Path

from PyQt6.QtCore import QObject, Qt, pyqtSignal
from PyQt6.QtGui import QImage, QPainter
from PyQt6.QtPrintSupport import QPrintDialog, QPrinter
from PyQt6.QtWidgets import QFileDialog, QMenu

from sitterlight.shading.sitting import Sitting
from sitterlight.viewer.courtesy import give_way
from sitterlight.viewer.files import file_name, sentence
from sitterlight.viewer.memory import remember_folder

PRINT_DOTS = 3000
"""Pixels along the longer side of a printed sheet."""

SHEET = "sheet"


class Leaving(QObject):
    """Writes exports of the sitting at hand. `written(path)` and `failed(sentence)` tell how it went."""

    written = pyqtSignal(str)
    failed = pyqtSignal(str)
    pictured = pyqtSignal(list)

    def __init__(self, window):
        super().__init__(window)
        self.window = window
        self._thread: threading.Thread | None = None
        self._known: tuple[Sitting, object] | None = None
        self.written.connect(lambda path: window.say(f"Written: {path}"))
        self.failed.connect(window.stages.say)
        self.pictured.connect(self._print)

    def fill(self, menu: QMenu) -> None:
        """Offer everything there is to leave with."""
        from sitterlight.shading.exports import EXPORTS

        for name, kind in EXPORTS.items():
            menu.addAction(f"{kind.words}…", lambda name=name: self.ask(name))

    def ask(self, name: str) -> None:
        """Ask where to write one of the exports, and write it."""
        from sitterlight.shading.exports import EXPORTS

        kind = EXPORTS[name]
        proposed = f"{file_name(self.window.model.sitting.title)}-{kind.name}{kind.ending}"
        folder = self.window.files.folder()
        path, _ = QFileDialog.getSaveFileName(
            self.window, kind.words, str(Path(folder, proposed)), f"{kind.ending[1:].upper()} (*{kind.ending})"
        )
        if path:
            remember_folder(Path(path))
            self.write(name, Path(path if path.lower().endswith(kind.ending) else path + kind.ending))

    def write(self, name: str, path: Path) -> None:
        """Write one of the exports in the background."""
        from sitterlight.shading.exports import export

        self._start(lambda found: (export(found, name, path), self.written.emit(str(path))), f"Writing {path.name} …")

    def print_sheet(self) -> None:
        """Print the plane sheet and the mixing plan."""
        from sitterlight.shading.page_pdf import pdf_bytes, png_of_pdf

        def draw(found) -> None:
            self.pictured.emit([png_of_pdf(pdf_bytes(page), PRINT_DOTS) for page in found.pages])

        self._start(draw, "Drawing …")

    @property
    def is_busy(self) -> bool:
        return self._thread is not None and self._thread.is_alive()

    def _start(self, work, words: str) -> None:
        """Do `work` with the study of the sitting as it stands; the eye first stands where it looks from."""
        if self.is_busy:
            self.window.say("Another file is still being written.")
            return
        self.window.model.settle()
        if self.window.model.state.gaze is not None:
            self.window.model.stand_here()
            words = f"The eye now stands where you look from. {words}"
        self.window.statusBar().showMessage(words)
        asked = (self.window.model.sitting, self.window.model.chosen, work)
        self._thread = threading.Thread(target=self._work, args=asked, name="leaving", daemon=True)
        self._thread.start()

    def _work(self, sitting: Sitting, chosen: int | None, work) -> None:
        from sitterlight.shading.study import study_of

        give_way()
        try:
            if self._known is None or self._known[0] != sitting:
                self._known = (sitting, study_of(sitting))
            work(self._known[1].about(chosen))
        except (ValueError, OSError, MemoryError) as error:
            self.failed.emit(f"Nothing was written: {sentence(error)}")

    def _print(self, pictures: list[bytes]) -> None:
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        dialog = QPrintDialog(printer, self.window)
        if dialog.exec() != QPrintDialog.DialogCode.Accepted:
            return
        painter = QPainter(printer)
        box = painter.viewport()
        for number, picture in enumerate(pictures):
            image = QImage.fromData(picture)
            if number:
                printer.newPage()
            size = image.size().scaled(box.size(), Qt.AspectRatioMode.KeepAspectRatio)
            painter.setViewport(box.x(), box.y(), size.width(), size.height())
            painter.setWindow(image.rect())
            painter.drawImage(0, 0, image)
        painter.end()
