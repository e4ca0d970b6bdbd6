"""Leaving the day plan with something: its table, its page, its pictures, or all of it in a folder."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PyQt6.QtWidgets import QFileDialog, QMenu

from sitterlight.shading.atomic import whole_folder, write_bytes
from sitterlight.shading.day import csv_text, day_strip, file_contents
from sitterlight.shading.day_hours import DayHours
from sitterlight.shading.day_page import day_page
from sitterlight.shading.day_words import sentences
from sitterlight.shading.page_pdf import pdf_bytes
from sitterlight.shading.png import png_bytes
from sitterlight.viewer.files import file_name, sentence


def _strip(day: DayHours) -> bytes:
    return png_bytes(day_strip(day.hours), f"{day.sitting.title}, {day.on}")


KINDS: dict[str, tuple[str, str, Callable[[DayHours], bytes]]] = {
    "table": ("Table of the hours (CSV)", ".csv", lambda day: csv_text(day).encode()),
    "page": ("Page with curves (PDF)", ".pdf", lambda day: pdf_bytes(day_page(day, sentences(day)))),
    "strip": ("Picture strip (PNG)", ".png", _strip),
}
"""Name: words, ending, and what the file holds."""


class DayLeaving:
    """The menu of what a day plan can be left with."""

    def __init__(self, panel):
        self.panel = panel
        self.menu = QMenu(panel)
        for name, (words, _, _) in KINDS.items():
            self.menu.addAction(f"{words}…", lambda name=name: self.ask(name))
        self.menu.addSeparator()
        self.menu.addAction("Everything, into a folder…", self.ask_folder)

    def ask(self, name: str) -> None:
        """Ask where to write one of KINDS, and write it."""
        words, ending, _ = KINDS[name]
        day = self.panel.day
        proposed = str(Path(self._folder(), f"{file_name(day.sitting.title)}-{day.on}{ending}"))
        path, _ = QFileDialog.getSaveFileName(self.panel, words, proposed, f"{ending[1:].upper()} (*{ending})")
        if path:
            self.write(name, Path(path if path.lower().endswith(ending) else path + ending))

    def write(self, name: str, path: Path) -> None:
        """Write one of KINDS, whole or not at all."""
        self._try(lambda: write_bytes(path, KINDS[name][2](self.panel.day)), path)

    def ask_folder(self) -> None:
        """Ask for a folder and write all files of a day into it."""
        path = QFileDialog.getExistingDirectory(self.panel, "A folder for the day", self._folder())
        if path:
            self.write_folder(Path(path))

    def write_folder(self, folder: Path) -> None:
        """Write all files of a day, all or none."""

        def write() -> None:
            with whole_folder(folder) as beside:
                for name, content in file_contents(self.panel.day).items():
                    (beside / name).write_bytes(content)

        self._try(write, folder)

    def _try(self, write: Callable[[], None], path: Path) -> None:
        try:
            write()
        except (ValueError, OSError) as error:
            self.panel.reading.setText(f"Nothing was written: {sentence(error)}")
        else:
            self.panel.reading.setText(f"Written: {path}")

    def _folder(self) -> str:
        return self.panel.window_at_hand.files.folder()
