"""Opening and saving sittings, asking about changes, and taking in files that are dragged here."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

from PyQt6.QtCore import QStandardPaths
from PyQt6.QtWidgets import QFileDialog, QMessageBox

from sitterlight.illuminants.files import read_bytes
from sitterlight.shading.sitting import with_head, with_skin
from sitterlight.shading.sitting_file import as_written, read_sitting, write_sitting
from sitterlight.shading.sittings import built_in, built_in_names
from sitterlight.viewer.memory import remember_file, settings
from sitterlight.viewer.mesh_question import MeshAsking
from sitterlight.viewer.sentences import sentence

SITTINGS = "Sittings (*.toml)"
MESHES = (".obj", ".ply", ".stl", ".glb")
SPECTRA = (".csv", ".tsv", ".txt")
OVER, ELSEWHERE = "Save over it", "Save elsewhere…"
LARGEST_FILE = 20_000_000
"""Bytes of a file that is compared with what was read from it."""


class Files:
    """What the window does with files. An error becomes a sentence in the window."""

    def __init__(self, window):
        self.window = window
        self.model = window.model
        self.asking = MeshAsking(window)
        self.asking.taken.connect(self._mesh_taken)
        self.asking.said.connect(window.stages.say)
        self.digest = digest_of(self.model.path)

    def open_built_in(self, name: str) -> None:
        """Take a built-in sitting, as a step that can be undone."""
        self.model.settle()
        if self.model.path is None and not self.model.changed:
            self.model.saved = built_in(name)
        self.model.look_from(None)
        self.model.change(built_in(name), f"sitting {built_in(name).title}")

    def ask_open(self) -> None:
        """Ask for a sitting and open it."""
        if self.may_leave():
            name, _ = QFileDialog.getOpenFileName(self.window, "Open a sitting", self.folder(), SITTINGS)
            if name:
                self.open(Path(name))

    def open(self, path: Path) -> bool:
        """Open a sitting; whether that went well."""
        try:
            sitting = read_sitting(path)
        except (ValueError, OSError) as error:
            self.window.stages.say(f"{path.name}: {sentence(error, named=False).removeprefix(f'{path}: ')}")
            return False
        self.digest = digest_of(path)
        self.model.open(sitting, path)
        remember_file(path)
        return True

    def save(self) -> bool:
        """Save into the sitting's own file, or ask for one; what others have changed in it is asked about."""
        path = self.model.path
        if path is None:
            return self.ask_save()
        if digest_of(path) in (self.digest, None):
            return self.save_as(path)
        answer = ask_save_over(self.window, path.name)
        return self.save_as(path) if answer == OVER else self.ask_save() if answer == ELSEWHERE else False

    def ask_save(self) -> bool:
        """Ask where to save."""
        proposed = str(Path(self.folder(), f"{file_name(self.model.sitting.title)}.toml"))
        name, _ = QFileDialog.getSaveFileName(self.window, "Save the sitting", proposed, SITTINGS)
        if not name:
            return False
        return self.save_as(Path(name if name.lower().endswith(".toml") else f"{name}.toml"))

    def save_as(self, path: Path) -> bool:
        """Save into a file; whether that went well."""
        try:
            write_sitting(self.model.sitting, path)
            written = as_written(self.model.sitting, path)
        except (ValueError, OSError) as error:
            self.window.stages.say(f"{path.name} could not be saved: {sentence(error, named=False)}")
            return False
        self.digest = digest_of(path)
        self.model.was_saved(path, written)
        remember_file(path)
        self.window.say(f"Saved {path.name}")
        return True

    def may_leave(self) -> bool:
        """Whether the sitting at hand may be given up; changes are asked about."""
        if not self.model.changed:
            return True
        buttons = QMessageBox.StandardButton
        answer = QMessageBox.question(
            self.window,
            "Sitterlight",
            f"“{self.model.sitting.title}” has been changed. Save it?",
            buttons.Save | buttons.Discard | buttons.Cancel,
            buttons.Save,
        )
        if answer == buttons.Save:
            return self.save()
        return answer == buttons.Discard

    def take(self, path: Path) -> None:
        """Take in a file that was dragged here: a sitting, a head, or a skin's reflectance."""
        ending = path.suffix.lower()
        if ending == ".toml":
            if self.may_leave():
                self.open(path)
        elif ending in MESHES:
            self.take_mesh(str(path))
        elif ending in SPECTRA:
            skin = with_skin(self.model.sitting, reflectance=str(path))
            self.model.change_if_read(skin, "skin", f"skin {path.name}")
        else:
            self.window.stages.say(f"{path.name} is neither a sitting (.toml), a head nor a spectrum (.csv).")

    def take_mesh(self, mesh: str) -> None:
        """Read a mesh, ask about its unit and axes, and make it the head."""
        self.asking.ask(Path(self.model.sitting.folder or ".", mesh), mesh)

    def _mesh_taken(self, mesh: str, unit: str, up: str, front: str) -> None:
        # Said before it is asked for, so that the answer takes its place.
        self.window.stages.say(f"Making a head of {Path(mesh).name}: mending it, finding its planes …")
        head = with_head(self.model.sitting, mesh=mesh, unit=unit, up=up, front=front, planes=None, plane=())
        self.model.change(head, f"head {Path(mesh).name}")
        self.model.settle()

    def rename(self, title: str) -> None:
        """Give the sitting another title."""
        if title.strip():
            self.model.change(replace(self.model.sitting, title=title.strip()[:200]), "title")

    def remember_last(self) -> None:
        """Remember what is open for the next time."""
        kept, path = settings(), self.model.path
        kept.setValue("last_file", str(path) if path else "")
        titles = {built_in(name).title: name for name in built_in_names()}
        kept.setValue("last_built_in", titles.get(self.model.sitting.title, ""))

    def folder(self) -> str:
        """Where the sitting's file is, or where something was written last, or where documents are kept."""
        if self.model.path:
            return str(self.model.path.parent)
        last = settings().value("folder", "")
        documents = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
        return next((place for place in (last, documents) if place and Path(place).is_dir()), str(Path.home()))


def digest_of(path: Path | None) -> str | None:
    """What tells one content of a sitting's file from another; None where there is no file to be read."""
    try:
        return None if path is None else hashlib.sha256(read_bytes(path, LARGEST_FILE)).hexdigest()
    except (ValueError, OSError):
        return None


def ask_save_over(parent, name: str) -> str | None:
    """Ask whether a file that has been changed meanwhile may be saved over: OVER, ELSEWHERE, or None for neither."""
    box = QMessageBox(parent)
    box.setIcon(QMessageBox.Icon.Question)
    box.setWindowTitle("Sitterlight")
    box.setText(f"{name} has been changed by someone else since it was opened here.")
    box.setInformativeText("Saving over it would lose those changes.")
    elsewhere = box.addButton(ELSEWHERE, QMessageBox.ButtonRole.AcceptRole)
    over = box.addButton(OVER, QMessageBox.ButtonRole.DestructiveRole)
    box.addButton(QMessageBox.StandardButton.Cancel)
    box.setDefaultButton(elsewhere)
    box.exec()
    box.deleteLater()
    return {over: OVER, elsewhere: ELSEWHERE}.get(box.clickedButton())


def file_name(title: str) -> str:
    """A title as the name of a file."""
    kept = "".join(letter if letter.isalnum() else "-" for letter in title.lower())
    return "-".join(part for part in kept.split("-") if part) or "sitting"
