"""Printing pages: the system asks which printer, then each page is laid on its paper, on a thread of its own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import nullcontext

from PyQt6.QtCore import Qt
from PyQt6.QtGui import QImage, QPainter
from PyQt6.QtPrintSupport import QPrintDialog, QPrinter

from sitterlight.shading.atomic import whole_file
from sitterlight.shading.progress import Progress, tell

PRINT_DOTS = 3000
"""Pixels along the longer side of a printed sheet."""


def ask_printer(window) -> QPrinter | None:
    """The printer or the file that the user chooses; None for neither."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    dialog = QPrintDialog(printer, window)
    dialog.setWindowTitle("Print the plane sheet")
    chosen = dialog.exec() == QPrintDialog.DialogCode.Accepted
    dialog.deleteLater()
    return printer if chosen else None


def where(printer: QPrinter) -> str:
    """Where pages go, as words that end a sentence: "to the printer NAME" or "into FILE"."""
    return f"into {printer.outputFileName()}" if printer.outputFileName() else f"to the printer {printer.printerName()}"


def printing(printer: QPrinter, pages: Sequence[bytes]) -> Callable[[Progress], None]:
    """The work of printing pages, PNG files. A file that is printed into appears whole or not at all; what has been
    begun on a printer is not stopped."""
    target, kind = printer.outputFileName(), printer.outputFormat()

    def work(progress: Progress) -> None:
        tell(progress, 0.0)
        with whole_file(target) if target else nullcontext() as beside:
            if target:
                printer.setOutputFileName(str(beside))
                printer.setOutputFormat(kind)
            _lay(printer, pages, progress if target else None)
            if target:
                tell(progress, 1.0)

    return work


def _lay(printer: QPrinter, pages: Sequence[bytes], progress: Progress | None) -> None:
    """OSError where the printer takes nothing."""
    painter = QPainter()
    if not painter.begin(printer):
        raise OSError("the printer, or the file to print into, takes nothing")
    try:
        box = painter.viewport()
        for number, page in enumerate(pages):
            tell(progress, number / len(pages))
            image = QImage.fromData(page)
            if number:
                printer.newPage()
            size = image.size().scaled(box.size(), Qt.AspectRatioMode.KeepAspectRatio)
            painter.setViewport(box.x(), box.y(), size.width(), size.height())
            painter.setWindow(image.rect())
            painter.drawImage(0, 0, image)
    finally:
        painter.end()
