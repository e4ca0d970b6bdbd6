"""Leaving with something: the menu of exports, written in the background by the same code as `study`; and printing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PyQt6.QtCore import QObject, pyqtSignal
from PyQt6.QtWidgets import QFileDialog, QMenu

from sitterlight.shading.progress import Progress, part, tell
from sitterlight.shading.sitting import Sitting
from sitterlight.viewer.closing import may_stop
from sitterlight.viewer.files import file_name
from sitterlight.viewer.long_work import LongWork
from sitterlight.viewer.memory import remember_folder

LIGHT_SHARE = 0.3
"""Of an export, what lighting takes where the sitting is not lit yet."""

STOPPED = "Stopped: nothing was written."
WHOLE_STUDY = "The whole study, into a folder…"
UNTIL_STOPPED, UNTIL_PRINTED = 10.0, 300.0
"""Seconds for which a closing window waits."""

AT_THE_PRINTER = "What a printer has begun is stopped at the printer, not here."


class Leaving(QObject):
    """Writes exports of the sitting at hand, one at a time.

    `written(path)`, `printed(where)`, `stopped()` and `failed(sentence)` tell how it went; the status line tells how
    far it is and offers to stop it.
    """

    written = pyqtSignal(str)
    printed = pyqtSignal(str)
    stopped = pyqtSignal()
    failed = pyqtSignal(str)
    pictured = pyqtSignal(list)

    def __init__(self, window):
        super().__init__(window)
        self.window = window
        self._known: tuple[Sitting, object] | None = None
        self._words, self._done = "", "written"
        self._is_stopping, self._on_paper = False, False
        self._line = window.status.writing
        self._line.stopped.connect(self._stop)
        self.work = LongWork(self, "leaving")
        self.work.progressed.connect(self._show_share)
        self.work.failed.connect(lambda words: self.failed.emit(f"Nothing was {self._done}: {words}"))
        self.work.stopped.connect(self.stopped)
        self.work.ended.connect(lambda: self.work.is_busy or self._show_share(None))
        self.written.connect(lambda path: window.say(f"Written: {path}"))
        self.printed.connect(lambda where: window.say(f"The plane sheet has gone {where}."))
        self.failed.connect(window.stages.say)
        self.stopped.connect(lambda: window.say(f"Stopped: nothing was {self._done}."))
        self.pictured.connect(self._print)
        window.model.on("state", self._forget)

    def fill(self, menu: QMenu) -> None:
        """Offer everything there is to leave with."""
        from sitterlight.shading.exports import EXPORTS

        for name, kind in EXPORTS.items():
            menu.addAction(f"{kind.words}…", lambda name=name: self.ask(name))
        menu.addSeparator()
        menu.addAction(WHOLE_STUDY, self.ask_folder)

    def ask(self, name: str) -> None:
        """Ask where to write one of the exports, and write it."""
        from sitterlight.shading.exports import EXPORTS

        if self._is_refused():
            return
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

        def work(found, progress: Progress) -> Callable[[], None]:
            export(found, name, path, progress)
            return lambda: self.written.emit(str(path))

        self._start(work, f"Writing {path.name}")

    def ask_folder(self) -> None:
        """Ask for a folder and write the files of a study into it."""
        if self._is_refused():
            return
        path = QFileDialog.getExistingDirectory(self.window, "A folder for the study", self.window.files.folder())
        if path:
            remember_folder(Path(path, "study"))
            self.write_folder(Path(path))

    def write_folder(self, folder: Path) -> None:
        """Write the files of a study in the background, all or none."""

        def work(found, progress: Progress) -> Callable[[], None]:
            from sitterlight.shading.study import write_study

            written = write_study(found, folder, progress)
            return lambda: self.written.emit(f"{len(written)} files in {folder}")

        self._start(work, f"Writing into {folder.name}")

    def print_sheet(self) -> None:
        """Print the plane sheet and the mixing plan."""

        def draw(found, progress: Progress) -> Callable[[], None]:
            from sitterlight.shading.page_pdf import pdf_bytes, png_of_pdf
            from sitterlight.shading.study_pieces import ALL, work_out
            from sitterlight.viewer.printing import PRINT_DOTS

            work_out(found, ALL, part(progress, 0.0, 0.7))
            pictures = []
            for number, page in enumerate(found.pages):
                tell(progress, 0.7 + 0.3 * number / len(found.pages))
                pictures.append(png_of_pdf(pdf_bytes(page), PRINT_DOTS))
            tell(progress, 1.0)
            return lambda: self.pictured.emit(pictures)

        self._start(draw, "Drawing the plane sheet", printing=True)

    def _print(self, pictures: list[bytes]) -> None:
        from sitterlight.viewer import printing

        printer = printing.ask_printer(self.window)
        if printer is None:
            return
        self.work.wait()
        to_paper, where = printing.printing(printer, pictures), printing.where(printer)
        on_paper = not printer.outputFileName()

        def work(progress: Progress) -> Callable[[], None]:
            to_paper(progress)
            return lambda: self.printed.emit(where)

        self._begin(work, "Printing the plane sheet", True, on_paper)

    @property
    def is_busy(self) -> bool:
        return self.work.is_busy

    def may_close(self) -> bool:
        """Whether the window may close: what is being written is asked about."""
        unfinished = f"{self._words} has not ended yet."
        if self._on_paper:
            lost, closing = f"{AT_THE_PRINTER} The window can close when all pages have gone there.", "Wait and close"
        else:
            lost, closing = f"If the window closes now, nothing of it will be {self._done}.", "Stop and close"
        return may_stop(self.window, unfinished, lost, lambda: self.is_busy, closing)

    def end(self) -> None:
        """The window closes: what goes on is stopped, and leaves nothing half-written."""
        self.work.stop()
        self.work.wait(UNTIL_PRINTED if self._on_paper else UNTIL_STOPPED)

    def _is_refused(self) -> bool:
        """Whether something is still being written, which is then said."""
        if self.is_busy:
            end = AT_THE_PRINTER if self._on_paper else "It can be stopped here."
            self.window.say(f"{self._words} has not ended yet. {end}")
        return self.is_busy

    def _start(self, work, words: str, printing: bool = False) -> None:
        """Do `work` with the study of the sitting as it stands; the eye first stands where it looks from."""
        if self._is_refused():
            return
        model = self.window.model
        model.settle()
        self.window.status.clearMessage()  # what was said of an earlier work
        if model.state.gaze is not None:
            model.stand_here()
            self.window.say("The eye now stands where you look from.")
        sitting, chosen = model.sitting, model.chosen
        self._begin(lambda progress: self._with_study(sitting, chosen, work, progress), words, printing)

    def _begin(self, work, words: str, printing: bool, on_paper: bool = False) -> None:
        self._on_paper = on_paper
        self._words, self._done = words, "printed" if printing else "written"
        if self.work.begin(work):
            self._is_stopping = False
            self._show_share(0.0)
            self._line.stop.setEnabled(not on_paper)
            self._line.stop.setToolTip(AT_THE_PRINTER if on_paper else self._line.stop.accessibleName())

    def _with_study(self, sitting: Sitting, chosen: int | None, work, progress: Progress):
        from sitterlight.shading.study import study_of

        known = self._known
        if known is None or known[0] != sitting:
            self._known = known = None  # before another is made: both at once would be much
            found = study_of(sitting, part(progress, 0.0, LIGHT_SHARE)).about(chosen)
            progress = part(progress, LIGHT_SHARE, 1.0)
        else:
            found = known[1].about(chosen)
        self._known = (sitting, found)  # what is worked out for one export serves the next
        return work(found, progress)

    def let_go(self) -> None:
        """Let go of what was worked out for the last export; one that goes on keeps its own."""
        self._known = None

    def _forget(self) -> None:
        """Let go of the study of a sitting that is no longer at hand."""
        known = self._known
        if known is not None and known[0] != self.window.model.sitting:
            self._known = None

    def _show_share(self, share: float | None) -> None:
        if share is None:
            self._line.show_work("", None)
        elif self.work.is_busy and not self._is_stopping:
            self._line.show_work(self._words, share)

    def _stop(self) -> None:
        self.work.stop()
        self._is_stopping = True
        self._line.show_stopping()
