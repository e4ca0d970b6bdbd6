"""Leaving the day plan with something: its table, its page, its pictures, or all of it in a folder."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PyQt6.QtCore import QObject, pyqtSignal
from PyQt6.QtWidgets import QFileDialog, QMenu

from sitterlight.shading.atomic import write_bytes
from sitterlight.shading.day import csv_text, day_strip, write_day
from sitterlight.shading.day_hours import DayHours
from sitterlight.shading.day_page import day_page
from sitterlight.shading.day_words import sentences
from sitterlight.shading.page_pdf import pdf_bytes
from sitterlight.shading.png import png_bytes
from sitterlight.shading.progress import Progress, tell
from sitterlight.viewer.files import file_name
from sitterlight.viewer.leaving import STOPPED
from sitterlight.viewer.long_work import LongWork
from sitterlight.viewer.memory import remember_folder


def _strip(day: DayHours) -> bytes:
    return png_bytes(day_strip(day.hours), f"{day.sitting.title}, {day.on}")


EVERYTHING = "Everything, into a folder…"

KINDS: dict[str, tuple[str, str, Callable[[DayHours], bytes]]] = {
    "table": ("Table of the hours (CSV)", ".csv", lambda day: csv_text(day).encode()),
    "page": ("Page with curves (PDF)", ".pdf", lambda day: pdf_bytes(day_page(day, sentences(day)))),
    "strip": ("Picture strip (PNG)", ".png", _strip),
}
"""Name: words, ending, and what the file holds."""


class DayLeaving(QObject):
    """The menu of what a day plan can be left with; written in the background. `told(sentence)` says how it went."""

    told = pyqtSignal(str)

    def __init__(self, panel):
        super().__init__(panel)
        self.panel = panel
        self.work = LongWork(self, "leaving the day")
        self.work.failed.connect(lambda words: self.told.emit(f"Nothing was written: {words}"))
        self.work.stopped.connect(lambda: self.told.emit(STOPPED))
        self.menu = QMenu(panel)
        for name, (words, _, _) in KINDS.items():
            self.menu.addAction(f"{words}…", lambda name=name: self.ask(name))
        self.menu.addSeparator()
        self.menu.addAction(EVERYTHING, self.ask_folder)

    def ask(self, name: str) -> None:
        """Ask where to write one of KINDS, and write it."""
        words, ending, _ = KINDS[name]
        day = self.panel.day
        proposed = str(Path(self._folder(), f"{file_name(day.sitting.title)}-{day.on}{ending}"))
        path, _ = QFileDialog.getSaveFileName(self.panel, words, proposed, f"{ending[1:].upper()} (*{ending})")
        if path:
            remember_folder(Path(path))
            self.write(name, Path(path if path.lower().endswith(ending) else path + ending))

    def write(self, name: str, path: Path) -> None:
        """Write one of KINDS, whole or not at all."""
        day = self.panel.day

        def work(progress: Progress) -> None:
            tell(progress, 0.0)
            content = KINDS[name][2](day)
            tell(progress, 1.0)
            write_bytes(path, content)
            self.told.emit(f"Written: {path}")

        self._begin(work, path.name)

    def ask_folder(self) -> None:
        """Ask for a folder and write all files of a day into it."""
        path = QFileDialog.getExistingDirectory(self.panel, "A folder for the day", self._folder())
        if path:
            remember_folder(Path(path, "day"))
            self.write_folder(Path(path))

    def write_folder(self, folder: Path) -> None:
        """Write all files of a day, all or none."""
        day = self.panel.day

        def work(progress: Progress) -> None:
            files = write_day(day, folder, progress)
            self.told.emit(f"Written: {len(files)} files in {folder}")

        self._begin(work, folder.name)

    def _begin(self, work: Callable[[Progress], None], name: str) -> None:
        if self.work.begin(work):
            self.told.emit(f"Writing {name} …")

    def _folder(self) -> str:
        return self.panel.window_at_hand.files.folder()
