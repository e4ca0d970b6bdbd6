"""About the program: its version, its licence, where its log lies; and what a fault says in the window."""

from __future__ import annotations

from contextlib import suppress

from PyQt6.QtCore import QObject, Qt, QTimer, pyqtSignal
from PyQt6.QtGui import QAction
from PyQt6.QtWidgets import QMessageBox

from sitterlight.viewer import log
from sitterlight.viewer.menus import menu_of

_DRAWN_AFTER = 3000
"""Milliseconds until a window has surely drawn once."""
LONG = 1.0
"""Seconds of lighting from which on the log says so."""


def add_help_menu(window, made: dict[str, QAction]) -> None:
    """The last menu: what the words mean, how to begin, and what this program is."""
    menu = menu_of(window, "&Help")
    for name, words, slot in (
        ("words", "What the words mean", lambda: show_glossary(window)),
        ("first steps", "First steps again", lambda: window.stages.notice.first_steps.again()),
        ("about", "About Sitterlight", lambda: _show_about(window)),
    ):
        made[name] = QAction(words, menu)
        made[name].triggered.connect(slot)
        menu.addAction(made[name])
    made["words"].setShortcut("F1")
    made["about"].setMenuRole(QAction.MenuRole.AboutRole)


def show_glossary(window) -> None:
    """Show what the words mean, in one window however often it is asked for."""
    from sitterlight.viewer.glossary import Glossary

    shown = window.findChild(Glossary) or Glossary(window)
    shown.show()
    shown.raise_()
    shown.activateWindow()


def _show_about(window) -> None:
    box = about_box(window)
    box.exec()
    box.deleteLater()


def about_box(window) -> QMessageBox:
    """The box about the program; its text can be selected and copied."""
    box = QMessageBox(window)
    box.setWindowTitle("About Sitterlight")
    box.setText(about_text())
    box.setTextInteractionFlags(
        Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
    )
    return box


def about_text() -> str:
    """What the box says."""
    path = log.log_file()
    where = f"Its log, which holds nothing private and helps with a report of a fault:\n{path}" if path else "No log."
    return (
        f"Sitterlight {log.own_version()}\n\n"
        "What colour each plane of a head is under a given light, why, and what to mix for it.\n"
        "Free software under the GNU General Public License, version 3 or later.\n\n"
        f"{where}"
    )


class Watch(QObject):
    """Brings what nobody caught, in whatever thread, to the log and, as one sentence, into the window."""

    _caught = pyqtSignal(str)

    def __init__(self, window):
        super().__init__(window)
        self._window = window
        self._caught.connect(window.stages.say)
        log.begin()
        log.hook(self._caught.emit)
        window.when_whole(self._listen)
        QTimer.singleShot(_DRAWN_AFTER, self._note_graphics)

    def _listen(self) -> None:
        background = self._window.background
        background.answered.connect(self._note_long_work)
        background.failed.connect(lambda place, words: log.note(log.without_what_is_private(words)))

    def _note_long_work(self, answer) -> None:
        if answer.seconds > LONG:
            log.note(f"lighting took {answer.seconds:.2f} s")

    def _note_graphics(self) -> None:
        with suppress(Exception):
            log.graphics(self._window.stages.first.plotter.render_window.ReportCapabilities())
