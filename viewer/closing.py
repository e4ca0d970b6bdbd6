"""A window that is asked to close while a long work goes on: the question whether to stop it."""

from __future__ import annotations

from collections.abc import Callable

from PyQt6.QtWidgets import QMessageBox, QWidget


def may_stop(
    parent: QWidget, unfinished: str, lost: str, is_busy: Callable[[], bool], closing: str = "Stop and close"
) -> bool:
    """Ask whether a work may be stopped; True without asking where none goes on.

    `unfinished` says what has not ended, `lost` what comes of it if the window closes now, and `closing` is
    how that is asked for.
    """
    if not is_busy():
        return True
    box = QMessageBox(parent)
    box.setWindowTitle("Sitterlight")
    box.setText(unfinished)
    box.setInformativeText(lost)
    go_on = box.addButton("Go on", QMessageBox.ButtonRole.RejectRole)
    stop = box.addButton(closing, QMessageBox.ButtonRole.DestructiveRole)
    box.setDefaultButton(go_on)
    box.exec()
    box.deleteLater()
    return box.clickedButton() is stop
